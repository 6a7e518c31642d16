"""What is noted of a run in hand: one visit, one record, with the yard's own readings of the boards; or voided."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import IO, Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from kilnruns.models import Charge, ChargeStack, RunRecord
from yard.actions.photos import bare_photo
from yard.actions.readings import add_reading, void_reading
from yard.models import Method, Reading, SampleBoard, Stack


@transaction.atomic
def keep_record(
    *,
    charge: Charge,
    at: datetime,
    by: Any,
    seen: Mapping[str, Any],
    masses_g: Mapping[SampleBoard, float] | None = None,
    pins_pct: Mapping[Stack, Sequence[float]] | None = None,
    photo: IO[bytes] | None = None,
    extra_notes: Sequence[str] = (),
) -> RunRecord:
    """Keep a visit: `seen` are RunRecord's own fields; each mass and meter value becomes a reading of its stack.

    Pins stay in warm wood, so the noted dry bulb is taken as its temperature. Raises ValidationError when the charge
    was not in the kiln then or the photo is none, ImpossibleReadingError for values that no wood has.
    """
    if not charge.started_at or (charge.unloaded_at and at > charge.unloaded_at):
        raise ValidationError(_("This charge is not in the kiln: nothing can be noted of its run."))
    record = RunRecord(charge=charge, at=at, made_by=by, **seen)
    if photo is not None:
        record.photo.save(f"run-{charge.pk}.jpg", bare_photo(photo), save=False)
    record.save()
    taken: dict[str, Any] = {"taken_at": at, "by": by, "extra_notes": extra_notes}
    readings = [_weighed(stack, boards, taken) for stack, boards in _by_stack(masses_g or {}).items()]
    for stack, values in (pins_pct or {}).items():
        warm_c = record.dry_bulb_c
        reading = add_reading(stack=stack, method=Method.PINS, raw=list(values), wood_temperature_c=warm_c, **taken)
        readings.append(reading)
    record.readings.set(readings)
    return record


@transaction.atomic
def leave_pins(*, charge: Charge, places: Mapping[int, int]) -> None:
    """Say at how many places pins stay in the wood, by the stack's row in the charge; ValidationError once it is out.

    No history: the readings that follow tell by what a stack was followed.
    """
    if charge.unloaded_at or charge.called_off_at:
        raise ValidationError(_("This charge is done."))
    for item in ChargeStack.objects.select_for_update().filter(charge=charge, pk__in=places):
        item.pins_left = places[item.pk]
        item.save(update_fields=["pins_left"])


def _by_stack(masses_g: Mapping[SampleBoard, float]) -> dict[Stack, dict[str, float]]:
    found: dict[Stack, dict[str, float]] = defaultdict(dict)
    for board, mass in masses_g.items():
        found[board.stack][board.label] = mass
    return found


def _weighed(stack: Stack, boards: dict[str, float], taken: dict[str, Any]) -> Reading:
    raw, labels = list(boards.values()), list(boards)
    return add_reading(stack=stack, method=Method.SAMPLE_BOARD, raw=raw, sample_labels=labels, **taken)


@transaction.atomic
def void_record(*, record: RunRecord, reason: str, by: Any, at: datetime) -> None:
    """Say that a record was wrong, and its readings with it; it stays in sight. ValidationError when voided already."""
    fresh = RunRecord.objects.select_for_update().get(pk=record.pk)
    if fresh.voided_at is not None:
        raise ValidationError(_("This record was voided already."))
    fresh.voided_at, fresh.voided_by, fresh.void_reason = at, by, reason
    fresh.save(update_fields=["voided_at", "voided_by", "void_reason"])
    for reading in fresh.readings.filter(voided_at=None).select_related("stack"):
        void_reading(reading=reading, reason=reason, by=by, at=at)
