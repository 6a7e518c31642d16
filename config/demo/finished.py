"""The demo's finished stacks, from fixtures/demo_finished.csv: read while they dried, then used; they teach."""

import csv
from datetime import date, timedelta
from typing import Any

import numpy as np
from django.conf import settings

from config.demo.stacks import make_one, moment, reading_of, truth, visits
from yard import outlook
from yard.actions.stacks import use
from yard.models import Event, Place, Species, Stack, log


def rows() -> list[dict[str, str]]:
    """`days_ago` counts from the day of use, `used_days_ago` from today; `in_band`: how far the stack dried from the
    model's median, in standard deviations, negative is faster."""
    with (settings.BASE_DIR / "fixtures" / "demo_finished.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def make_finished(places: dict[str, Place], today: date, by: Any) -> None:
    species = {one.key: one for one in Species.objects.all()}
    made = []
    for row in rows():
        used_on = today - timedelta(days=int(row["used_days_ago"]))
        made.append((make_one(row, species[row["species"]], places, used_on, by), row, used_on))
    outlook.refresh(stack for stack, _, _ in made)
    known = Stack.objects.for_lists().in_bulk([stack.pk for stack, _, _ in made])
    for stack, row, used_on in made:
        _read(known[stack.pk], row, used_on, by)
    outlook.refresh(known.values())
    for stack, row, used_on in made:
        price = float(row["sold_for"]) if row["sold_for"] else None
        what = {"for_what": row["used_for"], "left_as": row["left_as"], "sold_for": price}
        use(stack=stack, **what, by=by, at=moment(used_on))


def _read(stack: Stack, row: dict[str, str], used_on: date, by: Any) -> None:
    dice = np.random.default_rng([int(row["days_ago"]), int(row["used_days_ago"])])
    for day in visits(row, used_on):
        reading = reading_of(stack, row["method"], truth(stack, day, float(row["in_band"])), day, dice, by)
        reading.save()
        log([stack], Event.Kind.READ, at=reading.taken_at, by=by, moisture_pct=round(reading.moisture_pct, 1))
