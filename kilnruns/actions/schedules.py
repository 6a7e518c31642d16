"""A charge's own schedule: written anew, put back, kept for the kiln's next charges of that wood."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from kilnruns import advice
from kilnruns.models import Charge, Kiln, KilnSchedule, ScheduleChange
from yard.changes import Watched, keeps

Rows = Sequence[dict[str, Any]]


@transaction.atomic
@keeps("schedule_changed", lambda charge, **_given: _of_schedule(charge), lambda change: ([], [change]))
def rewrite(
    *, charge: Charge, steps: Rows, closing: dict[str, float], harder: Rows = (), by: Any, at: datetime
) -> ScheduleChange:
    """Keep other steps for this charge. Before its start the run is predicted anew; after it the forecast that the run
    is held against stays. Raises ValidationError once it is unloaded or called off."""
    charge = _open(charge)
    charge.course = advice.rewritten(charge.course, list(steps), closing)
    return _keep(charge, harder, False, by, at)


@transaction.atomic
@keeps("schedule_restored", lambda charge, **_given: _of_schedule(charge), lambda change: ([], [change]))
def restore(*, charge: Charge, by: Any, at: datetime) -> ScheduleChange:
    """The proposed steps again. Raises ValidationError where they were never changed."""
    charge = _open(charge)
    proposed = charge.course.get("proposed")
    if not proposed:
        raise ValidationError(_("Its schedule is the proposed one already."))
    charge.course = {**charge.course, "steps": proposed["steps"], **proposed["closing"]}
    del charge.course["proposed"]
    return _keep(charge, (), True, by, at)


def _open(charge: Charge) -> Charge:
    found = Charge.objects.select_for_update(of=("self",)).select_related("kiln__place").get(pk=charge.pk)
    if found.unloaded_at or found.called_off_at:
        raise ValidationError(_("This charge is done; its schedule stays as it was run."))
    return found


def _keep(charge: Charge, harder: Rows, restored: bool, by: Any, at: datetime) -> ScheduleChange:
    if charge.started_at is None:
        charge.course["run"] = advice.predicted_of(charge)
    charge.save(update_fields=["course"])
    return ScheduleChange.objects.create(
        charge=charge,
        at=at,
        by=by,
        steps=charge.course["steps"],
        closing=advice.closing_of(charge.course),
        harder=list(harder),
        restored=restored,
    )


@transaction.atomic
@keeps("schedule_kept", lambda charge, **_given: _of_kiln(charge.kiln))
def keep_for_kiln(*, charge: Charge, by: Any, at: datetime) -> KilnSchedule:
    """The charge's steps for the next charges of its kiln with this wood; what was kept for it before is dropped.

    Raises ValidationError for a charge of several woods, whose steps are a compromise, and for one by the proposed
    steps.
    """
    woods = {(item.stack.species_id, item.stack.thickness_mm) for item in charge.stacks.select_related("stack")}
    if len({species for species, _thickness in woods}) != 1:
        raise ValidationError(_("Several woods are in it: its steps are the mildest of them all and suit none alone."))
    if not charge.course.get("proposed"):
        raise ValidationError(_("Its steps are the proposed ones; the next charge gets them anyway."))
    species, thickness = max(woods)
    charge.kiln.own_schedules.kept().filter(species=species, thickness_mm=thickness).update(dropped_at=at)
    return KilnSchedule.objects.create(
        kiln=charge.kiln,
        species_id=species,
        thickness_mm=thickness,
        steps=charge.course["steps"],
        from_charge=charge,
        made_at=at,
        made_by=by,
    )


@transaction.atomic
@keeps("schedule_dropped", lambda schedule, **_given: _of_kiln(schedule.kiln))
def drop(*, schedule: KilnSchedule, by: Any, at: datetime) -> None:
    """The kiln's next charges of that wood start from the published schedule again."""
    schedule.dropped_at = at
    schedule.save(update_fields=["dropped_at"])


def _of_schedule(charge: Charge) -> Watched:
    held: dict[str, tuple[str, ...]] = {"kilnruns.charge": ("started_at", "unloaded_at", "called_off_at")}
    return Watched([charge], [Charge.objects.filter(pk=charge.pk)], held)


def _of_kiln(kiln: Kiln) -> Watched:
    return Watched([kiln], [KilnSchedule.objects.filter(kiln=kiln)])
