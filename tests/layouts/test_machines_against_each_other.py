"""Facts of layouts against each other, where machines share a keyboard or a matrix."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout

Points = dict[str, tuple[str, str]]


def points(layout_id: str) -> Points:
    """Key -> its crosspoint."""
    return {key.id: key.crosspoints[0] for key in find_layout(layout_id).keys if key.crosspoints}


def test_the_vic_20_is_the_64_with_two_pairs_of_lines_swapped() -> None:
    """The same keyboard fits both: row 0 and 7 and column 3 and 7 trade places (VICE, keymap VIC20/gtk3_pos.vkm)."""
    swap_select, swap_read = {"0": "7", "7": "0"}, {"3": "7", "7": "3"}
    sixty_four = points("commodore-64")
    for key, (row, column) in points("commodore-vic-20").items():
        if key == "RESTORE":
            continue
        read, select = sixty_four[key]
        assert row == "PA" + swap_select.get(select[2], select[2]), key
        assert column == "PB" + swap_read.get(read[2], read[2]), key


def test_the_16_and_the_plus4_share_one_matrix() -> None:
    first, second = points("commodore-16"), points("commodore-plus4")
    assert set(second) - set(first) == {"CTRL2"}
    assert {key: second[key] for key in first} == first


def test_the_dragon_is_the_colour_computer_with_its_rows_turned() -> None:
    """Rows 0-5 of the Dragon are rows 4, 5, 0, 1, 2, 3 of the Colour Computer (XRoar, dkbd.c); the rest is the same."""
    coco, dragon = points("tandy-coco-1-2"), points("dragon-32")
    assert set(coco) == set(dragon)
    for key, (row, column) in dragon.items():
        number = int(row[2])
        assert coco[key] == (f"PA{number if number == 6 else (number + 4) % 6}", column), key


def test_the_colour_computer_3_adds_four_keys_on_the_last_row() -> None:
    first, third = points("tandy-coco-1-2"), points("tandy-coco-3")
    assert {key: third[key] for key in first} == first
    assert {key: third[key][0] for key in set(third) - set(first)} == dict.fromkeys(("ALT", "CTRL", "F1", "F2"), "PA6")
