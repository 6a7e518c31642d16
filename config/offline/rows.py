"""What a phone keeps of a stack: one row, without what is empty."""

from datetime import date
from typing import Any

from django.db.models import Max, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.utils import timezone

from config.offline.cursor import Cursor
from yard import outlook
from yard.measures.told import m3, thick
from yard.models import Event, Outlook, Reading, SampleBoard, Stack

DAYS_AHEAD = (0, 7, 14, 28, 56, 112, 224)
"""Days after the copy was made on which the forecast is told; between them the phone draws a straight line."""
NOTES = 3
PAGE = 2000
"""So many stacks at once of a phone's first copy, so that no answer grows with the yard."""


def standing_after(key: int) -> QuerySet[Stack]:
    """The next page of all that stand."""
    return Stack.objects.standing().filter(pk__gt=key).order_by("pk")[:PAGE]


def changed(since: Cursor) -> QuerySet[Stack]:
    """The stacks of which something changed, gone ones among them."""
    told = Event.objects.filter(since.events.unseen()).values("stack")
    forecast = Outlook.objects.filter(made_at__gte=since.since).values("stack")
    sampled = SampleBoard.objects.filter(since.samples.unseen()).values("stack")
    return Stack.objects.filter(Q(pk__in=told) | Q(pk__in=forecast) | Q(pk__in=sampled))


def with_all(stacks: Any) -> Any:
    """With all that `stack_row` shows, in a fixed number of queries."""
    method = Reading.objects.valid().filter(stack=OuterRef("pk")).order_by("-taken_at", "-pk").values("method")[:1]
    latest = Event.objects.filter(stack=OuterRef("pk")).order_by().values("stack").annotate(top=Max("pk")).values("top")
    noted = Prefetch("events", Event.objects.filter(kind=Event.Kind.NOTED).order_by("-pk"), to_attr="noted")
    found = outlook.with_last_reading(stacks.select_related("outlook").defer("outlook__chance", "outlook__unexpected"))
    return found.prefetch_related("lines", "sample_boards", noted).annotate(
        last_read_method=Subquery(method), version=Subquery(latest)
    )


def stack_row(stack: Any, today: date) -> dict[str, Any]:
    """Species and place by key, sizes in words in the reader's units, moistures in %, days as ISO dates."""
    row = {
        "code": stack.code,
        "species": stack.species_id,
        "size": thick(stack.thickness_mm),
        "place": stack.place_id,
        "sawn": stack.cut_on.isoformat(),
        "part": stack.wood_part,
        "boards": stack.board_count,
        "m3": m3(stack.volume_m3),
        "entry": stack.kiln_entry_pct,
        "target": stack.target_pct,
        "dried": _iso(stack.kiln_dried_on),
        "for": stack.set_aside_for,
        "note": stack.note,
        "notes": [[_iso(timezone.localtime(e.at).date()), e.details.get("text", "")] for e in stack.noted[:NOTES]],
        "version": str(stack.version or ""),
        "samples": [_sample(board) for board in stack.sample_boards.all()],
        "read": _last_reading(stack),
        "forecast": _forecast(getattr(stack, "outlook", None), today),
    }
    return {name: value for name, value in row.items() if value not in (None, "", [])}


def _sample(board: SampleBoard) -> list[Any]:
    """Key, name, oven-dry mass in g; and of a provisional one what its sections weighed wet."""
    wet = [[mass for mass, _dry in board.section_masses_g]] if board.provisional else []
    return [board.pk, board.label, round(board.oven_dry_mass_g, 1), *wet]


def _last_reading(stack: Any) -> list[Any] | None:
    """When, moisture, method."""
    if stack.last_read_at is None:
        return None
    return [stack.last_read_at.isoformat(timespec="minutes"), stack.last_read_pct, stack.last_read_method]


def _forecast(kept: Any, today: date) -> dict[str, Any] | None:
    """The days after `from` with P10, P50 and P90 on each, when it is ready, and what the air allows."""
    if kept is None:
        return None
    curve = [kept.moisture_on(date.fromordinal(today.toordinal() + ahead)) for ahead in DAYS_AHEAD]
    found = {
        "of": _iso(kept.as_of),
        "from": today.isoformat(),
        "pct": [[round(value, 1) for value in point] for point in curve],
        "ready": [_iso(day) for day in (kept.ready_p10, kept.ready_p50, kept.ready_p90)],
        "reach": round(kept.reachable_pct, 1),
    }
    return {**found, "never": True} if kept.never else found


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None
