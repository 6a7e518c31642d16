"""Files that call themselves backups: nothing is written outside the data folder, and nothing falls over."""

import hashlib
import json
import zipfile
from os.path import normpath
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from config.backup.archive import FORMAT, MANIFEST, Archive, DamagedError, is_ours


def crafted(path: Path, name: str, content: bytes = b"x", **told: Any) -> Path:
    said = {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest(), **told}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr(name, content)
        file.writestr(MANIFEST, json.dumps({"format": FORMAT, "migrations": [], "tables": {}, "files": {name: said}}))
    return path


@pytest.mark.parametrize(
    "name",
    [
        "keys/../../elsewhere",
        "keys//etc/elsewhere",
        "keys/secret-key",
        "keys/push-key.pem/../../elsewhere",
        "photos/../secret-key",
        "photos//etc/elsewhere",
        "photos/a\\..\\..\\elsewhere",
        "photos/",
        "rows/../elsewhere",
        "elsewhere",
    ],
)
def test_a_name_that_leads_elsewhere_is_refused_before_anything_is_written(tmp_path, name):
    with Archive(crafted(tmp_path / "backup.zip", name)) as archive, pytest.raises(DamagedError, match="no name that"):
        archive.check()


def test_names_that_a_backup_gives_are_taken(tmp_path):
    for name in ("keys/push-key.pem", "photos/stacks/2026/05/234567ABCD.jpg"):
        with Archive(crafted(tmp_path / "backup.zip", name)) as archive:
            archive.check()


def test_a_file_that_unpacks_to_more_than_it_says_is_not_read_on(tmp_path):
    bomb = crafted(tmp_path / "backup.zip", "photos/a.jpg", bytes(8 * 1024 * 1024), bytes=10)
    with Archive(bomb) as archive, pytest.raises(DamagedError, match="not what was kept"):
        archive.check()


@given(st.text())
def test_no_name_that_is_taken_leaves_its_folder(name):
    root = Path("/data/photos")
    if is_ours(f"photos/{name}"):
        assert root in Path(normpath(root / name)).parents


@given(st.binary(max_size=300), st.integers(0, 400))
def test_whatever_bytes_there_are_is_read_or_refused(tmp_path_factory, junk, at):
    path = crafted(tmp_path_factory.getbasetemp() / "spoiled.zip", "photos/a.jpg")
    whole = path.read_bytes()
    path.write_bytes(whole[:at] + junk + whole[at + len(junk) :])
    try:
        with Archive(path) as archive:
            archive.check()
    except DamagedError:
        pass
