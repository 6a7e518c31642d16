"""One stack: what it is at, when it will be ready, what to mind, and what can be done with it."""

from datetime import date, timedelta
from typing import Any

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from yard import outlook
from yard.models import Event, Photo, Reading, Stack
from yard.models.stack import READING_DUE_DAYS
from yard.models.tagcode import normalise
from yard.views.standing import any_stack
from yard.views.yard import listed

LATEST = 12
NOTES = 3
RESTS_ON = ("basic_density_kg_m3", "shrinkage_radial_pct", "shrinkage_tangential_pct")


@require_safe
def stack(request: HttpRequest, code: str) -> HttpResponse:
    row = _stacks().filter(code=normalise(code)).first()
    if row is None:
        return redirect("stack", code=any_stack(code).code)
    today = timezone.localdate()
    if outlook.standing(row, today).state == outlook.State.UNKNOWN:
        outlook.refresh([row])
        row = get_object_or_404(_stacks(), pk=row.pk)
    context = _context(row, today)
    if "beside" in request.GET:  # asked for by wide screens alone (static/js/beside.js)
        context["beside"] = listed(request)
    return render(request, "yard/stack.html", context)


def _stacks() -> Any:
    readings = Reading.objects.select_related("made_by", "voided_by", "board")
    photos = Photo.objects.shown().order_by("-added_at")
    notes = Prefetch("events", Event.objects.filter(kind=Event.Kind.NOTED).select_related("by"), to_attr="notes")
    related = Prefetch("readings", readings), Prefetch("photos", photos), notes, "boards", "sample_boards", "parts"
    stacks = Stack.objects.for_lists().select_related("split_from", "joined_into")
    return outlook.with_last_reading(stacks).prefetch_related(*related)


def _context(row: Any, today: date) -> dict[str, Any]:
    standing = outlook.standing(row, today)
    readings = list(row.readings.all())
    under_way = standing.is_under_way
    unexpected = set(row.outlook.unexpected) if standing.outlook else set()
    valid = [reading for reading in readings if reading.voided_at is None]
    return {
        "stack": row,
        "standing": standing,
        "today": today,
        "air": outlook.place_emc(row.place),
        "aim_pct": row.kiln_entry_pct if standing.is_under_way else row.target_pct,
        "reachable_pct": standing.outlook.reachable_pct if standing.outlook and standing.is_under_way else None,
        "watches": outlook.watches(row, today, outlook.weather_lately([row.place_id], today)) if under_way else [],
        "weather_until": _weather_until(row) if under_way and standing.outlook else None,
        "notes": row.notes[:NOTES],
        "readings": readings[:LATEST],
        "has_more_readings": len(readings) > LATEST,
        "drawn": valid if row.kiln_dried_on is None else [],
        "unexpected": unexpected,
        "asked_about": [one for one in valid if one.pk in unexpected and _is_fresh(one, today)][:1],
        "figures": _figures(row, standing),
        "dry": outlook.dry_size(row),
        "reserved": row.reservations.filter(line__need__met_at=None).select_related("line__need"),
        "is_recalled": any(row.species.sources.get(name, {}).get("from_memory") for name in RESTS_ON),
    }


def _weather_until(row: Stack) -> date | None:
    """The last day whose weather is known where it stands, if the stack was there to meet any."""
    until = outlook.weather_until(row.place)
    return until if until and until >= row.cut_on else None


def _is_fresh(reading: Reading, today: date) -> bool:
    """Still worth a question; later it is only marked in the list."""
    return today - timezone.localtime(reading.taken_at).date() < timedelta(days=READING_DUE_DAYS)


def _figures(row: Stack, standing: outlook.Standing) -> outlook.TallyFigures:
    lines = [(line.length_mm, line.width_mm, line.count) for line in row.lines.all()]
    return outlook.tally_figures(
        row.species,
        row.thickness_mm,
        row.wood_part,
        lines,
        row.sticker_mm,
        standing.moisture_pct,
        to_pct=row.target_pct,
        stack_width_mm=row.pack_width_mm,
        stack_length_mm=row.pack_length_mm,
    )
