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


def test_the_thomson_machines_share_one_arrangement() -> None:
    """Row n and column b of the TO7 are line n and column b of the MO5, which adds the BASIC key (driver thomson)."""
    first, second = points("thomson-to7"), points("thomson-mo5")
    assert set(second) - set(first) == {"BASIC"}
    assert {key: (f"L{row[2]}", f"C{column[2]}") for key, (row, column) in first.items()} == {
        key: point for key, point in second.items() if key != "BASIC"
    }


def test_the_atari_film_and_switch_keyboards_share_one_matrix() -> None:
    flat, full = points("atari-400"), points("atari-800")
    assert flat == full
    for later in ("atari-600xl-800xl", "atari-xe"):
        matrix = points(later)
        shared = set(flat) - {"RESET", "OPTION", "SELECT", "START"}
        assert {key: matrix[key] for key in shared} == {key: flat[key] for key in shared}
        assert set(matrix) - shared == {"HELP"}


def test_the_amstrads_share_one_matrix() -> None:
    assert points("amstrad-cpc-464") == points("amstrad-cpc-6128")


def test_the_oric_atmos_adds_one_key() -> None:
    first, second = points("oric-1"), points("oric-atmos")
    assert set(second) - set(first) == {"FUNCT"}
    assert {key: second[key] for key in first} == first


def test_the_amiga_tails_carry_the_same_matrix_on_other_pins() -> None:
    """Columns keep their pins; the rows of the 600 and of the 1200 go to other pins (A600 schematic, traced A1200 keyboard)."""
    rows = {"P1": "P7", "P2": "P5", "P3": "P1", "P5": "P2", "P7": "P3", "P30": "P30"}
    small, large = points("amiga-600"), points("amiga-1200")
    for key, (row, column) in small.items():
        assert large[key] == (rows[row], column), key
    assert {key for key in large if key not in small} == {key for key in large if key.startswith("KP_")}


def test_the_amiga_500_has_the_matrix_of_the_1200() -> None:
    """Row r and column c of the manual are two pins of the later tail; qualifier keys are wired alone on both."""
    rows = {"ROW0": "P7", "ROW1": "P5", "ROW2": "P1", "ROW3": "P2", "ROW4": "P3", "ROW5": "P4"}
    first, later = points("amiga-500"), points("amiga-1200")
    assert set(first) == set(later)
    for key, (row, column) in first.items():
        if row in rows:
            assert later[key] == (rows[row], f"P{29 - int(column[3:])}"), key
        else:
            assert column == "GND" and later[key][0] == "P30", key


def test_101_and_102_keys_share_one_matrix() -> None:
    first, second = points("ibm-model-m-101"), points("ibm-model-m-102")
    assert set(first) - set(second) == {"BACKSLASH"}
    assert set(second) - set(first) == {"HASH", "INTL"}
    assert {key: second[key] for key in first if key in second} == {key: first[key] for key in first if key in second}


def test_msx_makers_share_the_crosspoints_and_differ_in_legends() -> None:
    """The MSX standard fixes rows 0-8; Japanese keyboards print other signs on eight keys."""
    world, japan = find_layout("msx-international"), find_layout("msx-japanese")
    assert set(world.keys_at) == set(japan.keys_at)
    renamed = {tuple(world.keys_at[pair]) for pair in world.keys_at if set(world.keys_at[pair]) != set(japan.keys_at[pair])}
    assert {key for keys in renamed for key in keys} == {
        "EQUALS", "BACKSLASH", "LBRACKET", "RBRACKET", "QUOTE", "GRAVE", "DEAD", "CODE",
    }  # fmt: skip
