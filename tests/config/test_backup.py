"""A backup whole: to another machine and kind of database and back, of an older version, damaged, killed, in use."""

import json
import random
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from config.backup.archive import Archive, DamagedError
from tests.config.databases import KINDS, fresh, manage, run
from tests.effort import effort, not_in_each_run

pytestmark = [pytest.mark.postgres, pytest.mark.usefixtures("django_db_setup")]
Environment = dict[str, str]
ACROSS = [("postgresql", "postgresql"), ("postgresql", "sqlite"), ("sqlite", "postgresql")]
WAYS = ACROSS if "postgresql" in KINDS else [("sqlite", "sqlite")]

PREPARE = """
import json, django
django.setup()
from django.core.files.base import ContentFile
from django.utils import timezone
from tests.factories import BoardFactory, StackFactory, UserFactory
from tests.kilnruns.factories import KilnFactory
from yard.models import Event, Photo, Reading
now, person = timezone.now(), UserFactory(username="Edda", password="chips and bark")
KilnFactory()
for number in range(6):
    stack = StackFactory(note="Träger “äußerst” \\U0001f332", value_per_m3=0.1 + number / 3)
    BoardFactory(stack=stack)
    Reading.objects.create(stack=stack, taken_at=now, method="pins", raw=[20.1, 1 / 3], moisture_pct=20.2)
    Event.objects.create(stack=stack, kind="noted", at=now, by=person, details={"b": 1e-7, "a": [None, True, 1.0]})
Photo.objects.create(stack=stack, image=ContentFile(bytes(range(256)) * 999, name="end.jpg"), added_by=person)
print(json.dumps(person.pk))
"""
# What follows goes on as if nothing had been: signing in, the next row, the photo.
GO_ON = """
import hashlib, json, django
django.setup()
from django.contrib.auth import authenticate
from django.test import RequestFactory
from tests.factories import StackFactory
from yard.models import Photo, Place, Species, Stack
before = list(Stack.objects.values_list("pk", flat=True))
person = authenticate(RequestFactory().post("/"), username="Edda", password="chips and bark")
with Photo.objects.get().image.open() as image:
    digest = hashlib.sha256(image.read()).hexdigest()
new = StackFactory(species=Species.objects.all()[0], place=Place.objects.outdoors()[0])
print(json.dumps([person is not None, new.pk not in before, digest]))
"""
PAIRS = """
import django, sys, time
django.setup()
from django.db import transaction
from django.utils import timezone
from yard.models import Event, Stack, Stay
stack = Stack.objects.all()[0]
print("writing", flush=True)
while True:
    with transaction.atomic():
        Event.objects.create(stack=stack, kind="moved", at=timezone.now())
        time.sleep(0.002)
        Stay.objects.create(stack=stack, place=stack.place, since=timezone.now())
"""


@pytest.fixture(params=KINDS)
def yard(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Environment]:
    with fresh(request.param, tmp_path / "yard", "backup", migrated=True) as environment:
        run(PREPARE, environment)
        yield environment


def back_up(environment: Environment, path: Path) -> dict[str, Any]:
    """The manifest of a backup made now."""
    done = manage(environment, "backup", "--to", str(path))
    assert done.returncode == 0, done.stderr
    assert "read to its end" in done.stdout
    return manifest(path)


def manifest(path: Path) -> dict[str, Any]:
    with Archive(path) as archive:
        archive.check()
        return archive.manifest


