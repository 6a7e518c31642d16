"""What a plan was made from, in a few figures, so that later it can be said what has changed since."""

from datetime import date
from typing import Any

from kilnruns.models import Charge, DayOff, Fixing, Kiln, PlanningRules
from kilnruns.planning.groups import Groups
from yard.models import MillFigures, Need, Stack

KILN_FIELDS = (
    "loading", "length_mm", "width_mm", "height_mm", "sticker_mm", "longest_board_mm", "largest_air_m3",
    "blow_length_mm", "max_temperature_c",
    "heater_kw", "heater_phases", "humidifies", "may_split", "cost_per_day", "price_per_kwh", "trusted",
    "wall_u_w_m2k", "leak_per_h",
)  # fmt: skip


def basis(careful: bool) -> dict[str, Any]:
    """The yard as a plan sees it, by code or key: fourteen queries, whatever its size.

    `stacks`: ready day, volume in m³, thickness in mm and target in % of each that may go into a kiln; `kilns`: their
    figures and closures; `charges` ahead: kiln, start, days; `needs`: their figures; `fixings` that are not
    lifted; `rules`: the mill's figures, loading days, days off and moved species.
    """
    return {
        "stacks": _stacks(careful),
        "kilns": _kilns(),
        "charges": {str(one.pk): [one.kiln_id, _iso(one.start_on), one.days] for one in Charge.objects.ahead()},
        "needs": {
            str(need.pk): [_lines(need), need.importance, need.target_pct, _iso(need.wanted_by)]
            for need in Need.objects.open().with_lines()
        },
        "fixings": {
            str(one.pk): [one.kind, one.stack_id, one.kiln_id, _iso(one.start_on), _iso(one.until), one.other_id]
            for one in Fixing.objects.filter(lifted_at=None)
        },
        "rules": _rules(),
    }


def _lines(need: Need) -> list[list[Any]]:
    """Woods, thickness, volume and the stacks reserved, by line."""
    return [
        [
            sorted(one.pk for one in line.species.all()),
            line.thickness_mm,
            round(line.volume_m3, 4),
            sorted([one.stack_id, one.volume_m3] for one in line.reservations.all()),
        ]
        for line in need.lines.all()
    ]


def free_stacks() -> Any:
    """Drying stacks with a forecast that are in no charge ahead."""
    busy = Charge.objects.ahead().filter(stacks__isnull=False).values("stacks__stack")
    return Stack.objects.drying().filter(outlook__isnull=False).exclude(pk__in=busy)


def _stacks(careful: bool) -> dict[str, list[Any]]:
    ready = "outlook__ready_p90" if careful else "outlook__ready_p50"
    rows = free_stacks().order_by("code").with_green_m3()
    values = rows.values_list("code", ready, "green_m3", "thickness_mm", "target_pct")
    return {
        code: [_iso(day), round(green_m3, 4), thickness, target] for code, day, green_m3, thickness, target in values
    }


def _kilns() -> dict[str, list[Any]]:
    kilns = Kiln.objects.filter(retired=False).order_by("pk").prefetch_related("closures", "own_schedules")
    return {
        str(kiln.pk): [
            *(getattr(kiln, name) for name in KILN_FIELDS),
            sorted([_iso(one.first_day), _iso(one.last_day)] for one in kiln.closures.all()),
            sorted(one.pk for one in kiln.own_schedules.all() if one.dropped_at is None),
        ]
        for kiln in kilns
    }


def _rules() -> dict[str, Any]:
    rules = PlanningRules.current()
    off = DayOff.objects.order_by("first_day", "last_day").values_list("first_day", "last_day")
    return {
        **rules.figures,
        "loading_days": sorted(rules.loading_days),
        "off": [[_iso(first), _iso(last)] for first, last in off],
        "groups": Groups.read().as_basis(),
        **_cut_yield(),
    }


def _cut_yield() -> dict[str, float]:
    """Only where it is not the usual one: plans of old did not keep it, and are no worse for that."""
    cut_yield = MillFigures.current().cut_yield
    return {} if cut_yield == MillFigures().cut_yield else {"cut_yield": cut_yield}


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None
