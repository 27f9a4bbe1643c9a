from __future__ import annotations

from pathlib import Path

import pytest
from textual.binding import Binding

from tailwise.tui.bindings import ALL_KEYS
from tailwise.tui.keys import KeysFileError, keys_file, read_keys
from tailwise.words import app as words


def test_without_a_file_nothing_changes(tmp_path: Path) -> None:
    assert read_keys(tmp_path / "keys.toml") == {}


def test_names_get_their_keys(tmp_path: Path) -> None:
    path = tmp_path / "keys.toml"
    path.write_text('nothing = "f6,x"\nskip = "f7"\n', encoding="utf-8")
    assert read_keys(path) == {"nothing": "f6,x", "skip": "f7"}


@pytest.mark.parametrize(
    ("text", "said"), [("nothnig = 'x'", "nothnig"), ("nothing = 6", "nothing"), ("nothing = ''", "nothing"), ("= x", "TOML")]
)
def test_a_bad_file_says_file_and_entry(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "keys.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(KeysFileError, match=said) as caught:
        read_keys(path)
    assert str(path) in str(caught.value)


def test_the_file_stands_in_the_configuration_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert keys_file() == tmp_path / "tailwise" / "keys.toml"


def test_every_binding_has_a_name_of_its_own_and_none_needs_ctrl() -> None:
    for bindings in ALL_KEYS:
        for binding in bindings:
            assert isinstance(binding, Binding)
            assert binding.id in words.KEY_NAMES
            assert any("ctrl" not in key for key in binding.key.split(","))
