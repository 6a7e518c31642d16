"""Settings from the environment fail loudly, with the variable's name."""

from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from config import environment
from config.secret_key import secret_key


@pytest.mark.parametrize(("written", "meant"), [("yes", True), ("TRUE", True), ("0", False), ("off", False)])
def test_a_flag_is_read(monkeypatch: pytest.MonkeyPatch, written: str, meant: bool) -> None:
    monkeypatch.setenv("DRYSTACK_X", written)
    assert environment.flag("DRYSTACK_X", not meant) is meant


def test_an_unset_flag_is_its_default(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DRYSTACK_X", raising=False)
    assert environment.flag("DRYSTACK_X", True) is True


def test_a_flag_that_is_neither_stops_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DRYSTACK_X", "perhaps")
    with pytest.raises(ImproperlyConfigured, match="DRYSTACK_X is 'perhaps'; write yes or no"):
        environment.flag("DRYSTACK_X", True)


def test_words_are_split_and_trimmed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DRYSTACK_X", "a.example, b.example,")
    assert environment.words("DRYSTACK_X") == ["a.example", "b.example"]


def test_a_folder_that_cannot_be_made_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("DRYSTACK_X", str(tmp_path / "file" / "inside"))
    with pytest.raises(ImproperlyConfigured, match="DRYSTACK_X"):
        environment.folder("DRYSTACK_X", tmp_path)


def test_the_secret_key_is_made_once_and_is_the_owners_alone(tmp_path: Path) -> None:
    key = secret_key(tmp_path)
    assert len(key) >= 50
    assert secret_key(tmp_path) == key
    assert (tmp_path / "secret-key").stat().st_mode & 0o077 == 0
