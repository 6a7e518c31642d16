"""From each earlier release's data to this version, with a backup before; and the way back under the release's code."""

import json
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db.migrations.loader import MigrationLoader

from config.backup.archive import Archive
from tests.config.databases import fresh, manage
from tests.config.make_release_data import COMMITS, check_out, unpack, versions
from tests.effort import effort, not_in_each_run

Environment = dict[str, str]
VERSIONS = versions()
PARTS = effort([[VERSIONS[0], VERSIONS[-1]]], [VERSIONS[::2], VERSIONS[1::2]])


def is_changed_since(version: str) -> bool:
    """Whether this version has migrations that the release had not: else there is nothing to upgrade."""
    with tempfile.TemporaryDirectory() as folder:
        unpack(version, Path(folder) / "then.sqlite3")
        asked = sqlite3.connect(Path(folder) / "then.sqlite3")
        had = set(asked.execute("SELECT app, name FROM django_migrations"))
        asked.close()
    return bool(set(MigrationLoader(None).disk_migrations) - had)


EARLIER = next(version for version in reversed(VERSIONS) if is_changed_since(version))
"""The latest release from which there is something to upgrade."""
FULL = """
import os, resource, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536))
os.execv(sys.executable, [sys.executable, "manage.py", *sys.argv[1:]])
"""
"""No file may grow beyond 64 KiB: what a disk without room does to a backup."""
TWICE = """
import json, django
django.setup()
from datetime import timedelta
from django.utils import timezone
from config.backup.upgrading import back_up_before
now = timezone.now()
print(json.dumps([back_up_before(at=now + timedelta(seconds=number)).name for number in range(3)]))
"""


def test_the_data_of_each_release_is_kept() -> None:
    """A release with new migrations raises MINOR: see Releases in DEVELOPERS.md."""
    told = re.findall(r"^## (\d+\.\d+\.0) ", (settings.BASE_DIR / "CHANGELOG.md").read_text(), re.MULTILINE)
    assert told[::-1] == VERSIONS


@pytest.mark.parametrize("some", PARTS, ids=" ".join)
def test_nothing_of_an_earlier_release_is_lost(some: list[str], tmp_path: Path) -> None:
    with fresh("sqlite", tmp_path, "upgraded") as environment:
        done = python(environment | {"DRYSTACK_TASKS": "inline"}, "-m", "tests.config.upgraded", *some)
    assert done.returncode == 0, done.stderr
    found: dict[str, dict[str, Any]] = json.loads(done.stdout.splitlines()[-1])
    assert list(found) == some
    for version, one in found.items():
        print(version, one["columns"], "columns,", one["asked"], "pages,", one["counts"])
        assert one["differing"] == [], version
        assert one["not_valid"] == [], version
        assert one["not_answered"] == {}, version
        assert one["signed_in"], f"{version}: with the password of then"
        assert one["asked"] > 30, version
        for kind, (before, after) in one["counts"].items():
            assert before == after > 0, f"{version}: {kind}"
        backed_up = one["counts"]["yard_stack"][0] if is_changed_since(version) else None
        assert one["backed_up"] == backed_up, f"{version}: stacks in the backup made before"


def python(environment: Environment, *words: str, folder: Path | None = None) -> "subprocess.CompletedProcess[str]":
    command, folder = [sys.executable, *words], folder or settings.BASE_DIR
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


def applied(folder: Path) -> int:
    with sqlite3.connect(folder / "drystack.sqlite3") as asked:
        return int(asked.execute("SELECT count(*) FROM django_migrations").fetchone()[0])


def kept(folder: Path) -> list[Path]:
    return sorted((folder / "backups").glob("*"))


@not_in_each_run
def test_without_room_for_the_backup_nothing_is_changed_unless_told(tmp_path: Path) -> None:
    with fresh("sqlite", tmp_path, "full") as yard:
        unpack(EARLIER, tmp_path / "drystack.sqlite3")
        before = applied(tmp_path)
        refused = python(yard, "-c", FULL, "migrate")
        assert refused.returncode != 0
        assert "No backup could be made before the upgrade" in refused.stderr
        assert "File too large" in refused.stderr and "--without-backup" in refused.stderr
        assert "Traceback" not in refused.stderr
        assert kept(tmp_path) == [], "nothing half"
        served = python(yard, "-c", FULL, "serve", "--port", "1")
        assert served.returncode != 0 and "No backup could be made" in served.stderr
        assert applied(tmp_path) == before
        assert manage(yard, "migrate", "--plan").returncode == 0
        assert kept(tmp_path) == [], "a look changes nothing, and needs no backup"
        assert manage(yard, "migrate", "--without-backup", "-v0").returncode == 0
        assert applied(tmp_path) > before and kept(tmp_path) == []


