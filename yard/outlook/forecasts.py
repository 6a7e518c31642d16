"""Stacks' forecasts: rows to the model's input, its answer to Outlook rows."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from django.db import transaction
from django.db.models import Exists, OuterRef, Prefetch
from django.utils import timezone
from numpy.typing import NDArray

from drying.climate import Exposure
from drying.forecast import Forecast, ReadingInput, StackInput, forecast
from drying.forecast import Method as ModelMethod
from drying.forecast import Stay as ModelStay
from drying.weather import Log
from yard.models import Outlook, Place, Reading, Species, Stack, Stay
from yard.models.listed import Forecast as StackForecast
from yard.outlook import learning
from yard.outlook.book import start_moisture_pct, wood
from yard.outlook.climates import climate
from yard.outlook.weather import weather_logs

_SAVED = [field.name for field in Outlook._meta.concrete_fields if not field.primary_key]


@dataclass(frozen=True, slots=True)
class Daily:
    """Moisture (%) of one stack on each of a run of days."""

    p10_pct: NDArray[np.float64]
    p50_pct: NDArray[np.float64]
    p90_pct: NDArray[np.float64]


def refresh(stacks: Iterable[Stack]) -> None:
    """Forecast these stacks in one batch and keep the answers.

    Only drying stacks that stand in a place with a climate get one; a stack in a kiln or dried in one keeps its last.
    """
    wanted = [stack.pk for stack in stacks]
    rows = list(_with_history(Stack.objects.drying().filter(pk__in=wanted)))
    logs, known = _logs(rows), learning.knowledge() if rows else None
    found = {stack: _input(stack, logs, known) for stack in rows}
    _save({stack: given for stack, given in found.items() if given is not None}, known)


def _logs(rows: Sequence[Any]) -> dict[int, Log]:
    """The weather of all places where these stacks stood, from the year on in which the first of them was sawn.

    From its first of January, so that the air made of a log serves other stacks as well.
    """
    if not rows:
        return {}
    first = min(stack.cut_on for stack in rows)
    return weather_logs((stay.place_id for stack in rows for stay in stack.all_stays), date(first.year, 1, 1))


def refresh_missing(most: int = 500) -> None:
    """Forecast the drying stacks that have no outlook, `most` of them at once. Two queries when there is none to do."""
    missing = Stack.objects.drying().filter(forecast=StackForecast.NONE).exclude(place__temperatures_c=[])
    refresh(missing.only("pk").order_by("ready_on", "code")[:most])


def forget(*, place: Place | None = None, species: Species | None = None) -> None:
    """Drop the forecasts that a changed place or species has made stale; `refresh_missing` makes them anew."""
    if place is not None:
        Outlook.objects.filter(stack__in=Stack.objects.drying().filter(stays__place=place)).delete()
    if species is not None:
        Outlook.objects.filter(stack__in=Stack.objects.drying().filter(species=species)).delete()


def doubt(stack: Stack) -> None:
    """A reading of it was found wrong: a stack that is no longer forecast then teaches nothing more."""
    Outlook.objects.filter(stack=stack).exclude(stack__in=Stack.objects.drying()).update(reading_count=0)


def believe(stacks: Iterable[Stack]) -> None:
    """A reading of theirs is right after all: where none other is voided, what is no longer forecast teaches again."""
    doubted = Reading.objects.exclude(voided_at=None).filter(stack=OuterRef("stack"))
    kept = Outlook.objects.filter(~Exists(doubted), stack__in=[one.pk for one in stacks], reading_count=0)
    for row in kept.exclude(stack__in=Stack.objects.drying()):
        row.reading_count = row.stack.readings.valid().count()
        row.save(update_fields=["reading_count"])


def forget_learned(*, unread: Iterable[int] | None = None) -> None:
    """Drop the forecasts that what was learned has changed under: all, or with `unread` (species' keys) those of
    stacks of these species without a valid reading, which rest on nothing else. The others keep theirs until their next
    reading."""
    stacks = Stack.objects.drying()
    if unread is not None:
        own = Reading.objects.valid().filter(stack=OuterRef("pk"))
        stacks = stacks.filter(~Exists(own), species__in=unread)
    Outlook.objects.filter(stack__in=stacks).delete()


def daily_moisture(stacks: Sequence[Stack], first_day: date, days: int) -> dict[str, Daily]:
    """Moisture by the kept forecasts on `days` days from `first_day`, by stack code. Stacks without one are left out.

    Nothing is computed but the interpolation of the kept curves, their ends held.
    """
    wanted = np.arange(days) + first_day.toordinal()
    return {stack.code: _daily(stack.outlook.curve, wanted) for stack in stacks if hasattr(stack, "outlook")}


def _daily(curve: dict[str, list[float]], days: NDArray[np.int_]) -> Daily:
    return Daily(*(np.interp(days, curve["day"], curve[name]) for name in ("p10", "p50", "p90")))


def _with_history(stacks: Any) -> Any:
    readings = Reading.objects.valid().order_by("taken_at", "pk")
    stays = Stay.objects.select_related("place").prefetch_related("place__former_kinds").order_by("since", "pk")
    related = Prefetch("readings", readings, to_attr="valid_readings"), Prefetch("stays", stays, to_attr="all_stays")
    return stacks.select_related("species", "place").prefetch_related(*related)


def _input(
    stack: Any, logs: Mapping[int, Log] | None = None, known: learning.Knowledge | None = None
) -> StackInput | None:
    """The stack as the model takes it, with the places' weather and what the yard has learned.

    None when no place it stood in has a climate.
    """
    stays = _stays(stack, logs or {})
    if not stays:
        return None
    moisture_pct, log_sd = start_moisture_pct(stack)
    usable = _usable(stack)
    until = _day(usable[-1].taken_at) if usable else stack.cut_on
    shift = known.shift(stack, until) if known else None
    return StackInput(
        key=stack.code,
        wood=wood(stack.species),
        thickness_mm=stack.thickness_mm,
        start=stack.cut_on,
        initial_moisture_pct=moisture_pct,
        initial_log_sd=log_sd,
        stays=stays,
        readings=tuple(_reading(row) for row in usable),
        target_pct=stack.kiln_entry_pct,
        rate_log_shift=shift.log_mean if shift else 0.0,
        rate_log_sd=shift.next_log_sd if shift else None,
    )


def _usable(stack: Any) -> list[Reading]:
    return [row for row in stack.valid_readings if _day(row.taken_at) >= stack.cut_on]


def _stays(stack: Any, logs: Mapping[int, Log]) -> tuple[ModelStay, ...]:
    """Where it stood, the first from its start on. A visit to a kiln that did not dry it counts to the stay before."""
    found: list[ModelStay] = []
    outdoors = [(row, air) for row in stack.all_stays if (air := climate(row.place)) is not None]
    for n, (row, air) in enumerate(outdoors):
        start = max(_day(row.since), stack.cut_on) if n else stack.cut_on
        end = _day(outdoors[n + 1][0].since) if n + 1 < len(outdoors) else date.max
        while found and found[-1].start >= start:
            found.pop()
        for since, kind in _kinds(row.place, start, end):
            found.append(ModelStay(since, air, Exposure(kind), logs.get(row.place_id)))
    return tuple(found)


def _kinds(place: Place, start: date, end: date) -> list[tuple[date, str]]:
    """What a place was from `start` on and what it became before `end`: (since, kind), never empty."""
    former = [(row.until, row.kind) for row in place.former_kinds.all() if row.until > start]
    kinds = [kind for _until, kind in former] + [place.kind]
    since = [start] + [until for until, _kind in former]
    return [(day, kind) for day, kind in zip(since, kinds, strict=True) if day == start or day < end]


def _reading(row: Reading) -> ReadingInput:
    return ReadingInput(_day(row.taken_at), ModelMethod(row.method), row.moisture_pct, max(row.count, 1))


def _save(inputs: dict[Any, StackInput], known: learning.Knowledge | None) -> None:
    if not inputs:
        return
    answers = forecast(list(inputs.values()))
    rows = [_row(stack, given, answer) for (stack, given), answer in zip(inputs.items(), answers, strict=True)]
    for row in rows:
        row.learned_from = known.count(row.stack) if known else 0
    with transaction.atomic():
        Outlook.objects.bulk_create(rows, update_conflicts=True, unique_fields=["stack"], update_fields=_SAVED)


def _row(stack: Any, given: StackInput, answer: Forecast) -> Outlook:
    readings = _usable(stack)
    return Outlook(
        stack=stack,
        as_of=answer.as_of,
        ready_p10=answer.p10,
        ready_p50=answer.p50,
        ready_p90=answer.p90,
        never=bool(answer.never),
        reachable_pct=float(answer.reachable_pct),
        curve=_curve(answer),
        chance=[[int(day), round(float(part), 4)] for day, part in answer.probability],
        unexpected=[readings[index].pk for index in answer.unexpected],
        rate_log_mean=float(answer.rate_log_mean),
        rate_log_sd=float(answer.rate_log_sd),
        prior_log_mean=float(np.log(given.wood.rate)) + given.rate_log_shift,
        prior_log_sd=given.rate_log_sd,
        reading_count=len(readings),
        dried_at=learning.where_dried(stack.all_stays, stack.cut_on, answer.as_of),
        loss_pct_per_day=float(answer.loss_pct_per_day),
    )


def _curve(answer: Forecast) -> dict[str, list[Any]]:
    bands = {"p10": answer.curve_p10_pct, "p50": answer.curve_p50_pct, "p90": answer.curve_p90_pct}
    rounded = {name: [round(float(value), 2) for value in values] for name, values in bands.items()}
    return {"day": [int(day) for day in answer.curve_days], **rounded}


def _day(moment: Any) -> date:
    return timezone.localtime(moment).date()
