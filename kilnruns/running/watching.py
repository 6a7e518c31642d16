"""What to mind in a run in hand. Codes, levels and figures only; words are made in the template tags.

Bounds that name no source are common practice, no source.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal, cast

from drying import operating, watch
from drying.operating import Setting
from drying.watch import ACT, MIND
from kilnruns.running.inhand import RunInHand, Series
from kilnruns.running.stress import stress_of

Sure = Literal["sure", "likely", "perhaps"]
# Air so far from the EMC called for (points): drier checks the wood, damper wastes days.
DRIER_BY_PCT, DAMPER_BY_PCT = 1.5, 3.0
# A sample that is so much wetter than the mean of the others, of it and in points, lags.
LAGS_BY_SHARE, LAGS_BY_PCT = 0.25, 4.0
UNSEEN_MIND, UNSEEN_ACT = timedelta(days=1.5), timedelta(days=2)
FIRST_DAY = timedelta(hours=30)  # with the hours until somebody looks
# Warming up, the air is not yet the schedule's while it is so much cooler: common practice, no source.
COLD_BY_K = 10.0
TOO_HOT_BY_C = 3.0
AIR_IS_OF_NOW = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class RunWatch:
    """level "act" or "mind"; `sure`: how far it can be trusted; `about`: which sample or device."""

    level: str
    code: str
    sure: Sure
    figures: Mapping[str, float] = field(default_factory=dict)
    about: str = ""


def watches(run: RunInHand, setting: Setting | None, now: datetime) -> list[RunWatch]:
    """All that is to be minded, the gravest first; `setting`: the air called for, None where no schedule is known."""
    found = [*_too_fast(run), *_lagging(run), *_unseen(run, now), *_silent(run, now), *_fans(run)]
    found += [*_hot(run, now), *_stress(run, now)]
    if setting is not None and setting.phase != "cooling":
        found += [*_emc(run, setting, now), *_heater(run, setting, now)]
    return sorted(found, key=lambda one: one.level != "act")


def _too_fast(run: RunInHand) -> Iterator[RunWatch]:
    air = run.last_air
    for one in run.heard:
        days = [(at - one.at[0]).total_seconds() / 86400 for at in one.at]
        loss = operating.loss_pct_per_day(days, one.moisture_pct)
        if loss is None:
            continue
        between = one.moisture_pct[-2]  # the wood was this wet while it lost it
        humidity = air.humidity_pct if air and air.humidity_pct is not None else 60.0
        warmth = air.dry_bulb_c if air else 40.0
        species = one.stack.species
        safe = species.safe_rate_pct_per_day or watch.GROUP_SAFE_RATE_PCT[species.drying_group]
        seen = watch.drying_too_fast(
            loss, safe, one.stack.thickness_mm, between, min(warmth, 100.0), humidity, in_kiln=True
        )
        if seen.level == "none":
            continue
        if _is_first_day(run, one):
            yield RunWatch("mind", "too_fast", "perhaps", seen.figures, _named(one))
        else:
            sure: Sure = "sure" if one.weighed and seen.level == "act" else "likely"
            yield RunWatch(seen.level, "too_fast", sure, seen.figures, _named(one))


def _is_first_day(run: RunInHand, one: Series) -> bool:
    """Whether the loss is of the first day alone, in which the face gives off what it holds (as the model's own index,
    which counts from the second day on)."""
    start = run.charge.started_at
    return start is not None and one.at[-1] <= start + FIRST_DAY


def _named(one: Series) -> str:
    return one.label or f"{one.stack.species.name} {one.stack.thickness_mm:g}"


def _lagging(run: RunInHand) -> Iterator[RunWatch]:
    heard = run.heard
    for one in heard:
        others = [other.moisture_pct[-1] for other in heard if other is not one]
        if not others:
            continue
        mean = sum(others) / len(others)
        above = one.moisture_pct[-1] - mean
        if above > max(LAGS_BY_PCT, LAGS_BY_SHARE * mean):
            figures = {"moisture_pct": one.moisture_pct[-1], "others_pct": mean}
            yield RunWatch("mind", "lags", "likely" if one.weighed else "perhaps", figures, _named(one))


def _unseen(run: RunInHand, now: datetime) -> Iterator[RunWatch]:
    unseen = now - run.last_at
    if unseen > UNSEEN_MIND:
        level = "act" if unseen >= UNSEEN_ACT else "mind"
        yield RunWatch(level, "no_record", "sure", {"days": unseen.total_seconds() / 86400})


def _silent(run: RunInHand, now: datetime) -> Iterator[RunWatch]:
    for device in run.devices:
        if device.heard_at and device.is_silent(now):
            hours = (now - device.heard_at).total_seconds() / 3600
            yield RunWatch("mind", "silent", "sure", {"hours": hours}, device.name)


def _fans(run: RunInHand) -> Iterator[RunWatch]:
    cooling = run.set_to is not None and run.set_to.phase == "cooling"
    if run.last("fans") == "off" and not cooling:
        yield RunWatch("act", "fans_off", "sure")


def _hot(run: RunInHand, now: datetime) -> Iterator[RunWatch]:
    air, schedule = run.last_air, run.schedule
    if air is None or now - air.at > AIR_IS_OF_NOW:
        return
    most = run.charge.kiln.max_temperature_c
    if air.dry_bulb_c > most:
        yield RunWatch("act", "kiln_too_hot", "sure", {"dry_bulb_c": air.dry_bulb_c, "most_c": most})
    samples = run.samples_pct
    if schedule is None or not samples:
        return
    wanted = operating.setting("drying", schedule, run.finish, operating.standing(samples).controlling_pct)
    if wanted.dry_bulb_c + TOO_HOT_BY_C < air.dry_bulb_c:
        figures = {"dry_bulb_c": air.dry_bulb_c, "most_c": wanted.dry_bulb_c}
        yield RunWatch("act", "wood_too_hot", "likely", figures)


def _stress(run: RunInHand, now: datetime) -> Iterator[RunWatch]:
    """By the air that was noted so far; before any was, the forecast's for the whole run."""
    told = stress_of(run, now)
    if not told:
        yield from _predicted(run)
        return
    stack, one = told[0]
    figures = {"index": one.index, "worst": one.worst, "ahead": one.ahead, "hours": one.worst_at_h}
    name, sure = f"{stack.species.name} {stack.thickness_mm:g}", cast(Sure, "likely" if one.rate else "perhaps")
    if one.ahead > MIND:
        level = watch.stress_watch(one.ahead, in_kiln=True).level
        yield RunWatch(level, "stress_ahead", sure, figures, name)
    elif one.worst > ACT:
        code = "stress_past" if run.conditions else "stress_past_plain"
        yield RunWatch("mind", code, sure, figures, name)


