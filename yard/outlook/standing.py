"""How a stack stands on a day: its state, its moisture, and how old that knowledge is. Derived, never stored."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils import timezone

from yard.models import Outlook, Place, Reading, Species, Stack
from yard.models.stack import READING_DUE_DAYS


class State(StrEnum):
    """READY at the kiln's entry moisture; DRYING with a date; LATE without one inside the forecast's horizon;
    NEVER where the place can't bring it there; UNKNOWN without a forecast; IN_KILN; DRIED in one; GONE (used, joined).
    """

    READY = "ready"
    DRYING = "drying"
    LATE = "late"
    NEVER = "never"
    UNKNOWN = "unknown"
    IN_KILN = "in_kiln"
    DRIED = "dried"
    GONE = "gone"


UNDER_WAY = {State.READY, State.DRYING, State.LATE, State.NEVER, State.UNKNOWN}


@dataclass(frozen=True, slots=True)
class Standing:
    """Moisture in %, `low_pct` and `high_pct` its P10 and P90; None where nothing is known of it.

    `read_at` is when the last valid reading was taken; `is_due` says that it is time for another.
    """

    stack: Stack
    state: State
    moisture_pct: float | None
    low_pct: float | None
    high_pct: float | None
    read_at: datetime | None
    is_due: bool

    @property
    def outlook(self) -> Outlook | None:
        return getattr(self.stack, "outlook", None)

    @property
    def is_under_way(self) -> bool:
        return self.state in UNDER_WAY


def with_last_reading(stacks: Any) -> QuerySet[Stack]:
    """Annotate a queryset of stacks with `last_read_at` and `last_read_pct`, for `standing`."""
    last = Reading.objects.valid().filter(stack=OuterRef("pk")).order_by("-taken_at", "-pk")
    last_at, last_pct = Subquery(last.values("taken_at")[:1]), Subquery(last.values("moisture_pct")[:1])
    return stacks.annotate(last_read_at=last_at, last_read_pct=last_pct)


def lightly(stacks: Any) -> list[Stack]:
    """Very many stacks for `standing`, in a query a table: all of a species or a place share one row of it, and of
    their forecasts only the curve comes along, which is read when it is asked for."""
    rows = list(with_last_reading(stacks))
    woods = Species.objects.in_bulk({one.species_id for one in rows})
    places = Place.objects.in_bulk({one.place_id for one in rows})
    kept = Outlook.objects.filter(stack__in=stacks.order_by().values("pk")).with_curve_as_text()
    by_stack = {one.stack_id: one for one in kept}
    for one in rows:
        one.species, one.place = woods[one.species_id], places[one.place_id]
        one._state.fields_cache["outlook"] = by_stack.get(one.pk)  # None, too: or it is asked for
    return rows


def standings(keys: Iterable[int], on: date) -> dict[int, Standing]:
    """How a page's few stacks stand, by key, with all that a row of a list shows."""
    rows = with_last_reading(Stack.objects.filter(pk__in=set(keys)).for_lists())
    return {stack.pk: standing(stack, on) for stack in rows}


def standing(stack: Stack, on: date) -> Standing:
    """How a stack out of `with_last_reading(Stack.objects.for_lists())` stands on a day, without a query."""
    read_at: datetime | None = getattr(stack, "last_read_at", None)
    state = state_of(stack, on)
    moisture, low, high = _moisture(stack, state, on, read_at)
    due = state in UNDER_WAY and _is_due(stack, read_at, on)
    return Standing(stack, state, moisture, low, high, read_at, due)


def state_of(stack: Stack, on: date) -> State:
    """Of a stack with its place and its outlook at hand."""
    if not stack.is_standing:
        return State.GONE
    if stack.place.is_kiln:
        return State.IN_KILN
    if stack.kiln_dried_on:
        return State.DRIED
    outlook: Outlook | None = getattr(stack, "outlook", None)
    if outlook is None:
        return State.UNKNOWN
    if outlook.ready_p50 is not None and outlook.ready_p50 <= on:
        return State.READY
    if outlook.never:
        return State.NEVER
    return State.DRYING if outlook.ready_p50 else State.LATE


def _moisture(
    stack: Stack, state: State, on: date, read_at: datetime | None
) -> tuple[float | None, float | None, float | None]:
    """By the forecast under way; a stack dried in the kiln has what was read since."""
    if state in UNDER_WAY - {State.UNKNOWN}:
        low, middle, high = stack.outlook.moisture_on(on)
        return middle, low, high
    if state == State.DRIED and read_at and stack.kiln_dried_on and day_of(read_at) >= stack.kiln_dried_on:
        return getattr(stack, "last_read_pct", None), None, None
    return None, None, None


def _is_due(stack: Stack, read_at: datetime | None, on: date) -> bool:
    last = day_of(read_at) if read_at else stack.cut_on
    return last <= on - timedelta(days=READING_DUE_DAYS)


def day_of(moment: datetime) -> date:
    return timezone.localtime(moment).date()
