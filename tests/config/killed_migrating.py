"""Run as a script by test_killed_migrating.py, apart from pytest: makes a database of an earlier state with rows in it,
then for each moment a copy of it, a process that migrates it and is killed before its nth statement, and one that
migrates it on. Prints as JSON how many statements there are, and what was found wrong."""

import json
import os
import random
import shutil
import signal
import sys
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import django

django.setup()

from django.apps import apps  # noqa: E402
from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.db.migrations.executor import MigrationExecutor  # noqa: E402

from config.backup.rows import kept_models, lines, sum_of  # noqa: E402
from tests.config.apart import apart  # noqa: E402

EARLIER = [("yard", "0006_need_lines"), ("kilnruns", "0030_rules_of_the_yard")]
POSTGRES = connection.vendor == "postgresql"
KEPT = Path(settings.DATA_DIR) / "earlier.sqlite3"


def make_earlier() -> None:
    """Rows of an invented yard in the tables of then, some in those that a later migration fills others from."""
    executor = MigrationExecutor(connection)
    leaves = [node for node in executor.loader.graph.leaf_nodes() if node[0] not in {"yard", "kilnruns"}]
    executor.migrate([*EARLIER, *leaves])
    get = MigrationExecutor(connection).loader.project_state([*EARLIER, *leaves]).apps.get_model
    species = get("yard.Species").objects.create(
        key="ash", name="ash", wood_class="hardwood", drying_group="heavy_hardwood", basic_density_kg_m3=570
    )
    months = {"temperatures_c": [9] * 12, "humidities_pct": [80] * 12}
    place = get("yard.Place").objects.create(name="Shed", kind="roofed_shed", **months)
    for number in range(40):
        stack = get("yard.Stack").objects.create(
            code=f"2345{number:06}", species=species, place=place, thickness_mm=27 + number, cut_on="2026-01-02"
        )
        get("yard.Reading").objects.create(
            stack=stack, taken_at="2026-03-01T10:00:00Z", method="pins", raw=[20 + number / 7], moisture_pct=20
        )
        get("yard.Need").objects.create(
            name=f"Table {number}",
            thickness_mm=27,
            volume_m3=(number + 1) / 9,
            target_pct=9,
            wanted_by="2027-01-01",
            species=species,
        )
    connection.close()


def copy() -> None:
    """The database of then, as it was."""
    if not POSTGRES:
        path = Path(settings.DATABASES["default"]["NAME"])
        for one in path.parent.glob(path.name + "*"):
            one.unlink()
        shutil.copy(KEPT, path)
        return
    import psycopg

    name = settings.DATABASES["default"]["NAME"]
    address = urlsplit(os.environ["DATABASE_URL"])._replace(path="/postgres").geturl()
    with psycopg.connect(address, autocommit=True) as server:
        if not server.execute("select 1 from pg_database where datname = %s", [name + "_earlier"]).fetchone():
            server.execute(f"create database {name}_earlier template {name}")
        server.execute(f"drop database if exists {name} with (force)")
        server.execute(f"create database {name} template {name}_earlier")


def drop_copy() -> None:
    if POSTGRES:
        import psycopg

        address = urlsplit(os.environ["DATABASE_URL"])._replace(path="/postgres").geturl()
        with psycopg.connect(address, autocommit=True) as server:
            server.execute(f"drop database {settings.DATABASES['default']['NAME']}_earlier with (force)")


def migrate(kill_before: int | None) -> list[bool]:
    """Migrate to this version; of each statement that took, whether it notes a migration that left SQL to its end,
    which Django alone would note after its commit."""
    notes: list[bool] = []
    lately: deque[str] = deque(maxlen=8)

    def counting(execute: Callable[..., Any], sql: str, *arguments: Any) -> Any:
        left = any(one.startswith("CREATE INDEX") or "ADD CONSTRAINT" in one for one in lately)
        notes.append(left and sql.startswith('INSERT INTO "django_migrations"'))
        lately.append(sql)
        if len(notes) == kill_before:
            os.kill(os.getpid(), signal.SIGKILL)
        return execute(sql, *arguments)

    with connection.execute_wrapper(counting):
        call_command("migrate", verbosity=0)
    return notes


def state() -> dict[str, Any]:
    """Each table's rows and their checksum; that nothing is left to apply, and every key leads somewhere."""
    call_command("migrate", check_unapplied=True, verbosity=0)
    connection.check_constraints()
    sums = {model._meta.label_lower: sum_of(lines(model)) for model in kept_models(apps)}
    return {label: [one.rows, one.checksum] for label, one in sums.items()}


def chosen(notes: list[bool], moments: int) -> list[int]:
    """All statements, or some by seed: half of them those between a migration and the note that it was applied."""
    every = list(range(1, len(notes) + 1))
    if moments >= len(every):
        return every
    chance, noting = random.Random(20), [moment for moment in every if notes[moment - 1]]
    noting = chance.sample(noting, min(len(noting), moments // 2))
    return noting + chance.sample([moment for moment in every if moment not in noting], moments - len(noting))


def main(moments: int) -> None:
    apart(make_earlier)
    if not POSTGRES:
        shutil.copy(settings.DATABASES["default"]["NAME"], KEPT)
    copy()
    notes = apart(lambda: migrate(None))
    whole = apart(state)
    wrong, killed = [], 0
    for moment in chosen(notes, moments):
        copy()
        killed += apart(lambda moment=moment: migrate(moment)) is None
        try:
            apart(lambda: migrate(None))
            found = apart(state)
        except RuntimeError as error:
            wrong.append(f"before statement {moment}: {error}")
            continue
        wrong += [f"before statement {moment}: {label}" for label in whole if found[label] != whole[label]]
    drop_copy()
    rows = sum(count for count, _sum in whole.values())
    print(json.dumps({"statements": len(notes), "killed": killed, "rows": rows, "wrong": wrong}))


if __name__ == "__main__":
    main(int(sys.argv[1]))
