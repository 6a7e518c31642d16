"""The demo's stacks, from fixtures/demo_stacks.csv, and their readings, by the project's own model with noise."""

import csv
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import Any

import numpy as np
from django.conf import settings
from django.utils import timezone

from config.demo.tags import next_tag
from yard import outlook
from yard.actions.stacks import make_stack
from yard.models import Event, Method, Place, Reading, Species, Stack, log

NINE_IN_TEN = 1.2816  # standard deviations from the median to P90
VALUES_A_VISIT = 5
NUMBERS = ("thickness_mm", "kiln_entry_pct", "target_pct", "value_per_m3")
PACK = ("pack_length_mm", "pack_width_mm", "pack_height_mm")


def rows() -> list[dict[str, str]]:
    with (settings.BASE_DIR / "fixtures" / "demo_stacks.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def moment(day: date, hour: int = 10) -> datetime:
    return timezone.make_aware(datetime.combine(day, time(hour)))


def make_stacks(places: dict[str, Place], today: date, by: Any) -> dict[Stack, dict[str, str]]:
    """All stacks of the table, sawn so many days before today, each with its row."""
    species = {one.key: one for one in Species.objects.all()}
    return {make_one(row, species[row["species"]], places, today, by): row for row in rows()}


def make_one(row: dict[str, str], species: Species, places: dict[str, Place], today: date, by: Any) -> Stack:
    cut_on = today - timedelta(days=int(row["days_ago"]))
    stack = Stack(
        species=species,
        place=places[row["place"]],
        wood_part=row["wood_part"],
        cut_on=cut_on,
        **{name: float(row[name]) for name in NUMBERS},
        **{name: int(row[name]) for name in PACK if row[name]},
    )
    sizes = (int(row["boards"]), int(row["shortest_mm"]), int(row["longest_mm"]), int(row["mean_width_mm"]))
    return make_stack(tag=next_tag(by), stack=stack, lines=outlook.spread_lines(*sizes), by=by, at=moment(cut_on, 15))


def visits(row: dict[str, str], today: date) -> list[date]:
    """Days of the readings: spread over the stack's time, the last some days ago."""
    count, age = int(row["readings"]), int(row["days_ago"])
    last = 3 + age % 11
    return [
        today - timedelta(days=round(last + (age - last) * (count - k) / (count + 1) * 0.9))
        for k in range(1, count + 1)
    ]


def add_readings(stacks: dict[Stack, dict[str, str]], first: date, last: date, today: date, by: Any) -> None:
    """The visits from `first` to `last`. Each stack keeps one place within the model's band all its life: its truth."""
    known = {stack.pk: stack for stack in Stack.objects.drying().filter(outlook__isnull=False).for_lists()}
    made = []
    for stack, row in stacks.items():
        if stack.pk in known:
            days = [day for day in visits(row, today) if first <= day <= last and day > stack.cut_on]
            made += readings_of(known[stack.pk], row, days, by)
    Reading.objects.bulk_create(made)
    for reading in made:
        log([reading.stack], Event.Kind.READ, at=reading.taken_at, by=by, moisture_pct=round(reading.moisture_pct, 1))
    outlook.refresh({reading.stack for reading in made})


def readings_of(stack: Stack, row: dict[str, str], days: Iterable[date], by: Any) -> list[Reading]:
    dice = np.random.default_rng([*stack.species.key.encode(), int(row["days_ago"]), int(row["boards"])])
    place_in_band = dice.normal()
    return [reading_of(stack, row["method"], truth(stack, day, place_in_band), day, dice, by) for day in days]


def truth(stack: Stack, day: date, place_in_band: float) -> float:
    low, middle, high = stack.outlook.moisture_on(day)
    side = (high - middle) if place_in_band > 0 else (middle - low)
    return max(middle + side * float(np.clip(place_in_band, -1.5, 1.5)) / NINE_IN_TEN, 5.0)


def reading_of(stack: Stack, method: str, mean: float, day: date, dice: Any, by: Any) -> Reading:
    """Five boards that differ, read by the method; what the meter showed is worked back from the correction."""
    boards = np.clip(mean * (1 + 0.05 * dice.normal(size=VALUES_A_VISIT)) + 0.5 * dice.normal(), 5, 200)
    temperature = float(stack.place.temperatures_c[day.month - 1])
    raw: list[Any] = [round(float(value), 1) for value in boards]
    if method == Method.OVEN_DRY:
        raw = [[round(60 * (1 + value / 100), 1), 60.0] for value in raw[:2]]
    else:
        shift = outlook.correct(method, raw, temperature, "", stack.species).mean_pct - float(np.mean(raw))
        raw = [round(max(value - shift, 5.0), 1) for value in raw]
    found = outlook.correct(method, raw, temperature, "", stack.species)
    return Reading(
        stack=stack,
        method=method,
        taken_at=moment(day),
        wood_temperature_c=None if method == Method.OVEN_DRY else temperature,
        raw=raw,
        corrected_pct=[round(value, 2) for value in found.values_pct],
        moisture_pct=found.mean_pct,
        notes=list(found.notes),
        made_by=by,
    )
