from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailwise.layoutfile.library import find_layout
from tailwise.model.layout import Key, KeyboardKind, Layout, Position
from tailwise.tui.keymap import Box, KeyMap, boxes, draw
from tailwise.words import stages as words

DEMOS = [find_layout(name) for name in ("demo-7x6", "demo-8x8")]
SIZES = [(80, 9), (80, 14), (120, 30), (200, 60), (40, 5), (7, 2)]


def keyboard(*positions: Position) -> Layout:
    keys = tuple(Key(f"k{at}", f"k{at}", "R1", f"C{at}", position) for at, position in enumerate(positions))
    columns = tuple(f"C{at}" for at in range(len(positions)))
    return Layout("own", "own", KeyboardKind.SWITCHES, ("R1",), columns, keys)


def picture(layout: Layout, size: tuple[int, int], state: str = "todo", focus: str | None = None) -> KeyMap:
    states = {key.id: state for key in layout.keys}
    return draw(layout, states, words.SYMBOLS, words.STATE_WORDS, size, focus)


def cells(box: Box) -> set[tuple[int, int]]:
    return {(x, y) for x in range(box.x, box.x + box.width) for y in range(box.y, box.y + box.height)}


def assert_apart(found: tuple[Box, ...]) -> None:
    taken: set[tuple[int, int]] = set()
    for box in found:
        assert not taken & cells(box)
        taken |= cells(box)


@pytest.mark.parametrize("layout", DEMOS, ids=lambda layout: layout.id)
@pytest.mark.parametrize("size", SIZES)
def test_no_two_keys_share_a_cell_and_nothing_leaves_the_view(layout: Layout, size: tuple[int, int]) -> None:
    assert_apart(boxes(layout, *size))
    taken: set[tuple[int, int]] = set()
    for piece in picture(layout, size, focus=layout.keys[-1].id).pieces:
        mine = {(piece.x + at, piece.y) for at in range(len(piece.text))}
        assert not taken & mine
        assert all(0 <= x < size[0] and 0 <= y < size[1] for x, y in mine)
        taken |= mine


@given(
    st.lists(
        st.tuples(st.sampled_from([1.0, 1.25, 1.5, 1.75, 2.25, 6.25]), st.sampled_from([0.0, 0.25, 0.5, 1.0])),
        min_size=1,
        max_size=40,
    ),
    st.integers(1, 8),
    st.integers(10, 200),
    st.integers(2, 60),
)
def test_keys_that_stand_apart_are_drawn_apart(keys: list[tuple[float, float]], in_row: int, width: int, height: int) -> None:
    positions = []
    x = 0.0
    for at, (wide, gap) in enumerate(keys):
        x = 0.0 if at % in_row == 0 else x
        positions.append(Position(x + gap, at // in_row * 1.25, wide, 1.0))
        x += gap + wide
    assert_apart(boxes(keyboard(*positions), width, height))


def test_keys_that_overlap_on_the_drawing_are_pushed_apart() -> None:
    turned = [Position(0, 0, 2, 1, rotation=30), Position(0.5, 0.25, 2, 1, rotation=30), Position(0.5, 0, 1, 1)]
    assert_apart(boxes(keyboard(*turned), 60, 12))


@pytest.mark.parametrize("state", list(words.SYMBOLS))
def test_every_state_shows_its_sign_and_where_there_are_two_rows_its_word(state: str) -> None:
    shown = picture(DEMOS[0], (80, 8), state)
    for key in DEMOS[0].keys:
        lines = [piece.text for piece in shown.pieces if piece.key == key.id]
        assert words.SYMBOLS[state] in lines[0]
        assert words.STATE_WORDS[state] in lines[1]
    small = picture(DEMOS[0], (80, 4), state)
    assert len(small.pieces) == len(DEMOS[0].keys)
    assert all(words.SYMBOLS[state] in piece.text for piece in small.pieces)


def test_legends_are_readable_at_80_by_24() -> None:
    for layout in DEMOS:
        first = {piece.key: piece.text for piece in reversed(picture(layout, (80, 10)).pieces)}
        for key in layout.keys:
            assert key.legend[:2] in first[key.id]


def test_a_map_too_large_scrolls_to_the_key_that_matters() -> None:
    layout = keyboard(*(Position(at % 30, at // 30) for at in range(300)))
    for key in ("k0", "k29", "k299", "k155"):
        shown = picture(layout, (50, 5), focus=key)
        assert any(piece.key == key and piece.x + len(piece.text) <= 50 for piece in shown.pieces)
    assert picture(layout, (50, 5), focus="k165").left > 0
    assert picture(layout, (50, 5)).right == 30 * 4 - 50


def test_double_width_legends_keep_their_cells() -> None:
    layout = Layout("own", "own", KeyboardKind.SWITCHES, ("R1",), ("C1",), (Key("k", "変換", "R1", "C1", Position(0, 0)),))
    top = picture(layout, (6, 2)).pieces[0]
    assert top.text.startswith("▏変")
    assert words.SYMBOLS["todo"] in top.text


def test_nothing_to_draw_draws_nothing() -> None:
    assert picture(DEMOS[0], (0, 0)).pieces == ()
    assert boxes(keyboard(), 80, 24) == ()
