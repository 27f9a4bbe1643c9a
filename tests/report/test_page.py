"""The page: what it says, that it is self-contained, escapes everything, fits its widths and prints on two pages."""

from __future__ import annotations

import base64
import html.parser
import io
import re
from pathlib import Path

import pytest
from PIL import Image

from tailwise.layoutfile.reader import parse_layout
from tailwise.model.layout import Layout
from tailwise.report.drawing import FILL, INK
from tailwise.report.page import BeforeAfter, Photo, build_page
from tailwise.report.photos import PhotoError, photo_data_url
from tailwise.report.texts import keys_table, label_text, listing
from tests.report.chromium import a4_pages, measure
from tests.report.samples import facts

HOSTILE = [
    "<script>document.title='taken'</script>",
    "\"'><img src=x onerror=\"document.title='taken'\">",
    "מקלדת לבדיקה \u202e abc",
    "🦖⌨️ emoji",
    "W" * 10_000,
    "{{ 7 * 7 }} {% raw %}",
]


def big_layout() -> Layout:
    """104 keys with long legends, invented."""
    keys = "\n".join(
        f'  - {{id: "K{n}", legend: "LEGEND-{n}-LONG", row: R{n // 13}, column: C{n % 13}, position: [{n % 21}, {n // 21}]}}'
        for n in range(104)
    )
    rows, columns = ", ".join(f"R{n}" for n in range(8)), ", ".join(f"C{n}" for n in range(13))
    return parse_layout(
        f"format: tailwise-layout/1\nid: big\ntitle: A big invented keyboard\nkind: switches\n"
        f"rows: [{rows}]\ncolumns: [{columns}]\n"
        f"keys:\n{keys}\nsources:\n  - {{facts: everything, source: invented}}\n",
        "big.yaml",
    )


class _Tags(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


def tags(page: str) -> list[tuple[str, dict[str, str | None]]]:
    parser = _Tags()
    parser.feed(page)
    return parser.tags


def test_it_says_what_is_wrong_where_and_what_next() -> None:
    page = build_page(facts())
    assert "Something is wrong" in page
    assert "On line R4, between the keys E and W." in page
    assert "About 181 mm from the tail (170 to 192 mm)." in page
    assert "It moves with the zone: fold." in page
    assert "Press W again while bending the film beside E." in page
    assert "promises nothing beyond it" in page
    assert "Not tested: SPACE." in page


def test_every_key_has_a_symbol_and_a_word() -> None:
    keys = facts().keys
    page = build_page(facts())
    assert keys["Q"].state == "silent" and keys["3"].state == "flickers" and keys["1"].state == "works"
    assert page.count("<rect") == 42
    assert page.count(">unsteady</text>") == sum(1 for key in keys.values() if key.state == "flickers")
    assert page.count(">works</text>") == sum(1 for key in keys.values() if key.state == "works")


def test_nothing_is_fetched_and_nothing_runs() -> None:
    for tag, attributes in tags(build_page(facts())):
        assert tag not in ("script", "link", "iframe", "object", "embed", "base", "form")
        assert not any(name.startswith("on") for name in attributes)
        assert all((attributes.get(name) or "data:").startswith("data:") for name in ("src", "href"))


@pytest.mark.parametrize("text", HOSTILE)
def test_what_comes_from_outside_stays_text(text: str) -> None:
    page = build_page(
        facts(text), [Photo("data:image/jpeg;base64,", text)], BeforeAfter("2026-01-01", "faulty", (text,), (), ())
    )
    plain = build_page(facts("x"), [Photo("data:image/jpeg;base64,", "x")], BeforeAfter("2026-01-01", "faulty", ("x",), (), ()))
    assert [tag for tag, _ in tags(page)] == [tag for tag, _ in tags(plain)]
    assert "49" not in re.findall(r"<dd>(.*?)</dd>", page)[0] or text[:2] != "{{"


def test_a_page_without_photos_is_small() -> None:
    assert len(build_page(facts(layout=big_layout())).encode()) < 500_000


@pytest.mark.parametrize("width", [360, 1280])
def test_it_fits_a_phone_and_a_laptop(width: int, tmp_path: Path) -> None:
    seen = measure(build_page(facts("".join(HOSTILE))), width, tmp_path)
    assert seen["out"] == []
    assert seen["scroll"] <= seen["client"]
    assert seen["scripts"] == 0 and seen["keys"] == 42
    assert seen["title"].startswith("Keyboard test")


def test_104_keys_with_long_legends_fit(tmp_path: Path) -> None:
    coverage = {"keys": 104, "tried": 104, "untried": [], "presses": 104, "miss_bound_95": 0.95}
    sample = facts("x", big_layout(), findings=[], verdict="sound", coverage=coverage)
    seen = measure(build_page(sample), 800, tmp_path)
    assert seen["out"] == [] and seen["keys"] == 104


def test_it_prints_on_two_a4_pages_at_most(tmp_path: Path) -> None:
    assert a4_pages(build_page(facts()), tmp_path) <= 2


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, two: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_meets_wcag_aa() -> None:
    """WCAG 2.2 success criterion 1.4.3: text needs 4.5 to 1 at least."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)
    for state, fill in FILL.items():
        assert _contrast(INK.get(state, "#111111"), fill) >= 4.5, state
    page = build_page(facts())
    inks = set(re.findall(r"[; ]color: (#[0-9a-f]{3,6})", page))
    assert inks
    for ink in inks:
        full = ink if len(ink) == 7 else "#" + "".join(2 * digit for digit in ink[1:])
        assert _contrast(full, "#ffffff") >= 4.5, ink


def test_a_photo_is_shrunk_and_loses_its_position(tmp_path: Path) -> None:
    path = tmp_path / "crack.jpg"
    exif = Image.Exif()
    exif[0x010F] = "CAMERA-MAKER"
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    Image.new("RGB", (3000, 1500), "#557799").save(path, exif=exif)
    assert b"CAMERA-MAKER" in path.read_bytes()
    raw = base64.b64decode(photo_data_url(path).split(",", 1)[1])
    shrunk = Image.open(io.BytesIO(raw))
    assert shrunk.size == (1200, 600)
    assert dict(shrunk.getexif()) == {} and b"CAMERA-MAKER" not in raw
    (tmp_path / "not.jpg").write_text("hello")
    with pytest.raises(PhotoError, match=r"not\.jpg"):
        photo_data_url(tmp_path / "not.jpg")


def test_listing_label_and_table_say_the_same() -> None:
    sample = facts("*bold* <b>")
    text = listing(sample)
    assert "**\\*bold\\* \\<b\\>**" in text and "promises nothing" in text and "line R4" in text
    assert label_text(sample).splitlines()[2] == "✕ faulty / failed"
    rows = keys_table(sample).splitlines()
    assert len(rows) == 43 and "Q,Q,R4,C5,silent,0," in rows
