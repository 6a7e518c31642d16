"""Stress in the wood so far, by the air that was noted: what the watch says of it before the wood does."""

from collections.abc import Iterator
from datetime import datetime

import numpy as np

from drying.stresssofar import StressSoFar, WoodInside, stress_so_far
from kilnruns.running.inhand import RunInHand, Series
from yard import outlook
from yard.models import Stack

Told = tuple[Stack, StressSoFar]
LONGEST_H = 2400.0


def stress_of(run: RunInHand, now: datetime) -> list[Told]:
    """Of each stack that was measured, the hardest stressed first; none before any air was noted."""
    start = run.charge.started_at
    air = sorted((one for one in run.air if one.humidity_pct is not None), key=lambda one: one.at)
    if start is None or not air or not (until := _hours(start, now)) > 0.1 or until > LONGEST_H:
        return []
    known = list(_inside(run, start))
    hours = [max(_hours(start, one.at), 0.0) for one in air]
    damp = np.clip([one.humidity_pct or 0.0 for one in air], 0, 100)
    told = stress_so_far([one for _stack, one in known], hours, [one.dry_bulb_c for one in air], damp, until)
    found = [(stack, one) for (stack, _wood), one in zip(known, told, strict=True)]
    return sorted(found, key=lambda one: -max(one[1].worst, one[1].ahead))


def _inside(run: RunInHand, start: datetime) -> Iterator[tuple[Stack, WoodInside]]:
    """The run's woods, from the forecast at its start or the first measurement, with the last one."""
    factor = (run.charge.course.get("run") or {}).get("rate_factor") or 1.0
    for stack in run.stacks:
        samples = [one for one in run.heard if one.stack.pk == stack.pk]
        first = _first_pct(run, stack, samples)
        if first is None:
            continue
        last = max((one.at[-1] for one in samples), default=start)
        means = [one.moisture_pct[-1] for one in samples if one.at[-1] == last]
        measured = (_hours(start, last), float(np.mean(means))) if means and last > start else None
        inside = WoodInside(
            outlook.wood(stack.species), stack.thickness_mm, first, stack.species.drying_group, measured, factor
        )
        yield stack, inside


def _first_pct(run: RunInHand, stack: Stack, samples: list[Series]) -> float | None:
    firsts = [one.moisture_pct[0] for one in samples]
    if firsts:
        return float(np.mean(firsts))
    known = getattr(stack, "outlook", None)
    return None if known is None else float(known.moisture_on(run.charge.start_on)[1])


def _hours(start: datetime, at: datetime) -> float:
    return (at - start).total_seconds() / 3600
