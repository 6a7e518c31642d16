"""Steaming in the middle of a run: where the shell has set, damp air for a short while before heating on.

Asked for where the kiln can add moisture, while it dries below STEAM_BELOW_PCT: by a stress test that was
case-hardened, or by the stress in the wood so far above `watch.ACT`. Wetter wood is not steamed: its checks would open
wider after.
All bounds here: common practice, no source.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta

from drying import air, wood
from drying.operating import Setting, wet_bulb_at
from drying.watch import ACT
from kilnruns.models import Phase, RunRecord
from kilnruns.planning.kept_course import can_condition
from kilnruns.running.inhand import RunInHand
from kilnruns.running.stress import stress_of
from kilnruns.running.thing import NextThing

STEAM_HOURS, STEAM_BELOW_PCT, STEAM_ABOVE_PCT, WET_BULB_LESS_K = 2.0, 30.0, 12.0, 2.0


def steaming(run: RunInHand, setting: Setting, now: datetime, figures: Mapping[str, float]) -> NextThing | None:
    """Codes: steam (figures "hardened" or "worst", the index, and the air of it: until it has begun, the setting is the
    set step's), steam_on until its hours are over, steam_over; None where nothing of it is to be done."""
    held = _held(run, setting)
    began = _began(run)
    if began is not None:
        until = began.at + timedelta(hours=STEAM_HOURS)
        told = {**figures, "hours": STEAM_HOURS}
        if until > now:
            return NextThing("steam_on", until, _steam(held, run.pressure_pa), figures=told)
        return NextThing("steam_over", until, setting, figures=told)
    if setting.phase != "drying" or not can_condition(run.charge):
        return None
    if not STEAM_ABOVE_PCT < figures["controlling_pct"] <= STEAM_BELOW_PCT:
        return None
    why = _why(run, now)
    if not why:
        return None
    damp = _steam(held, run.pressure_pa)
    figures = {**figures, **why, "steam_dry_c": damp.dry_bulb_c, "steam_wet_c": damp.wet_bulb_c}
    return NextThing("steam", now, held, figures={**figures, "hours": STEAM_HOURS})


def _began(run: RunInHand) -> RunRecord | None:
    """The record of a steaming that nothing else was set after."""
    last = next((one for one in reversed(run.records) if one.phase), None)
    return last if last is not None and last.phase == Phase.STEAMING else None


def _why(run: RunInHand, now: datetime) -> dict[str, float]:
    """What asks for it since it was steamed last; nothing does where nothing is known."""
    steamed = max((one.at for one in run.records if one.phase == Phase.STEAMING), default=run.charge.started_at or now)
    tests = [one for one in run.stress.tests if one.verdict and one.test.at > steamed]
    if tests:
        return {"hardened": 1.0} if run.stress.verdict == "case_hardened" else {}
    since_h = (steamed - (run.charge.started_at or now)).total_seconds() / 3600
    found = [one for _stack, one in stress_of(run, now) if one.worst > ACT and one.worst_at_h >= since_h]
    return {"worst": max(one.worst for one in found)} if found else {}


def _held(run: RunInHand, due: Setting) -> Setting:
    """The air of the step that the kiln is set to: what is due may be hotter, and comes after the steam."""
    schedule, was = run.schedule, run.set_to
    if schedule is None or was is None or not was.step or due.step is None or was.step >= due.step:
        return due
    step = schedule.steps[was.step - 1]
    humidity, emc = step.relative_humidity_pct, step.equilibrium_moisture_pct
    return Setting(due.phase, was.step, step.dry_bulb_c, wet_bulb_at(step, run.pressure_pa), humidity, emc)


def _steam(setting: Setting, pressure_pa: float) -> Setting:
    """No hotter than the step, and damp."""
    dry_c, wet_c = setting.dry_bulb_c, setting.dry_bulb_c - WET_BULB_LESS_K
    humidity = float(air.relative_humidity_pct(dry_c, wet_c, pressure_pa))
    emc = float(wood.equilibrium_moisture_pct(max(dry_c, 0.0), humidity))
    return Setting(setting.phase, setting.step, dry_c, wet_c, humidity, emc)
