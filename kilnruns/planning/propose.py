"""A plan of the yard as it is now, with its days, figures and words: what the planner's answer means for the rows."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from drying import plan as core
from drying.kiln.runtable import FULL_LOAD
from drying.proposal import Plan, PlannedCharge, Reason
from kilnruns.models import Plan as PlanRow
from kilnruns.planning.answer import Draft, DraftCharge, DraftReason, drawn
from kilnruns.planning.case import Case, case
from kilnruns.planning.chambers import TURNAROUND_DAYS, chamber
from kilnruns.planning.durations import SPREAD
from kilnruns.planning.fixed import told
from kilnruns.planning.groups import rules
from kilnruns.planning.in_force import rebuilt
from kilnruns.planning.sawing import Sawing
from kilnruns.planning.solving import fixings_in_force, solved
from kilnruns.planning.telling import needs_of, sawing_of
from kilnruns.planning.waiting import Run, saved_by_waiting

PLAN_SECONDS = 10.0  # for a plan made while one waits for it, as the demo's


def propose(
    *,
    first_day: date,
    horizon_days: int = 56,
    careful: bool = False,
    seconds: float = PLAN_SECONDS,
    in_force: PlanRow | None = None,
    progress: core.Progress | None = None,
    given: Case | None = None,
) -> Draft:
    """Plan from the rows as they are now, or as `given` was read; near to the plan `in_force`. No writes but forecasts
    that were missing."""
    given, fixings = given or case(first_day, horizon_days, careful), fixings_in_force(first_day)
    near = rebuilt(in_force, first_day, given.lumber.values()) if in_force else None
    answer = solved(
        given,
        fixings,
        first_day=first_day,
        horizon_days=horizon_days,
        careful=careful,
        seconds=seconds,
        rules=rules(),
        in_force=near,
        progress=progress,
    )
    unmet = told(answer.unmet, fixings, first_day, given.kept_from)
    return _draft(answer, given, first_day, horizon_days, careful, unmet)


def _draft(
    answer: Plan, given: Case, first_day: date, horizon_days: int, careful: bool, unmet: list[dict[str, Any]]
) -> Draft:
    sawing = Sawing(first_day)
    charges = [_charge(number, one, answer, given, sawing) for number, one in enumerate(answer.charges)]
    return Draft(
        first_day=first_day,
        horizon_days=horizon_days,
        careful=careful,
        charges=tuple(charges),
        reasons=tuple(_reason(one, given) for one in answer.reasons),
        value=answer.value,
        bound=answer.bound,
        seconds=answer.seconds,
        cut_by_clock=answer.cut_by_clock,
        notes={
            "missing": [_missing(one, answer, given, sawing) for one in answer.missing if one.charge is None],
            "unmet": unmet,
            "unknown": list(given.unknown),
        },
        read_at=given.read_at,
        basis=dict(given.basis),
    )


def _charge(number: int, one: PlannedCharge, answer: Plan, given: Case, sawing: Sawing) -> DraftCharge:
    kiln, first_day = given.kilns[one.kiln], sawing.today
    energy = sum(_energy_kwh(share.code, share.volume_m3, one, given) for share in one.shares)
    water = sum(share.share * float(_on(given.lumber[share.code].water_kg, one)) for share in one.shares)
    wood_days = one.days - TURNAROUND_DAYS
    last_day = min(len(given.moisture[code].p50_pct) for code in one.codes) - 1
    extra: dict[str, Any] = {
        "alternatives": [_alternative(alt, first_day) for alt in answer.alternatives if alt.charge == number],
        "missing": [_missing(gap, answer, given, sawing) for gap in answer.missing if gap.charge == number],
        "driver": one.driver,
        "moisture_from_pct": one.moisture_from_pct,
        "moisture_to_pct": one.moisture_to_pct,
        "due_slack_days": one.due_slack_days,
        "space_taken": one.space_taken,
        "needs": needs_of(one, given.due, first_day),
        "waiting": saved_by_waiting(first_day, one.start_day, _later(one, given), last_day),
        "first": _is_first(one, answer, given),
        "value": sum(share.share * given.lumber[share.code].value for share in one.shares),
    }
    return DraftCharge(
        kiln=kiln.pk,
        start_on=first_day + timedelta(days=one.start_day),
        days=one.days,
        days_low=TURNAROUND_DAYS + max(int(wood_days / SPREAD), 1),
        days_high=TURNAROUND_DAYS + int(np.ceil(wood_days * SPREAD)),
        group=one.group,
        target_pct=min(given.stacks[code].target_pct for code in one.codes),
        volume_m3=one.volume_m3,
        fill=one.fill,
        fill_bound=one.fill_bound,
        of_attainable=one.of_attainable,
        energy_kwh=energy,
        water_kg=water,
        cost=one.days * kiln.cost_per_day + energy * kiln.price_per_kwh,
        layout=drawn(one.layout),
        shares=tuple(_share(share, given) for share in one.shares),
        extra=extra,
    )


def _is_first(one: PlannedCharge, answer: Plan, given: Case) -> bool:
    """Whether this is the charge that a kiln is tried with."""
    tried = any(str(known["kiln"]) == one.kiln and not known["ahead"] for known in given.unknown)
    return tried and one.start_day == min(other.start_day for other in answer.charges if other.kiln == one.kiln)


def _reason(one: Reason, given: Case) -> DraftReason:
    """A stack that could dry in a kiln, were that one known already, is told so."""
    kept_from = given.kept_from.get(one.code)
    if one.why == "no_kiln" and kept_from:
        return DraftReason(one.code, "first_charge", {"kiln": kept_from[0]})
    return DraftReason(one.code, _why(one, given), dict(one.figures))


def _later(one: PlannedCharge, given: Case) -> Callable[[int], Run]:
    """This charge, if it began on another day."""

    def run(day: int) -> Run:
        wood = [given.lumber[code] for code in one.codes]
        days = int(max(float(each.run_days[one.kiln][day]) for each in wood))
        then, kiln = replace(one, start_day=day, days=days), given.kilns[one.kiln]
        kwh = sum(_energy_kwh(share.code, share.volume_m3, then, given) for share in one.shares)
        return Run(days, kwh, days * kiln.cost_per_day + kwh * kiln.price_per_kwh)

    return run


def _why(one: Reason, given: Case) -> str:
    """The planner's word, but for a stack that no kiln takes only because its pack was not measured."""
    only_packs = not any(kiln.is_by_hand for kiln in given.kilns.values())
    unmeasured = only_packs and given.lumber[one.code].pack is None
    return "no_pack" if unmeasured and one.why in ("no_kiln", "too_large") else one.why


