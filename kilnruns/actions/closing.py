"""What is kept at the end of a run: measurements, stress tests, degrade, costs, and what is taken over of a kiln."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from kilnruns.models import Charge, ChargeStack, Degrade, FinalMeasurement, Kiln, KilnLesson, RunCosts, StressTest
from yard import outlook
from yard.actions.readings import ImpossibleReadingError, add_reading
from yard.changes import Watched, keeps
from yard.measures.told import mm
from yard.models import Method, Reading

Pairs = Sequence[tuple[float, float]]
LOOKED_AT = "looked_at"
"""Code of a refusal: somebody gave another figure for the same thing."""


@transaction.atomic
@keeps("measured", lambda item, **_given: Watched([item.charge]), lambda row: ([], [row]))
def keep_measurement(
    *,
    item: ChargeStack,
    method: str,
    values: Sequence[float],
    pairs: Pairs = (),
    dried_mm: Sequence[float] = (),
    wood_temperature_c: float | None = None,
    notes: Sequence[str] = (),
    by: Any,
    at: datetime,
) -> FinalMeasurement:
    """Keep the boards' means, %, as a reading of the stack, and beside it core and shell of some boards and
    thicknesses, mm. Raises ImpossibleReadingError for what no wood can be, ValidationError before the kiln's start."""
    refuse_not_run(item)
    stack = item.stack
    reading = add_reading(
        stack=stack,
        method=method,
        raw=list(values),
        taken_at=at,
        wood_temperature_c=wood_temperature_c,
        extra_notes=notes,
        by=by,
    )
    corrected: list[list[float]] = []
    if pairs:
        flat = [value for pair in pairs for value in pair]
        try:
            found = outlook.correct(method, flat, _temperature_c(reading), "", stack.species)
        except ValueError as error:
            raise ImpossibleReadingError(str(error)) from error
        right = [round(value, 2) for value in found.values_pct]
        corrected = [list(pair) for pair in zip(right[::2], right[1::2], strict=True)]
    return FinalMeasurement.objects.create(
        charge=item.charge,
        reading=reading,
        pairs_raw=[list(pair) for pair in pairs],
        pairs_pct=corrected,
        dried_mm=list(dried_mm),
    )


def _temperature_c(reading: Reading) -> float | None:
    """As the reading itself took it: what was measured, else for pins the usual one of the place."""
    if reading.wood_temperature_c is not None or reading.method != Method.PINS:
        return reading.wood_temperature_c
    return outlook.usual_temperature_c(reading.stack.place, timezone.localdate(reading.taken_at))


def refuse_not_run(item: ChargeStack) -> None:
    if item.charge.started_at is None or not item.loaded_at:
        raise ValidationError(_("This stack has not been in the running kiln yet. Load it and start first."))


@transaction.atomic
@keeps("stress_tested", lambda item, **_given: Watched([item.charge]), lambda row: ([], [row]))
def keep_stress_test(
    *, item: ChargeStack, kind: str, sizes: Mapping[str, Any], by: Any, at: datetime, key: UUID | None = None
) -> StressTest:
    """`sizes`: prong_mm, fresh_mm and maybe rested_mm of prongs; gap_mm and width_mm of a slice; `note`. `key`: of the
    form that told it, by which a phone names it that has not heard its number yet."""
    refuse_not_run(item)
    rested = {"rested_at": at} if sizes.get("rested_mm") is not None else {}
    return StressTest.objects.create(
        charge=item.charge, stack=item.stack, kind=kind, at=at, made_by=by, key=key, **rested, **sizes
    )


@transaction.atomic
@keeps("looked_again", lambda test, **_given: of_test(test))
def look_again(*, test: StressTest, rested_mm: float, by: Any, at: datetime, is_right: bool = False) -> StressTest:
    """The second look at a prong section. Told twice the same, it is kept once. Raises ValidationError when the test
    was taken out, or was looked at with another figure (unless somebody has said that this one `is_right`)."""
    test = StressTest.objects.select_for_update(of=("self",)).get(pk=test.pk)
    if test.voided_at or test.kind != StressTest.Kind.PRONG:
        raise ValidationError(_("This test was taken out: it no longer counts."))
    if test.rested_mm == rested_mm:
        return test
    if not test.is_waiting and not is_right:
        words = {"size": mm(test.rested_mm)}
        raise ValidationError(_("This test has been looked at already: %(size)s apart.") % words, code=LOOKED_AT)
    test.rested_mm, test.rested_at = rested_mm, at
    test.save(update_fields=["rested_mm", "rested_at"])
    return test


@transaction.atomic
@keeps("test_voided", lambda test, **_given: of_test(test))
def void_stress_test(*, test: StressTest, by: Any, at: datetime) -> None:
    """It was a mistake: it no longer counts."""
    StressTest.objects.filter(pk=test.pk, voided_at=None).update(voided_at=at, voided_by=by)


@transaction.atomic
@keeps("degrade_noted", lambda item, **_given: Watched([item.charge]), lambda rows: ([], rows))
def keep_degrade(
    *, item: ChargeStack, shares: Mapping[str, float], by_volume: bool, by: Any, at: datetime
) -> list[Degrade]:
    """`shares`: % by kind of defect; a kind that is not in it stays as it was noted before."""
    refuse_not_run(item)
    rows = [
        Degrade(
            charge=item.charge, stack=item.stack, kind=kind, share_pct=share, by_volume=by_volume, at=at, made_by=by
        )
        for kind, share in shares.items()
    ]
    return Degrade.objects.bulk_create(rows)


@transaction.atomic
@keeps("costs_kept", lambda charge, **_given: Watched([charge], [RunCosts.objects.filter(charge=charge)]))
def keep_costs(*, charge: Charge, figures: Mapping[str, float | None], by: Any) -> RunCosts:
    costs, _made = RunCosts.objects.update_or_create(charge=charge, defaults={**figures, "changed_by": by})
    return costs


@transaction.atomic
@keeps("lesson_taken", lambda kiln, **_given: _of_lessons(kiln), lambda lesson: ([], [lesson]))
def take_over(
    *, kiln: Kiln, quantity: str, value: float, band: tuple[float, float], runs: int, by: Any, at: datetime
) -> KilnLesson:
    """A person accepts what a kiln's runs taught: the kiln's own figure becomes it, and plans reckon with it."""
    kiln = Kiln.objects.select_for_update(of=("self",)).get(pk=kiln.pk)
    lesson = KilnLesson.objects.create(
        kiln=kiln,
        quantity=quantity,
        before=getattr(kiln, quantity),
        value=value,
        low=band[0],
        high=band[1],
        runs=runs,
        at=at,
        by=by,
    )
    setattr(kiln, quantity, value)
    kiln.save(update_fields=[quantity])
    return lesson


def of_test(test: StressTest) -> Watched:
    return Watched([test.charge], [StressTest.objects.filter(pk=test.pk)])


def _of_lessons(kiln: Kiln) -> Watched:
    return Watched([kiln], [Kiln.objects.filter(pk=kiln.pk)])