@not_in_each_run
def test_an_upgrade_that_fails_again_and_again_keeps_one_backup(tmp_path: Path) -> None:
    with fresh("sqlite", tmp_path, "again") as yard:
        unpack(EARLIER, tmp_path / "drystack.sqlite3")
        done = python(yard, "-c", TWICE)
        assert done.returncode == 0, done.stderr
        names = json.loads(done.stdout)
        assert len(set(names)) == 1
        assert [path.name for path in kept(tmp_path) if path.suffix == ".zip"] == names[:1]
        with sqlite3.connect(tmp_path / "drystack.sqlite3") as yard_of_then:
            yard_of_then.execute("UPDATE yard_stack SET note = 'seen meanwhile' WHERE id = 1")
        assert set(json.loads(python(yard, "-c", TWICE).stdout)) != set(names), "another state is kept besides"


def test_where_there_is_no_yard_yet_none_is_made(tmp_path: Path) -> None:
    with fresh("sqlite", tmp_path / "new", "new") as yard:
        done = manage(yard, "migrate", "auth", "0002")
        assert done.returncode == 0, done.stderr
        assert "Applying auth.0002" in done.stdout and "Backing up" not in done.stdout
        assert kept(tmp_path / "new") == []


def tables(path: Path) -> dict[str, Any]:
    """Counts and sums of a backup's tables; those without a row are as good as none."""
    with Archive(path) as archive:
        archive.check()
        return {label: one for label, one in archive.manifest["tables"].items() if one["rows"]}


@pytest.fixture(scope="module")
def code_of_then(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The files of that release."""
    folder = tmp_path_factory.mktemp("then") / "code"
    try:
        check_out(COMMITS.get(EARLIER, f"v{EARLIER}"), folder)
    except (subprocess.CalledProcessError, FileNotFoundError):
        pytest.skip("the release's code is not in this checkout (git fetch --unshallow)")
    shutil.rmtree(folder / "tests")
    return folder


def test_upgraded_as_the_guide_says_and_the_way_back(code_of_then: Path, tmp_path: Path) -> None:
    """DEPLOY.md: the new version's start makes the backup; the way back restores it under the code of then."""
    with fresh("sqlite", tmp_path, "back") as yard:
        unpack(EARLIER, tmp_path / "drystack.sqlite3")
        before = applied(tmp_path)
        new = manage(yard, "migrate", "-v0")
        assert new.returncode == 0, new.stderr
        backup = Path(re.search(r"The backup from before the upgrade: (.*)", new.stdout)[1])
        assert applied(tmp_path) > before
        with sqlite3.connect(tmp_path / "drystack.sqlite3") as upgraded:
            upgraded.execute("UPDATE yard_stack SET note = 'written by the new version'")
        back = python(yard, "manage.py", "restore", "--over", str(backup), folder=code_of_then)
        assert back.returncode == 0, back.stderr
        assert applied(tmp_path) == before, "the tables of then"
        looked = python(yard, "manage.py", "backup", "--to", str(tmp_path / "then.zip"), folder=code_of_then)
        assert looked.returncode == 0, looked.stderr
        assert tables(tmp_path / "then.zip") == tables(backup), "each row as it was"
        anew = manage(yard, "migrate", "-v0")
        assert anew.returncode == 0, anew.stderr
        assert applied(tmp_path) > before
        again = manage(yard, "migrate")
        assert again.returncode == 0 and "Backing up" not in again.stdout, "nothing to change"


@pytest.mark.postgres
def test_the_same_on_postgresql_into_a_new_database(code_of_then: Path, tmp_path: Path) -> None:
    psycopg = pytest.importorskip("psycopg")
    with fresh("sqlite", tmp_path / "from", "from") as source:
        unpack(EARLIER, tmp_path / "from" / "drystack.sqlite3")
        assert manage(source, "migrate", "-v0").returncode == 0
    [rows_of_then] = (tmp_path / "from" / "backups").glob("*.zip")
    with fresh("postgresql", tmp_path / "yard", "then") as yard:
        filled = python(yard, "manage.py", "restore", str(rows_of_then), folder=code_of_then)
        assert filled.returncode == 0, filled.stderr
        new = manage(yard, "migrate", "-v0")
        assert new.returncode == 0, new.stderr
        [backup] = (tmp_path / "yard" / "backups").glob("*.zip")
        assert tables(backup) == tables(rows_of_then)
        assert manage(yard, "migrate", "--check").returncode == 0
    with fresh("postgresql", tmp_path / "back", "back") as yard:
        back = python(yard, "manage.py", "restore", str(backup), folder=code_of_then)
        assert back.returncode == 0, back.stderr
        looked = python(yard, "manage.py", "backup", "--to", str(tmp_path / "then.zip"), folder=code_of_then)
        assert looked.returncode == 0, looked.stderr
        assert tables(tmp_path / "then.zip") == tables(backup)
        with psycopg.connect(yard["DATABASE_URL"], autocommit=True) as database:
            database.execute("create table yard_of_a_later_release (id integer)")
        over = manage(yard, "restore", "--over", str(backup))
        assert over.returncode == 0, over.stderr
        assert manage(yard, "migrate", "--check").returncode == 0
        with psycopg.connect(yard["DATABASE_URL"]) as database:
            assert database.execute("select to_regclass('yard_of_a_later_release')").fetchone() == (None,)
