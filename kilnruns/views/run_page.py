"""What the page of a running charge shows besides its load: the next thing, what to mind, what was noted."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from kilnruns import running
from kilnruns.models import Charge
from kilnruns.running import outside_c
from kilnruns.running.history import History, history


def run_context(charge: Charge, now: datetime) -> dict[str, Any]:
    """For a charge whose state is "drying"; a fixed number of queries."""
    run = running.read(charge)
    one = running.next_thing(run, now, outside_c(now))
    return {
        "run": run,
        "now": now,
        "next": one,
        "watches": running.watches(run, one.setting, now),
        "records": list(reversed(run.all_records)),
        "history": sensed(charge, now),
        "has_boards": any(series.weighed for series in run.series),
    }


def sensed(charge: Charge, until: datetime) -> History:
    """What the kiln's sensors told since the start of a charge whose stacks are at hand; three queries."""
    items = sorted(charge.stacks.all(), key=lambda item: -item.volume_m3)
    woods = [item.stack.species for item in items]
    began = charge.started_at
    return history(charge.kiln, began, until, woods) if began else History()


def next_of(charge: Charge, now: datetime) -> running.NextThing:
    """The next thing alone, to be had in sight while a visit is noted."""
    return running.next_thing(running.read(charge), now, outside_c(now))


def runs_due(charges: Iterable[Charge], now: datetime) -> list[dict[str, Any]]:
    """Running charges that want something today: what is next, and how long nothing was noted; a fixed number of
    queries however many run."""
    ours = [charge for charge in charges if charge.state == "drying"]
    outside = outside_c(now) if ours else 0.0
    found = []
    for run in running.read_all(ours):
        if len(run.stacks) < len(run.charge.stacks.all()):  # being unloaded: that is told already
            continue
        one = running.next_thing(run, now, outside)
        acts = [watch for watch in running.watches(run, one.setting, now) if watch.level == "act"]
        if one.code not in ("wait", "hold", "steam_on", "no_schedule") or acts:
            found.append({"charge": run.charge, "next": one, "watches": acts})
    return found
