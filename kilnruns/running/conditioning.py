"""Conditioning of a run in hand: until a stress test lies flat, by the test and not by the clock."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from drying.operating import Setting
from kilnruns.running.inhand import RunInHand
from kilnruns.running.thing import NextThing

# Hours before the first test where the model told none, the least between two tests, the rest of prongs before the
# second look: common practice, no source.
USUAL_HOURS, LEAST_BETWEEN_HOURS, PRONGS_REST_HOURS = 12.0, 4.0, 24.0
FREE = ("stress_free", "reverse")


def is_conditioned(run: RunInHand) -> bool:
    """Whether the newest tests of the run's end found it free of stress, or conditioned too far already."""
    told = [one for one in run.stress.tests if one.verdict]
    return bool(told) and run.stress.verdict in FREE and told[0].test.at >= _end_began(run)


def _end_began(run: RunInHand) -> datetime:
    """Since when a test tells of the end: from equalising on, or with the last weighing."""
    ends = [record.at for record in run.records if record.phase in ("equalising", "conditioning")]
    return min(ends) if ends else (run.sampled_at or run.last_at) - timedelta(days=1)


def conditioning(run: RunInHand, setting: Setting, now: datetime, figures: Mapping[str, float]) -> NextThing:
    """While it is conditioned: the prongs' second look, the next test, or to hold the air until then.

    Codes: look_again, stress_test, hold; figures "hours" since it began and "hardened" where the last test was so.
    """
    began = next((record.at for record in run.records if record.phase == "conditioning"), now)
    told = {**figures, "hours": (now - began).total_seconds() / 3600}
    waiting = [one.test for one in run.stress.tests if one.test.is_waiting]
    if waiting:
        due = waiting[0].at + timedelta(hours=PRONGS_REST_HOURS)
        return NextThing("look_again" if due <= now else "hold", due, setting, figures={**told, "resting": 1.0})
    since = [one.test.at for one in run.stress.tests if one.verdict and one.test.at >= began]
    if since:
        told["hardened"] = 1.0
    due = _next_test(run, began, max(since, default=None))
    return NextThing("stress_test" if due <= now else "hold", due, setting, figures=told)


def _next_test(run: RunInHand, began: datetime, tested: datetime | None) -> datetime:
    """The first after the model's hours of conditioning, the next ones after a quarter of them."""
    told = (run.charge.course.get("run") or {}).get("conditioning") or {}
    hours = float(told.get("hours") or USUAL_HOURS)
    if tested is None:
        return began + timedelta(hours=hours)
    return tested + timedelta(hours=max(hours / 4, LEAST_BETWEEN_HOURS))
