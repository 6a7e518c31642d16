"""Run as `python -m tests.config.make_release_data [VERSION ...]`: the demo mill as each release built it, by its own
code from this repository's history, into fixtures/releases. A minute each."""

import lzma
import os
import sqlite3
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "fixtures" / "releases"
COMMITS = {
    "0.1.0": "18b9677",
    "0.2.0": "644dd25",
    "0.3.0": "d3a8e34",
    "0.4.0": "89a74ca",
    "0.5.0": "bd9eee9",
    "0.6.0": "7253469",
}
"""As CHANGELOG.md names them. A later release is made by the code that stands here, just before its tag."""
PASSWORD = "larch under the eaves"
"""Of every person in these files."""
BUILD = f"""
import os, sys, django
sys.path.insert(0, os.getcwd())
django.setup()
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.utils import timezone
call_command("migrate", verbosity=0)
call_command("load_species", verbosity=0)
from config.demo.build import build
build(timezone.localdate(), print)
for person in get_user_model().objects.all():
    person.set_password({PASSWORD!r})
    person.save()
"""


def check_out(commit: str, folder: Path) -> None:
    """The files of a commit. Raises CalledProcessError where the history does not hold it."""
    packed = folder.with_suffix(".tar")
    subprocess.run(["git", "archive", "-o", str(packed), commit], cwd=ROOT, check=True, capture_output=True)
    with tarfile.open(packed) as files:
        files.extractall(folder, filter="data")
    packed.unlink()


def versions() -> list[str]:
    """The releases whose data are kept, the first one first."""
    names = [path.name.removesuffix(".sqlite3.xz") for path in FOLDER.glob("*.sqlite3.xz")]
    return sorted(names, key=lambda name: [int(part) for part in name.split(".")])


def unpack(version: str, path: Path) -> None:
    """A release's database, ready to be served."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(lzma.decompress((FOLDER / f"{version}.sqlite3.xz").read_bytes()))


def make(version: str) -> None:
    with tempfile.TemporaryDirectory() as made:
        code, data = Path(made) / "code", Path(made) / "data"
        data.mkdir()
        check_out(COMMITS.get(version, "HEAD"), code)
        given = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
        given |= {"DRYSTACK_DATA": str(data), "DRYSTACK_TASKS": "inline", "DJANGO_SETTINGS_MODULE": "config.settings"}
        subprocess.run([sys.executable, "-c", BUILD], cwd=code, env=given, check=True)
        connection = sqlite3.connect(data / "drystack.sqlite3", isolation_level=None)
        connection.execute("VACUUM INTO ?", [str(data / "small.sqlite3")])
        connection.close()
        FOLDER.mkdir(exist_ok=True)
        packed = lzma.compress((data / "small.sqlite3").read_bytes(), preset=9)
        (FOLDER / f"{version}.sqlite3.xz").write_bytes(packed)
        print(version, len(packed), "bytes")


if __name__ == "__main__":
    for wanted in sys.argv[1:] or COMMITS:
        make(wanted)