def _predicted(run: RunInHand) -> Iterator[RunWatch]:
    """The model's stress index over the whole run, as forecast when the charge was accepted."""
    index = (run.charge.course.get("run") or {}).get("risk", {}).get("stress")
    if index is not None and watch.stress_watch(index, in_kiln=True).level != "none":
        yield RunWatch("mind", "stress", "perhaps", {"index": index})


def _emc(run: RunInHand, setting: Setting, now: datetime) -> Iterator[RunWatch]:
    air = run.last_air
    if air is None or air.emc_pct is None or now - air.at > AIR_IS_OF_NOW:
        return
    if setting.phase == "warm_up" and air.dry_bulb_c < setting.dry_bulb_c - COLD_BY_K:
        return
    figures = {"emc_pct": air.emc_pct, "wanted_pct": setting.emc_pct}
    wet = bool(run.samples_pct) and max(run.samples_pct) > 30
    if air.emc_pct < setting.emc_pct - DRIER_BY_PCT:
        yield RunWatch("act" if wet else "mind", "air_dry", "sure" if air.sensed else "likely", figures)
    elif air.emc_pct > setting.emc_pct + DAMPER_BY_PCT and setting.phase != "warm_up":
        yield RunWatch("mind", "air_damp", "likely", figures)


def _heater(run: RunInHand, setting: Setting, now: datetime) -> Iterator[RunWatch]:
    air = run.last_air
    if air is None or now - air.at > AIR_IS_OF_NOW:
        return
    since = run.set_to.at if run.set_to else run.charge.started_at
    hours = max((air.at - since).total_seconds() / 3600, 0.0) if since else 0.0
    steps = run.charge.kiln.heater_phases
    on = run.last("heater_steps")
    on = None if on is None else min(on, steps)
    why = operating.heater_falls_short(air.dry_bulb_c, setting.dry_bulb_c, on, steps, hours_since_set=hours)
    if why in (None, "too_early"):
        return
    figures = {"dry_bulb_c": air.dry_bulb_c, "wanted_c": setting.dry_bulb_c, "on": on or 0, "steps": steps}
    code = {"steps_off": "heater_steps_off", "limit": "heater_limit"}.get(str(why), "heater_short")
    yield RunWatch("mind", code, "perhaps" if why == "unknown" else "likely", figures)
