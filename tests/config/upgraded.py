"""Run as a script by test_upgrading.py, apart from pytest: brings each release's data up to this version by `migrate`
and looks at them from outside. One process is made ready for all of them, and forked for each: that saves the start.

Prints as JSON what was found of each: rows that are not as they were, addresses that do not answer, figures.
"""

import json
import re
import sqlite3
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import django

django.setup()

from django.apps import apps  # noqa: E402
from django.conf import settings  # noqa: E402
from django.contrib.auth import get_user_model  # noqa: E402
from django.core.exceptions import ValidationError  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.core.validators import EMPTY_VALUES  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402

from config.backup.archive import Archive  # noqa: E402
from tests.config.apart import apart  # noqa: E402
from tests.config.make_release_data import PASSWORD, unpack  # noqa: E402

MADE_ANEW = re.compile(r"django_|auth_permission$|sqlite_")
"""What Django keeps of itself."""
LINES_OF_A_NEED = {"thickness_mm", "volume_m3", "species_id"}
"""A need's until 0.4.0; since then its lines'."""
ADDRESSES = (
    "/", "/yard/", "/needs/", "/kilns/", "/setup/", "/places/", "/species/", "/stock/", "/papers/", "/people/",
    "/people/history/", "/learned/", "/sensors/", "/sawing/", "/sort-out/", "/tags/", "/exchange/", "/backups/",
    "/exchange/stacks/yard/stacks.csv", "/setup/groups/", "/setup/rules/", "/setup/days/", "/setup/figures/", "/me/",
)  # fmt: skip
Table = dict[str, Counter[Any]]


def tables(path: Path) -> dict[str, Table]:
    """Each table's columns, each with how often which value stands in it, read past Django."""
    found: dict[str, Table] = {}
    asked = sqlite3.connect(path)
    for (table,) in asked.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
        if not MADE_ANEW.match(table):
            names = [row[1] for row in asked.execute(f'PRAGMA table_info("{table}")')]
            rows = asked.execute(f'SELECT * FROM "{table}"').fetchall()  # noqa: S608 - our own tables
            found[table] = {name: Counter(row[at] for row in rows) for at, name in enumerate(names)}
    asked.close()
    return found


def needs_of(path: Path) -> list[Any]:
    """What is wanted: name, thickness, quantity and its unit, species; of a need itself or of its lines."""
    asked = sqlite3.connect(path)
    tables = {name for (name,) in asked.execute("SELECT name FROM sqlite_master")}
    lines = "JOIN yard_needline l ON l.need_id = n.id JOIN yard_needline_species s ON s.needline_id = l.id"
    which = f"l.thickness_mm, l.quantity, l.unit, s.species_id FROM yard_need n {lines}"
    if "yard_needline" not in tables:
        which = "n.thickness_mm, n.volume_m3, 'm3', n.species_id FROM yard_need n"
    found = asked.execute(f"SELECT n.name, {which} ORDER BY 1, 2, 3, 4, 5").fetchall()
    asked.close()
    return [list(row) for row in found]


def differing(before: dict[str, Table], after: dict[str, Table]) -> list[str]:
    """Where a table or column is gone, or what stands in it is not what stood there."""
    wrong = []
    for table, columns in before.items():
        gone = LINES_OF_A_NEED if table == "yard_need" else set()
        for name, values in columns.items():
            if name not in gone and after.get(table, {}).get(name) != values:
                wrong.append(f"{table}.{name}")
    return wrong


def not_valid() -> list[str]:
    """Rows that their own model would refuse, and keys that lead nowhere."""
    wrong = []
    for model in apps.get_models():
        if model._meta.app_label in {"yard", "kilnruns", "auth"} and not MADE_ANEW.match(model._meta.db_table):
            for row in model._base_manager.all():
                # Whether a value may be missing is kept by the database; `blank` speaks of forms.
                missing = {field.name for field in model._meta.fields if getattr(row, field.attname) in EMPTY_VALUES}
                try:
                    row.full_clean(exclude=missing, validate_unique=False)
                except ValidationError as error:
                    wrong.append(f"{model._meta.label} {row.pk}: {error.message_dict}")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_key_check")
        wrong += [f"key {row}" for row in cursor.fetchall()]
        cursor.execute("PRAGMA integrity_check")
        wrong += [str(row) for row in cursor.fetchall() if row != ("ok",)]
    return wrong


def of_each_kind() -> list[str]:
    """A page of each kind of row: the oldest's and the newest's."""
    from kilnruns.models import Charge, Kiln, Paper, Plan
    from yard.models import Need, Place, Stack

    found: list[str] = []
    for stack in ends(Stack.objects.all()):
        found += [f"/stacks/{stack.code}/", f"/stacks/{stack.code}/history/"]
    for rows in (Kiln.objects, Place.objects.outdoors(), Charge.objects, Plan.objects, Need.objects, Paper.objects):
        found += [f"/{row._meta.model_name}s/{row.pk}/" for row in ends(rows.all())]
    return found


def ends(rows: Any) -> list[Any]:
    ordered = list(rows.order_by("pk"))
    return [ordered[0], ordered[-1]] if ordered else []


def look(path: Path) -> dict[str, Any]:
    """Migrate the database at `path` and hold it against what it was."""
    connection.settings_dict["NAME"] = str(path)
    before, needs = tables(path), needs_of(path)
    call_command("migrate", verbosity=0, stdout=sys.stderr)
    call_command("migrate", check_unapplied=True, verbosity=0)
    backed_up = None
    for made in Path(settings.BACKUPS).glob("*-before-upgrade.zip"):
        with Archive(made) as backup:
            backup.check()
            backed_up = backup.manifest["tables"]["yard.stack"]["rows"]
    after = tables(path)
    settings.ALLOWED_HOSTS = ["testserver"]
    client = Client()
    owner = get_user_model().objects.get(is_staff=True)
    signed_in = client.post("/sign-in/", {"username": owner.username, "password": PASSWORD}).status_code == 302
    asked = [*ADDRESSES, *of_each_kind()]
    answered = {address: client.get(address, follow=True).status_code for address in asked}
    count = lambda kept, table: sum(kept.get(table, {}).get("id", Counter()).values())  # noqa: E731
    kinds = ("yard_stack", "yard_reading", "yard_event", "yard_need", "kilnruns_charge", "auth_user", "yard_tallyline")
    return {
        "differing": differing(before, after) + ([] if needs_of(path) == needs else ["needs"]),
        "not_valid": not_valid(),
        "backed_up": backed_up,
        "signed_in": signed_in,
        "asked": len(asked),
        "not_answered": {address: status for address, status in answered.items() if status != 200},
        "columns": sum(map(len, before.values())),
        "counts": {kind: [count(before, kind), count(after, kind)] for kind in kinds},
    }


def main(versions: list[str]) -> None:
    found = {}
    for version in versions:
        path = Path(settings.DATA_DIR) / version / "drystack.sqlite3"
        unpack(version, path)
        settings.BACKUPS = path.parent / "backups"
        found[version] = apart(lambda path=path: look(path))
    print(json.dumps(found))


if __name__ == "__main__":
    main(sys.argv[1:])
