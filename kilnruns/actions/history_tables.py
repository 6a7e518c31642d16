"""How rows about kilns, charges and plans are told in histories, and whose histories there are."""

from typing import Any

from django.urls import reverse
from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from kilnruns.models import Charge, Kiln
from yard.actions.history_tables import cubic_metres, share
from yard.changes.tables import Subject, Table, register_subjects, register_tables
from yard.measures.told import celsius
from yard.models.tagcode import shown

OF_CHARGE = frozenset({"charge_id"})
OF_KILN = frozenset({"kiln_id"})


def register_all() -> None:
    register_tables(_TABLES, {"kilnruns.schedulechange"})
    register_subjects(_SUBJECTS)


def _weekdays(days: Any) -> str:
    return ", ".join(str(WEEKDAYS[day]) for day in days)


def _steps(steps: Any) -> str:
    """Each step by the moisture it begins at and its air."""
    return "; ".join(map(_step, steps or ()))


def _step(step: dict[str, Any]) -> str:
    words = {"dry": celsius(step["dry_bulb_c"]), "wet": celsius(step["wet_bulb_c"])}
    if step["from_pct"] is None:
        return _("%(dry)s, wet bulb %(wet)s") % words
    return _("from %(at)s %%: %(dry)s, wet bulb %(wet)s") % (words | {"at": f"{step['from_pct']:.0f}"})


def _course(course: Any) -> str:
    return _steps((course or {}).get("steps"))


def _charge(charge: Any) -> str:
    return f"{charge.kiln}, {date_format(charge.start_on, 'j F Y')}"


def _stack(row: Any) -> str:
    return shown(row.stack.code)


_TABLES = {
    "kilnruns.kiln": Table(lazy("kiln"), frozenset({"place_id"})),
    "kilnruns.closure": Table(lazy("days kept free"), OF_KILN),
    "kilnruns.kilnlesson": Table(lazy("taken over from its runs"), OF_KILN),
    "kilnruns.kilnschedule": Table(
        lazy("own steps"),
        OF_KILN | {"from_charge_id"},
        {"dropped_at": lazy("dropped")},
        {"steps": _steps},
    ),
    "kilnruns.planningrules": Table(
        lazy("rules of planning"),
        words={
            "thinnest_to_thickest": lazy("thinnest board, of the thickest"),
            "moisture_window_pct": lazy("moisture apart at the start, at most, %"),
            "smallest_fill": lazy("a charge fills the kiln to at least"),
            "smallest_part": lazy("part of a split stack, at least"),
            "loading_days": lazy("we load on"),
        },
        shown={
            "thinnest_to_thickest": share,
            "smallest_fill": share,
            "smallest_part": share,
            "loading_days": _weekdays,
        },
    ),
    "kilnruns.sensordevice": Table(
        lazy("sensor"),
        frozenset({"kiln_id"}),
        {"shut_out_at": lazy("shut out")},
        named=str,
        secret=frozenset(
            {"secret_hash", "key", "kept", "doubled", "late", "ahead", "out_of_range", "garbled", "heard_at"}
        ),
    ),
    "kilnruns.paper": Table(
        lazy("paper"),
        frozenset({"charge_id", "search", "facts", "kind", "number", "withdrawn_by_id"}),
        {"withdrawn_at": lazy("withdrawn"), "withdrawn_why": lazy("reason")},
        named=str,
        keys_only=True,
    ),
    "kilnruns.dayoff": Table(lazy("days off")),
    "kilnruns.owngroup": Table(lazy("drying group")),
    "kilnruns.groupmember": Table(
        lazy("species in a group"), words={"book": lazy("group of the book"), "own_id": lazy("own group")}
    ),
    "kilnruns.charge": Table(
        lazy("charge"),
        frozenset({"proposal_id", "layout", "fill_bound", "of_attainable", "days_low", "days_high", "energy_kwh"})
        | {"water_kg", "cost", "fill"},
        {
            "course": lazy("steps"),
            "volume_m3": lazy("volume, m³"),
            "started_at": lazy("started"),
            "unloaded_at": lazy("unloaded"),
            "called_off_at": lazy("called off"),
        },
        {"course": _course, "volume_m3": cubic_metres},
    ),
    "kilnruns.chargestack": Table(
        lazy("stack"),
        OF_CHARGE | {"loaded_by_id", "unloaded_by_id"},
        {"volume_m3": lazy("volume, m³"), "loaded_at": lazy("checked in"), "unloaded_at": lazy("unloaded")}
        | {"pins_left": lazy("places with pins left in the wood")},
        {"volume_m3": cubic_metres},
        named=_stack,
    ),
    "kilnruns.runrecord": Table(
        lazy("run record"),
        OF_CHARGE | {"voided_by_id"},
        {"voided_at": lazy("voided"), "void_reason": lazy("reason")},
        keys_only=True,
    ),
    "kilnruns.finalmeasurement": Table(lazy("boards measured"), OF_CHARGE, keys_only=True),
    "kilnruns.reckoning": Table(lazy("what a fixing costs"), remade=True),
    "kilnruns.stresstest": Table(
        lazy("stress test"),
        OF_CHARGE | {"voided_by_id", "key"},
        {"voided_at": lazy("taken out"), "rested_at": lazy("looked at again"), "stack_id": lazy("stack")},
    ),
    "kilnruns.degrade": Table(lazy("degrade"), OF_CHARGE, {"stack_id": lazy("stack")}),
    "kilnruns.runcosts": Table(lazy("costs"), OF_CHARGE | {"changed_by_id"}),
    "kilnruns.fixing": Table(
        lazy("fixing"),
        frozenset({"cost", "counted_at", "lifted_by_id"}),
        {
            "stack_id": lazy("stack"),
            "other_id": lazy("apart from"),
            "kiln_id": lazy("kiln"),
            "start_on": lazy("start"),
            "until": lazy("until"),
            "lifted_at": lazy("lifted"),
            "kind": lazy("what is fixed"),
        },
    ),
}
_SUBJECTS = {
    "charge": Subject(Charge, _charge, lambda one: reverse("charge", args=[one.pk]), "kilns"),
    "kiln": Subject(Kiln, str, lambda one: reverse("kiln", args=[one.pk]), "kilns"),
}