@pytest.mark.parametrize(("yard", "to"), WAYS, indirect=["yard"])
def test_restored_elsewhere_each_row_and_photo_is_the_same_and_it_goes_on(
    yard: Environment, to: str, tmp_path: Path
) -> None:
    before = back_up(yard, tmp_path / "one.zip")
    assert before["tables"]["yard.stack"]["rows"] == 6
    assert [name for name in before["files"] if name.startswith("photos/")]
    with fresh(to, tmp_path / "other", "restored") as other:
        done = manage(other, "restore", str(tmp_path / "one.zip"))
        assert done.returncode == 0, done.stderr
        after = back_up(other, tmp_path / "two.zip")
        assert after["tables"] == before["tables"]
        assert after["files"] == before["files"]
        photo = next(one["sha256"] for name, one in before["files"].items() if name.startswith("photos/"))
        assert run(GO_ON, other) == [True, True, photo]
        refused = manage(other, "restore", str(tmp_path / "one.zip"))
        assert refused.returncode != 0
        assert "There is a yard here already" in refused.stderr
        assert back_up(other, tmp_path / "three.zip")["tables"]["yard.stack"]["rows"] == 7, "refused, so untouched"
        assert manage(other, "restore", str(tmp_path / "one.zip"), "--over").returncode == 0
        assert back_up(other, tmp_path / "four.zip")["tables"] == before["tables"]
        [kept_first] = (Path(other["DRYSTACK_DATA"]) / "backups").glob("*.zip")
        assert manifest(kept_first)["tables"]["yard.stack"]["rows"] == 7


def test_what_is_written_meanwhile_is_in_it_whole_or_not_at_all(yard: Environment, tmp_path: Path) -> None:
    writer = subprocess.Popen(
        [sys.executable, "-c", PAIRS], cwd=settings.BASE_DIR, env=yard, stdout=subprocess.PIPE, text=True
    )
    try:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "writing\n"
        counts = []
        for number in range(effort(2, 6)):
            tables = back_up(yard, tmp_path / f"{number}.zip")["tables"]
            counts.append((tables["yard.event"]["rows"], tables["yard.stay"]["rows"]))
            assert writer.poll() is None, "the writer was held up"
    finally:
        writer.kill()
        writer.communicate()
    apart = {events - stays for events, stays in counts}
    assert len(apart) == 1, f"a pair was torn: {counts}"
    assert len({events for events, _stays in counts}) == len(counts), "the writer wrote on between the backups"


def test_killed_at_any_moment_it_leaves_nothing_half_and_the_next_one_is_good(
    yard: Environment, tmp_path: Path
) -> None:
    folder, chance, killed = Path(yard["DRYSTACK_DATA"]) / "backups", random.Random(5), 0
    for _round in range(effort(4, 20)):
        making = subprocess.Popen(
            [sys.executable, "manage.py", "backup"], cwd=settings.BASE_DIR, env=yard, stdout=subprocess.DEVNULL
        )
        for _try in range(1000):  # from its first byte on
            if list(folder.glob("*.part")) or making.poll() is not None:
                break
            time.sleep(0.001)
        time.sleep(chance.uniform(0, 0.15))
        making.send_signal(signal.SIGKILL)
        killed += making.wait() == -signal.SIGKILL
        for whole in folder.glob("drystack-*.zip"):
            assert manifest(whole)["tables"]["yard.stack"]["rows"] == 6
    assert killed >= effort(2, 10)
    assert back_up(yard, tmp_path / "last.zip")["tables"]["yard.stack"]["rows"] == 6


@not_in_each_run
def test_a_restore_killed_at_any_moment_is_done_again(yard: Environment, tmp_path: Path) -> None:
    before, chance = back_up(yard, tmp_path / "one.zip"), random.Random(6)
    with fresh("postgresql" if "DATABASE_URL" in yard else "sqlite", tmp_path / "other", "broken") as other:
        for _round in range(effort(1, 6)):
            restoring = subprocess.Popen(
                [sys.executable, "manage.py", "restore", str(tmp_path / "one.zip"), "--over"],
                cwd=settings.BASE_DIR,
                env=other,
                stdout=subprocess.PIPE,
                text=True,
            )
            assert restoring.stdout is not None
            for line in restoring.stdout:
                if line.startswith("Rows"):
                    break
            time.sleep(chance.uniform(0, 2))
            restoring.kill()
            restoring.communicate()
        done = manage(other, "restore", str(tmp_path / "one.zip"), "--over")
        assert done.returncode == 0, done.stderr
        assert back_up(other, tmp_path / "two.zip")["tables"] == before["tables"]


