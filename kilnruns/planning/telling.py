"""What a charge tells beside its figures: the needs it serves, and what to saw where something is missing."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from drying.proposal import Missing, Plan, PlannedCharge
from kilnruns.planning.due import Due
from kilnruns.planning.sawing import Sawing
from yard.models import Stack


def needs_of(one: PlannedCharge, due: Mapping[str, Due], first_day: date) -> list[dict[str, Any]]:
    """The needs that its stacks serve, by the day they are wanted, and how many days before that the run is done."""
    found = {due[code].need.pk: due[code].need for code in one.codes if code in due}
    done = first_day + timedelta(days=one.end_day)
    return [
        {
            "need": need.pk,
            "name": need.name,
            "wanted_by": need.wanted_by.isoformat(),
            "days_before": (need.wanted_by - done).days,
        }
        for need in sorted(found.values(), key=lambda need: (need.wanted_by, need.pk))
    ]


def sawing_of(
    one: Missing, answer: Plan, stacks: Mapping[str, Stack], groups: Mapping[str, str], sawing: Sawing
) -> dict[str, Any]:
    """What to saw for it and by when; where that is past, the next charge of its group that it would be ready for."""
    told = sawing.told(_alike(one, answer, stacks, groups), sawing.today + timedelta(days=one.by_day))
    if told and told["saw_by"] is None and told["ready_on"]:
        ready = (date.fromisoformat(told["ready_on"]) - sawing.today).days
        later = [charge for charge in answer.charges if charge.group == one.group and charge.start_day >= ready]
        if later:
            told["next_kiln"] = int(later[0].kiln)
            told["next_on"] = (sawing.today + timedelta(days=later[0].start_day)).isoformat()
    return told


def _alike(one: Missing, answer: Plan, stacks: Mapping[str, Stack], groups: Mapping[str, str]) -> Iterable[Stack]:
    """The charge's own stacks, or those of the group that lacks more."""
    if one.charge is not None:
        return [stacks[code] for code in answer.charges[one.charge].codes]
    inside = [stacks[code] for code, group in groups.items() if group == one.group]
    return [stack for stack in inside if one.thinnest_mm - 0.1 <= stack.thickness_mm <= one.thickest_mm + 0.1]
