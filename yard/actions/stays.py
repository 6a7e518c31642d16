"""Where stacks stood when, by their stays."""

from collections.abc import Sequence
from datetime import datetime

from yard.models import Place, Stack, Stay


def place_at(stack: Stack, at: datetime) -> Place:
    """Where the stack stood at a time."""
    return place_in(stack, stays_of([stack])[stack.pk], at)


def stays_of(stacks: Sequence[Stack]) -> dict[int, list[Stay]]:
    """Each stack's stays in their order, in one query."""
    found: dict[int, list[Stay]] = {stack.pk: [] for stack in stacks}
    for stay in Stay.objects.filter(stack__in=stacks).select_related("place"):
        found[stay.stack_id].append(stay)
    return found


def place_in(stack: Stack, stays: Sequence[Stay], at: datetime) -> Place:
    """By its stays, the first of which reaches back to its beginning; where it stands now after the last of them."""
    if not any(stay.since > at for stay in stays[1:]):
        return stack.place
    return [stay for stay in stays if stay.since <= at or stay is stays[0]][-1].place
