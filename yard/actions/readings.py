"""Readings: kept as they were typed, corrected, and never edited away; a wrong one is voided with a reason."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from yard import outlook
from yard.actions import forecasts
from yard.changes import Watched, kept
from yard.models import Board, Event, Method, Reading, SampleBoard, Stack, log

ASSUMED = "temperature_assumed"
"""Note of a reading whose wood temperature was not taken; the season's mean stood in for it."""


class ImpossibleReadingError(ValueError):
    """Values that no wood can have; nothing was kept."""


def add_reading(
    *,
    stack: Stack,
    method: str,
    raw: Sequence[Any],
    taken_at: datetime,
    wood_temperature_c: float | None = None,
    meter_set_to: str = "",
    sample_labels: Sequence[str] = (),
    board: Board | None = None,
    extra_notes: Sequence[str] = (),
    by: Any,
) -> Reading:
    """Keep a visit's values, raw and corrected, and forecast the stack anew.

    `raw`: meter values in %, [wet, oven-dry] pairs in g, or one mass in g for each of `sample_labels`. `extra_notes`:
    codes kept with it, such as of a clock that was wrong. Raises ImpossibleReadingError for what no wood can be,
    SampleBoard.DoesNotExist for a label that the stack doesn't have.
    """
    notes: tuple[str, ...] = ()
    temperature_c = wood_temperature_c
    if method == Method.PINS and temperature_c is None:
        temperature_c, notes = outlook.usual_temperature_c(stack.place, _day(taken_at)), (ASSUMED,)
    dry_g = _oven_dry_g(stack, sample_labels) if method == Method.SAMPLE_BOARD else []
    try:
        found = outlook.correct(method, raw, temperature_c, meter_set_to, stack.species, oven_dry_g=dry_g)
    except ValueError as error:
        raise ImpossibleReadingError(str(error)) from error
    with kept("read", Watched([stack]), by=by, at=taken_at) as act:
        reading = Reading.objects.create(
            stack=stack,
            board=board,
            method=method,
            taken_at=taken_at,
            wood_temperature_c=wood_temperature_c,
            meter_set_to=meter_set_to,
            raw=list(raw),
            sample_labels=list(sample_labels),
            corrected_pct=[round(value, 2) for value in found.values_pct],
            moisture_pct=round(found.mean_pct, 2),
            notes=[*found.notes, *notes, *extra_notes],
            made_by=by,
        )
        act.has_made(reading)
        figures = {"reading": reading.pk, "moisture_pct": reading.moisture_pct, "count": reading.count}
        log([stack], Event.Kind.READ, at=taken_at, by=by, method=method, **figures)
    if not forecasts.is_put_off([stack]):
        outlook.refresh([stack])
    return reading


def void_reading(*, reading: Reading, reason: str, by: Any, at: datetime) -> Reading:
    """Say that a reading was wrong; it stays in sight, and the forecast no longer hears it.

    Raises ValidationError when it was voided already.
    """
    with kept("voided", Watched([reading.stack], [Reading.objects.filter(pk=reading.pk)]), by=by, at=at):
        fresh = Reading.objects.select_for_update().get(pk=reading.pk)
        if fresh.voided_at is not None:
            raise ValidationError(_("This reading was voided already."))
        reading.voided_at, reading.voided_by, reading.void_reason = at, by, reason
        reading.save(update_fields=["voided_at", "voided_by", "void_reason"])
        figures = {"reading": reading.pk, "moisture_pct": reading.moisture_pct, "reason": reason}
        outlook.doubt(reading.stack)
        log([reading.stack], Event.Kind.VOIDED, at=at, by=by, **figures)
    outlook.refresh([reading.stack])
    return reading


def _oven_dry_g(stack: Stack, labels: Sequence[str]) -> list[float]:
    known = {board.label: board.oven_dry_mass_g for board in stack.sample_boards.all()}
    missing = [label for label in labels if label not in known]
    if missing:
        raise SampleBoard.DoesNotExist(f"{stack.code} has no sample board {missing[0]!r}")
    return [known[label] for label in labels]


def _day(moment: datetime) -> Any:
    return timezone.localtime(moment).date()