def _on(series: Any, one: PlannedCharge) -> Any:
    return series[min(one.start_day, len(series) - 1)]


def _energy_kwh(code: str, volume_m3: float, one: PlannedCharge, given: Case) -> float:
    """Heater and fans for a share: the table is of a full load, so the share's part of it by volume."""
    table, kiln = given.tables[code, one.kiln], given.kilns[one.kiln]
    heater = float(table.heater_kwh(_on(given.moisture[code].p50_pct, one)))
    full_m3 = FULL_LOAD * chamber(kiln).volume_m3
    fans = kiln.fan_kw * 24 * (one.days - TURNAROUND_DAYS) * volume_m3 / one.volume_m3
    return heater * volume_m3 / full_m3 + fans


def _share(share: Any, given: Case) -> tuple[str, float, float, list[list[int]]]:
    lines = given.lumber[share.code].pieces
    taken = [
        [int(length), int(width), count]
        for (length, width, _all), count in zip(lines, share.pieces, strict=True)
        if count
    ]
    return (share.code, share.share, share.volume_m3, taken)


def _alternative(one: Any, first_day: date) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "start_on": (first_day + timedelta(days=one.start_day)).isoformat(),
        "days": one.days,
        "space_taken": one.space_taken,
        "space_taken_now": one.space_taken_now,
        "codes": list(one.codes),
        "gain": one.gain,
    }


def _missing(one: Any, answer: Plan, given: Case, sawing: Sawing) -> dict[str, Any]:
    groups = {code: wood.group for code, wood in given.lumber.items()}
    return {
        "kiln": int(one.kiln),
        "group": one.group,
        "thinnest_mm": one.thinnest_mm,
        "thickest_mm": one.thickest_mm,
        "volume_m3": one.volume_m3,
        "by": (sawing.today + timedelta(days=one.by_day)).isoformat(),
        "lane_rest_mm": one.lane_rest_mm,
        "lane_from_mm": one.lane_from_mm,
        "lane_to_mm": one.lane_to_mm,
        "lanes": one.lanes,
        "lane_m3": one.lane_m3,
        **sawing_of(one, answer, given.stacks, groups, sawing),
    }
