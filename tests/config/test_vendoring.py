"""The browser's decoder is fetched once for its pins; where it can't be, one line says so and nothing else breaks."""

from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from config import vendoring


@pytest.fixture
def fetched(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Npm's place taken by one that writes the wanted files; returns the commands that were run."""
    commands: list[list[str]] = []

    def run(command: list[str], folder: Path) -> None:
        commands.append(command)
        for package, names in vendoring.WANTED.items():
            (folder / "node_modules" / package).mkdir(parents=True)
            for name in names:
                (folder / "node_modules" / package / name).write_text(name)

    monkeypatch.setattr(vendoring, "_run", run)
    monkeypatch.setattr(vendoring, "npm", lambda folder: ["npm"])
    return commands


def test_the_files_are_fetched_once(fetched: list[list[str]], tmp_path: Path) -> None:
    assert vendoring.vendor(tmp_path) is True
    assert vendoring.vendor(tmp_path) is False
    assert len(fetched) == 1
    assert (tmp_path / "qr" / "LICENSE").read_text() == "LICENSE"


def test_other_pins_fetch_them_anew(fetched: list[list[str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    vendoring.vendor(tmp_path)
    monkeypatch.setattr(vendoring, "stamp", lambda: "other pins")
    assert vendoring.vendor(tmp_path) is True


def test_a_file_that_is_gone_is_fetched_anew(fetched: list[list[str]], tmp_path: Path) -> None:
    vendoring.vendor(tmp_path)
    (tmp_path / "qr" / "decode.js").unlink()
    assert vendoring.vendor(tmp_path) is True


def test_a_failure_is_told_in_one_line_and_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_arguments: Any) -> None:
        raise vendoring.VendorError("npm: no network")

    monkeypatch.setattr("config.management.commands.vendor.vendor", refuse)
    said = StringIO()
    call_command("vendor", stderr=said)
    assert said.getvalue() == "No camera scanning in the page (npm: no network); photo and typed code work.\n"
    with pytest.raises(CommandError, match="npm: no network"):
        call_command("vendor", "--strict")


def test_where_it_cannot_be_kept_nothing_is_fetched(fetched: list[list[str]], tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(vendoring.VendorError, match="can't be written to"):
        vendoring.vendor(tmp_path / "file" / "vendor")
    assert fetched == []


def test_the_lock_file_has_hashes_and_no_addresses() -> None:
    lock = (vendoring.ROOT / "package-lock.json").read_text()
    assert '"integrity": "sha512-' in lock
    assert "http" not in lock