OLDER = """
import json, sys, django
django.setup()
from pathlib import Path
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from config.backup.archive import Writer
from config.backup.making import applied_migrations, write_tables
targets = [("yard", "0003_what_is_to_sort_out"), ("kilnruns", "0001_initial"), ("auth", None)]
executor = MigrationExecutor(connection)
targets = [(app, name or executor.loader.graph.leaf_nodes(app)[0][1]) for app, name in targets]
executor.migrate(targets)
registry = executor.loader.project_state(targets).apps
species = registry.get_model("yard.Species").objects.create(key="ash", name="ash", wood_class="hardwood",
    drying_group="heavy_hardwood", basic_density_kg_m3=570)
place = registry.get_model("yard.Place").objects.create(name="Shed", kind="roofed_shed", temperatures_c=[9] * 12,
    humidities_pct=[80] * 12)
registry.get_model("yard.Stack").objects.create(code="234567ABCD", species=species, place=place, thickness_mm=27,
    cut_on="2026-01-02", note="of old")
with Writer(Path(sys.argv[1])) as writer:
    missing = write_tables(writer, registry)
    writer.manifest(made_at="2026-01-03T00:00:00+00:00", database=connection.vendor, missing_photos=missing,
        migrations=applied_migrations())
"""
LOOK = """
import json, django
django.setup()
from django.core.management import call_command
call_command("migrate", check_unapplied=True, verbosity=0)
from yard.models import Stack
print(json.dumps(list(Stack.objects.values_list("code", "note", "thickness_mm"))))
"""


@not_in_each_run
@pytest.mark.parametrize("to", KINDS)
def test_a_backup_of_an_older_version_is_brought_up_to_this_one(to: str, tmp_path: Path) -> None:
    path = tmp_path / "old.zip"
    with fresh("sqlite", tmp_path / "old", "old") as old:
        command = [sys.executable, "-c", OLDER, str(path)]
        subprocess.run(command, cwd=settings.BASE_DIR, env=old, check=True)
    with fresh(to, tmp_path / "new", "new") as new:
        done = manage(new, "restore", str(path))
        assert done.returncode == 0, done.stderr
        assert run(LOOK, new) == [["234567ABCD", "of old", 27.0]]


def test_what_is_damaged_is_told_before_anything_is_touched(tmp_path: Path) -> None:
    with fresh(KINDS[0], tmp_path / "yard", "damage", migrated=True) as yard:
        run(PREPARE, yard)
        good = tmp_path / "good.zip"
        before, whole = back_up(yard, good), good.read_bytes()
        chance, told = random.Random(8), 0
        for number in range(60):
            bad = tmp_path / "bad.zip"
            at = chance.randrange(len(whole))
            bad.write_bytes(whole[:at] if number % 2 else whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :])
            try:
                found = manifest(bad)
            except DamagedError:
                told += 1
            else:  # a byte that says nothing of the content, such as an entry's date
                assert (found["tables"], found["files"]) == (before["tables"], before["files"])
        assert told >= 50
        bad.write_bytes(whole[: len(whole) // 2])
        done = manage(yard, "restore", str(bad), "--over")
        assert done.returncode != 0
        assert "Nothing was restored" in done.stderr
        assert back_up(yard, tmp_path / "after.zip")["tables"] == before["tables"]


def test_one_of_a_newer_version_is_refused(tmp_path: Path) -> None:
    with fresh(KINDS[0], tmp_path / "yard", "newer", migrated=True) as yard:
        run(PREPARE, yard)
        back_up(yard, tmp_path / "one.zip")
        with zipfile.ZipFile(tmp_path / "one.zip") as one, zipfile.ZipFile(tmp_path / "newer.zip", "w") as newer:
            for name in one.namelist():
                content = one.read(name)
                if name == "manifest.json":
                    said = json.loads(content)
                    said["migrations"].append(["yard", "9999_of_next_year"])
                    content = json.dumps(said).encode()
                newer.writestr(name, content)
        done = manage(yard, "restore", str(tmp_path / "newer.zip"), "--over")
        assert done.returncode != 0
        assert "newer version" in done.stderr
