"""The small parts of the copy: sent whole, and only when they changed."""

import hashlib
import json
from datetime import date
from typing import Any

from django.utils import timezone

from config.offline.barred import barred
from config.offline.charges import charge_row, open_charges
from config.offline.rows import DAYS_AHEAD
from yard import outlook
from yard.fields.measured import Measured
from yard.fields.naming import in_order
from yard.forms.reading import FORMS
from yard.forms.stack import OFFERED, StackForm, offered
from yard.measures.quantities import TEMPERATURE
from yard.measures.told import figure, metres, mm
from yard.models import Board, Method, Place, Reading, Species, Stack, Tag
from yard.models.stack import READING_DUE_DAYS


def parts(user: Any, today: date) -> dict[str, Any]:
    """By name. Fixed number of queries."""
    woods = sorted(Species.objects.all(), key=in_order)
    return {
        "species": [[one.pk, one.name] for one in woods],
        "tools": outlook.tools.phone_tables(woods),
        "places": [_place(one, today) for one in Place.objects.all()],
        "boards": _boards(),
        "replaced": _replaced(),
        "joined": list(map(list, Stack.objects.exclude(joined_into=None).values_list("code", "joined_into__code"))),
        "charges": [charge_row(one) for one in open_charges()],
        "offered": _offered(today),
        "mine": _mine(user),
        "barred": barred(user),
        "rules": {"dueDays": READING_DUE_DAYS, "daysAhead": DAYS_AHEAD, "offered": OFFERED},
    }


def digest(part: Any) -> str:
    return hashlib.sha256(json.dumps(part, sort_keys=True).encode()).hexdigest()[:10]


def _place(place: Place, today: date) -> dict[str, Any]:
    """`usual` is the season's temperature in °C, for a reading without one."""
    usual = outlook.usual_temperature_c(place, today)
    row = {"id": place.pk, "name": place.name, "kind": place.kind, "open": not place.given_up}
    return row if usual is None else {**row, "usual": figure(usual, 0, TEMPERATURE)}


def _boards() -> list[dict[str, Any]]:
    standing = Board.objects.filter(stack__used_at=None, stack__joined_into=None).select_related("stack")
    return [
        {
            "code": b.code,
            "id": b.pk,
            "stack": b.stack.code,
            "size": board_size(b),
            "note": b.note,
        }
        for b in standing.only("code", "length_mm", "width_mm", "note", "stack__code")
    ]


def board_size(board: Board) -> str:
    return f"{metres(board.length_mm)} × {mm(board.width_mm)}"


def _replaced() -> list[list[Any]]:
    """Old code, new code, since when."""
    rows = Tag.objects.exclude(replaced_by=None).values_list("code", "replaced_by__code", "replaced_at")
    return [[old, new, timezone.localtime(at).date().isoformat() if at else ""] for old, new, at in rows]


def _offered(today: date) -> dict[str, Any]:
    """First values of a new stack, as the form names its fields and its reader types them; the day of sawing is the
    phone's own affair."""
    found = {name: value for name, value in offered(today).items() if value is not None}
    found.pop("cut_on", None)
    return {name: _as_typed(StackForm, name, value) for name, value in found.items()}


def _mine(user: Any) -> dict[str, Any]:
    """How this person read last and when, to be offered for the next reading."""
    names = {"method": "method", "meter": "meter_set_to", "temperature": "wood_temperature_c"}
    last = Reading.objects.filter(made_by=user).order_by("-pk").values("taken_at", *names.values()).first()
    if last is None:
        return {}
    last["wood_temperature_c"] = _as_typed(FORMS[Method.PINS], "wood_temperature_c", last["wood_temperature_c"])
    return {"at": last["taken_at"].isoformat(timespec="minutes")} | {name: last[field] for name, field in names.items()}


def _as_typed(form: Any, name: str, value: Any) -> Any:
    """A figure as its field shows it: in the reader's units, with their decimal sign."""
    field = form.base_fields.get(name)
    return field.prepare_value(value) if isinstance(field, Measured) else value
