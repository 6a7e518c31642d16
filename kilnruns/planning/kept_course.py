"""What a charge's kept course says: its schedule, how its run ends, whether it is conditioned. One place for all."""

from collections.abc import Mapping
from typing import Any

from drying.schedules import Finish, Schedule
from kilnruns.models import Charge
from kilnruns.planning.own_steps import steps_of


def schedule_of(course: Mapping[str, Any]) -> Schedule | None:
    """The charge's own copy; None where it has none."""
    steps = steps_of(course.get("steps", ()))
    if not steps:
        return None
    return Schedule(course.get("code", ""), steps, course.get("source", ""), bool(course.get("from_memory")))


def finish_of(charge: Charge) -> Finish:
    course, target = charge.course, charge.target_pct
    below = course.get("equalise_pct", target - 2)
    driest = course.get("equalise_from_driest_pct", below)
    return Finish(driest, below, target, course.get("condition_pct", target + 3))


def can_condition(charge: Charge) -> bool:
    """A kiln that can't add moisture can't take out stress; a course that says how to condition is for one that can."""
    course = charge.course
    is_told = course.get("condition_pct") is not None and "no_humidifying" not in course.get("notes", ())
    return bool(charge.kiln.humidifies and is_told)
