"""A yard as large as asked for, all of it invented and the same for the same seed: `build(100_000)` has 2 million
readings.

Half of its stacks stand, the others left it over ten years. Forecasts are the core's, made of a few hundred stacks and
shared by those like them; readings lie about them. No photos, and no receipts or kept changes: as if its rows had been
taken in from sheets. Into an empty database, SQLite or PostgreSQL.

    python3 -m tests.bench.big_yard 100000      # into the database that the settings name
"""

import itertools
import os
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

if __name__ == "__main__":
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()

import numpy as np
from django.db import transaction
from django.utils import timezone

from tests.bench.big_yard_woods import PLACE_KINDS, SIZES, Wood, make_places, make_species, make_woods
from tests.bench.bulk import fill, settle, written
from yard.models import Board, Event, Need, NeedLine, Outlook, Place, Reading, Species, Stack, Stay, Tag, TallyLine
from yard.models.person import Person
from yard.models.tagcode import new_code

READINGS_EACH = 20
OWNER = "invented-owner"
HANDS = 5
PASSWORD = "invented sawdust 1"
YEARS_GONE = 10
IN_KILNS = 12
OUTLOOK = [one.attname for one in Outlook._meta.concrete_fields]


@dataclass
class Made:
    """One stack on its way into the tables. `end`: its last day, today where it stands."""

    pk: int
    code: str
    wood: Wood
    place: int
    cut_on: date
    end: date
    gone: bool
    dried_on: date | None
    joined_into: int | None = None
    boards: list[str] = field(default_factory=list)


def build(stacks: int, *, readings_each: int = READINGS_EACH, seed: int = 1) -> None:
    """Raises ValueError where stacks are in the yard already."""
    if Stack.objects.exists():
        raise ValueError("there are stacks in this yard already; a big one is built in an empty database")
    rng = random.Random(seed)
    today = timezone.localdate()
    with transaction.atomic():
        people = _people()
        places, kiln = make_places(stacks)
        woods = make_woods(make_species(), places[: len(PLACE_KINDS)], today)
        made = _made(stacks, woods, places, kiln, today, rng)
        _write_stacks(made, people[0])
        _write_tags(made, rng)
        _write_readings(made, readings_each, people, rng)
        _write_needs(stacks, today, rng)
        Stack.objects.all().note_forecasts()
    settle([Stack, Stay, Tag, TallyLine, Board, Event, Reading, Need, NeedLine])


def _people() -> list[Any]:
    from django.contrib.auth import get_user_model

    model = get_user_model()
    found = []
    for name in [OWNER, *(f"invented-hand-{n + 1}" for n in range(HANDS))]:
        one = model(username=name, is_staff=name == OWNER)
        one.set_password(PASSWORD)
        one.save()
        Person.objects.update_or_create(user=one, defaults={"role": "operator" if name == OWNER else "hand"})
        found.append(one)
    return found


