"""The next thing to do at a running kiln, and when. Codes and figures only; words are made in the template tags."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from drying import operating
from drying.heat import KILN_DRY_PCT
from drying.operating import ORDER, Setting
from drying.schedules import Schedule
from kilnruns.running.conditioning import conditioning, is_conditioned
from kilnruns.running.inhand import RunInHand
from kilnruns.running.steaming import steaming
from kilnruns.running.thing import NextThing

# Weigh every day above this moisture, every other day below: common practice, no source.
DAILY_ABOVE_PCT = 20.0
LATE = timedelta(days=1)


def next_thing(run: RunInHand, now: datetime, outside_c: float) -> NextThing:
    """By the published rules (`drying.operating`), from what is recorded up to now; `outside_c`: the air outdoors."""
    schedule, samples = run.schedule, run.samples_pct
    if schedule is None:
        return NextThing("no_schedule", now)
    if not samples or run.sampled_at is None:
        return NextThing("sample", now, _setting(run, "warm_up", schedule, 400), by=run.told_by)
    standing = operating.standing(samples)
    figures = {
        "controlling_pct": standing.controlling_pct,
        "driest_pct": standing.driest_pct,
        "wettest_pct": standing.wettest_pct,
    }
    phase = _phase(run, schedule, standing)
    setting = _setting(run, phase, schedule, standing.controlling_pct)
    change = _change(run, setting, now, outside_c)
    steam = steaming(run, setting, now, figures) if change in ("", "go_on") else None
    if steam is not None:
        return steam
    if change:
        late = _late_days(run, schedule, setting, now)
        return NextThing(change, now, setting, _set_step(run), _vents(run, setting), late, figures)
    return _rest(run, schedule, setting, standing, now, figures)


def _setting(run: RunInHand, phase: operating.Phase, schedule: Schedule, controlling_pct: float) -> Setting:
    return operating.setting(phase, schedule, run.finish, controlling_pct, run.pressure_pa)


def _phase(run: RunInHand, schedule: Schedule, standing: operating.Standing) -> operating.Phase:
    noted = {record.phase for record in run.records}
    warm = bool(noted & set(ORDER[1:])) or any(operating.is_warm(one.dry_bulb_c, schedule) for one in run.air)
    cooling = run.set_to is not None and run.set_to.phase == "cooling"  # one that was broken off counts no more
    if run.charge.target_pct > KILN_DRY_PCT:  # building timber: dried to its mean, neither equalised nor conditioned
        if standing.controlling_pct <= run.charge.target_pct + (operating.BACK_ABOVE_PCT if cooling else 0.0):
            return "cooling"
        return "drying" if warm else "warm_up"
    return operating.phase_due(
        standing,
        run.finish,
        warm=warm,
        equalising="equalising" in noted,
        conditioning=run.conditions and "conditioning" in noted,
        conditions=run.conditions,
        conditioned=is_conditioned(run),
        cooling=cooling,
    )


CHANGES = {"equalising": "equalise", "conditioning": "condition", "cooling": "cool"}


def _change(run: RunInHand, due: Setting, now: datetime, outside_c: float) -> str:
    """What is to be set otherwise than it was; empty where it stands as it ought to."""
    was = run.set_to
    if due.phase == "cooling" and was and was.phase == "cooling":
        air = run.last_air
        return "unload" if air and air.at >= was.at and operating.is_cool(air.dry_bulb_c, outside_c) else ""
    if due.phase in CHANGES:
        return "" if was and was.phase == due.phase else CHANGES[due.phase]
    if due.phase == "warm_up":
        return "" if was else "warm_up"
    if was is None or was.phase == "warm_up" or (was.phase == "drying" and was.step is None):
        return "go_on"
    if was.phase != "drying":
        return "back"
    if was.step == due.step:
        return ""
    return "go_on" if (was.step or 0) < (due.step or 0) else "back"


def _set_step(run: RunInHand) -> int | None:
    return run.set_to.step if run.set_to else None


def _vents(run: RunInHand, setting: Setting) -> str:
    """How to turn the vents from where the air is: open, shut or keep; empty without knowing the air's EMC."""
    air = run.last_air
    if air is None or air.emc_pct is None:
        return ""
    if air.emc_pct > setting.emc_pct + 1:
        return "open"
    return "shut" if air.emc_pct < setting.emc_pct - 1 else "keep"


def _late_days(run: RunInHand, schedule: Schedule, setting: Setting, now: datetime) -> float | None:
    """Days since the controlling moisture passed the bound of the step due, read between the weighings."""
    if setting.step is None or setting.step < 2 or setting.phase != "drying":
        return None
    bound = schedule.steps[setting.step - 1].from_moisture_pct
    passed = None if bound is None else _passed(controlling(run), bound)
    if passed is None or now - passed < LATE:
        return None
    return (now - passed).total_seconds() / 86400


def controlling(run: RunInHand) -> list[tuple[datetime, float]]:
    """The controlling moisture at each visit, from what each sample had at its last weighing up to then."""
    heard = run.heard
    moments = sorted({at for one in heard for at in one.at})
    found = []
    for moment in moments:
        known = [_value(one.at, one.moisture_pct, moment) for one in heard if one.at[0] <= moment]
        found.append((moment, operating.standing(known).controlling_pct))
    return found


def _value(at: Sequence[datetime], moisture: Sequence[float], moment: datetime) -> float:
    return [value for when, value in zip(at, moisture, strict=True) if when <= moment][-1]


def _passed(points: Sequence[tuple[datetime, float]], bound: float) -> datetime | None:
    for (before, high), (after, low) in pairwise(points):
        if low <= bound < high:
            return before + (after - before) * ((high - bound) / (high - low))
    return points[0][0] if points and points[0][1] <= bound else None


def _rest(
    run: RunInHand,
    schedule: Schedule,
    setting: Setting,
    standing: operating.Standing,
    now: datetime,
    figures: dict[str, float],
) -> NextThing:
    """Set as it ought to be: weigh again when it is time, and when the next step is to be expected."""
    if setting.phase == "cooling":
        return NextThing("wait", now + timedelta(hours=12), setting, figures=figures)
    if setting.phase == "conditioning":
        return conditioning(run, setting, now, figures)
    every = timedelta(days=1 if standing.wettest_pct > DAILY_ABOVE_PCT else 2)
    due = (run.sampled_at or now) + every
    points = controlling(run)
    days = [(at - points[0][0]).total_seconds() / 86400 for at, _pct in points]
    loss = operating.loss_pct_per_day(days, [pct for _at, pct in points])
    bound = operating.next_start_pct(schedule, setting.step) if setting.phase == "drying" and setting.step else None
    if bound is None and setting.phase == "drying":
        bound = run.finish.driest_pct if run.charge.target_pct <= KILN_DRY_PCT else run.charge.target_pct
    if loss is not None and bound is not None:
        ahead = operating.days_to(standing.controlling_pct, bound, loss)
        figures = {**figures, "bound_pct": bound, "loss_pct_per_day": loss}
        figures |= {} if ahead is None else {"days_to_bound": ahead}
    code = "weigh" if due <= now else "wait"
    late = (now - due).total_seconds() / 86400 if now - due >= LATE else None
    return NextThing(code, due, setting, _set_step(run), _vents(run, setting), late, figures, run.told_by)