def _made(count: int, woods: list[Wood], places: list[int], kiln: int, today: date, rng: random.Random) -> list[Made]:
    codes = _codes(rng)
    found = [_one(pk, next(codes), woods, places, today, rng) for pk in range(1, count + 1)]
    for one in rng.sample([one for one in found if not one.gone and one.dried_on is None], min(IN_KILNS, count // 20)):
        one.place = kiln
    standing = [one for one in found if not one.gone]
    for one in found:
        if rng.random() < 0.05:
            one.boards = [next(codes), next(codes)]
        elif one.gone and rng.random() < 0.02:
            one.joined_into = rng.choice(standing).pk
    return found


def _one(pk: int, code: str, woods: list[Wood], places: list[int], today: date, rng: random.Random) -> Made:
    wood = rng.choice(woods)
    gone = pk % 2 == 0
    years = rng.randrange(2, YEARS_GONE) if gone else rng.randrange(2)
    cut_on = wood.cut_on - timedelta(days=365 * years + rng.randrange(28))
    end = min(cut_on + timedelta(days=rng.randrange(300, 700)), today) if gone else today
    shift = cut_on - wood.cut_on
    is_dried = wood.ready_p50 is not None and wood.ready_p50 + shift < end and rng.random() < (1 if gone else 0.35)
    dried_on = end - timedelta(days=rng.randrange(2, 20)) if is_dried else None
    return Made(pk, code, wood, rng.choice(places), cut_on, end, gone, dried_on)


def _codes(rng: random.Random) -> Iterator[str]:
    known: set[str] = set()
    while True:
        code = new_code(rng.choice)
        if code not in known:
            known.add(code)
            yield code


def _at(day: date, hour: int = 9) -> datetime:
    return datetime.combine(day, time(hour), tzinfo=UTC)


def _write_stacks(made: list[Made], owner: Any) -> None:
    names = ["id", "code", "species_id", "place_id", "thickness_mm", "cut_on", "kiln_dried_on", "used_at", "left_as"]
    names += ["joined_into_id", "made_by_id", "note"]
    # those joined into others after the others: keys are checked row by row
    for one in (False, True):
        fill(Stack, names, (_stack_row(s, owner.pk) for s in made if (s.joined_into is not None) is one))
    fill(Stay, ["stack_id", "place_id", "since"], ((one.pk, one.place, _at(one.cut_on)) for one in made))
    fill(TallyLine, ["stack_id", "length_mm", "width_mm", "count"], _tally(made))
    kilns = set(Place.objects.filter(kind="kiln").values_list("pk", flat=True))
    fill(Outlook, OUTLOOK, (_outlook_row(one, kilns) for one in made))


def _stack_row(one: Made, owner: int) -> tuple[Any, ...]:
    used_at = _at(one.end) if one.gone and one.joined_into is None else None
    left = "sold" if used_at else ""
    wood = one.wood
    note = "live edge" if one.pk % 50 == 0 else ""
    values = one.pk, one.code, wood.species, one.place, wood.thickness_mm, one.cut_on, one.dried_on, used_at, left
    return *values, one.joined_into, owner, note


def _tally(made: list[Made]) -> Iterator[tuple[int, int, int, int]]:
    for one in made:
        length, width = SIZES[one.pk % len(SIZES)]
        yield one.pk, length, width, 20 + one.pk % 30
        yield one.pk, length, width + 40, 10 + one.pk % 20


def _outlook_row(one: Made, kilns: set[int]) -> list[Any]:
    shift = (one.cut_on - one.wood.cut_on).days
    known = {"stack_id": one.pk, "dried_at_id": None if one.place in kilns else one.place}
    return [known[name] if name in known else _shifted(name, one.wood, shift) for name in OUTLOOK]


def _shifted(name: str, wood: Wood, days: int) -> Any:
    value = getattr(wood.outlook, name)
    if name == "curve":
        return written({**value, "day": [day + days for day in value["day"]]})
    if name == "chance":
        return written([[day + days, part] for day, part in value])
    if name == "unexpected":
        return "[]"
    if name == "reading_count":
        return READINGS_EACH
    if name == "made_at":  # phones hear of what was made within the last minute as of news
        return value - timedelta(days=1)
    return value + timedelta(days=days) if isinstance(value, date) else value


def _write_tags(made: list[Made], rng: random.Random) -> None:
    """Each stack's and board's own; one in a hundred was replaced, and there are blank ones."""
    keys = itertools.count(1)
    boards = [(n, one, code) for n, (one, code) in enumerate(((s, c) for s in made for c in s.boards), 1)]
    fill(
        Board,
        ["id", "stack_id", "code", "length_mm", "width_mm"],
        ((n, one.pk, code, 3200, 420) for n, one, code in boards),
    )
    own = {one.code: next(keys) for one in made}
    names = ["id", "code", "stack_id", "board_id", "replaced_by_id", "replaced_at"]
    fill(Tag, names, ((own[one.code], one.code, one.pk, None, None, None) for one in made))
    fill(Tag, names, ((next(keys), code, None, n, None, None) for n, _one, code in boards))
    codes = _codes(random.Random(rng.random()))
    old = [one for one in made if one.pk % 100 == 0]
    fill(Tag, names, ((next(keys), next(codes), one.pk, None, own[one.code], _at(one.end)) for one in old))
    fill(Tag, names, ((next(keys), next(codes), None, None, None, None) for _ in range(max(len(made) // 500, 16))))


def _write_readings(made: list[Made], each: int, people: list[Any], rng: random.Random) -> None:
    """With the lines of their stacks' histories."""
    noise = np.random.default_rng(rng.randrange(2**32))
    names = ["id", "stack_id", "method", "taken_at", "wood_temperature_c", "raw", "corrected_pct", "moisture_pct"]
    by = [one.pk for one in people]
    fill(Reading, [*names, "made_by_id"], _readings(made, each, by, noise))
    histories = (line for one in made for line in _history(one, each, by[0]))
    fill(Event, ["stack_id", "kind", "at", "by_id", "details"], histories)


def _readings(made: list[Made], each: int, by: list[int], noise: np.random.Generator) -> Iterator[tuple[Any, ...]]:
    keys = itertools.count(1)
    for one in made:
        days = _days(one, each)
        shift = (one.cut_on - one.wood.cut_on).days
        curve = one.wood.outlook.curve
        at = [day.toordinal() - shift for day in days]
        values = np.interp(at, curve["day"], curve["p50"]) * noise.normal(1, 0.05, each)
        for day, value in zip(days, np.clip(values, 5, 200).round(1).tolist(), strict=True):
            raw = f"[{value - 1:.1f},{value},{value + 1:.1f}]"
            yield next(keys), one.pk, "pins", _at(day), 14.0, raw, raw, value, by[one.pk % len(by)]


def _days(one: Made, each: int) -> list[date]:
    """On which it was read; a third of the standing ones were not read of late."""
    late = 45 if one.pk % 3 == 0 else 1 + one.pk % 20
    span = max((one.end - one.cut_on).days - late, 1)
    return [one.cut_on + timedelta(days=round(span * (n + 1) / each)) for n in range(each)]


def _history(one: Made, each: int, by: int) -> Iterator[tuple[Any, ...]]:
    yield one.pk, "stacked", _at(one.cut_on), by, "{}"
    for day in _days(one, each):
        yield one.pk, "read", _at(day), by, '{"count":3,"method":"pins"}'
    if one.pk % 20 == 0:
        yield one.pk, "noted", _at(one.end), by, '{"text":"stickers straight"}'
    if one.gone:
        yield one.pk, "joined" if one.joined_into else "used", _at(one.end), by, "{}"


def _write_needs(stacks: int, today: date, rng: random.Random) -> None:
    """One a hundred stacks; one in twenty is open, four at the least."""
    count = max(stacks // 100, 8)
    open_ones = max(count // 20, 4)
    rows = []
    for pk in range(1, count + 1):
        wanted = today + timedelta(days=30 + rng.randrange(300) - (0 if pk <= open_ones else 1000))
        rows.append((pk, f"Invented job {pk}", wanted, None if pk <= open_ones else _at(wanted)))
    fill(Need, ["id", "name", "wanted_by", "met_at"], rows)
    lines = ((2 * pk + n - 1, pk, 20.0, 1.0 + n) for pk in range(1, count + 1) for n in range(2))
    fill(NeedLine, ["id", "need_id", "thickness_mm", "quantity"], lines)
    species = list(Species.objects.filter(stacks__isnull=False).distinct().values_list("pk", flat=True))
    through: Any = NeedLine.species.through
    wood = ((2 * pk + n - 1, rng.choice(species)) for pk in range(1, count + 1) for n in range(2))
    fill(through, ["needline_id", "species_id"], wood)


if __name__ == "__main__":
    build(int(sys.argv[1]))
