"""Making the plan that somebody asked for, with signs of life, until it is done or no longer wanted."""

import logging
import math
import os
import threading
from collections.abc import Callable
from datetime import datetime
from types import TracebackType
from typing import Any
from uuid import uuid4

from django.db import connection, transaction
from django.db.models import F
from django.utils import timezone

from kilnruns import planning as planner
from kilnruns.actions.plans import keep
from kilnruns.models import Plan, Planning
from kilnruns.models.planning import MOST_TRIES

log = logging.getLogger(__name__)
BEAT_SECONDS = 1.0
Told = Callable[[float, float, float], bool]
"""What the planner tells how far it is; whether it may go on."""
FREE_PART = 0.6
"""Of the time, where a free plan is compared with one that keeps near to the plan in force."""
WORKER_NAME = "DRYSTACK_WORKER_NAME"
"""Environment variable: what the names of this process's tries begin with, so that they can be handed back."""


class UnwantedError(Exception):
    """Nobody waits for it any more: what is being worked out is thrown away. Not a failure."""


class Pulse:
    """The sign of life of one try. Once a second, in a thread of its own, it writes how far the planner is and reads
    whether the plan is still wanted; inside a transaction, which no other connection sees, only when told something.
    """

    def __init__(self, planning: Any) -> None:
        self.planning = planning
        self.begin, self.part = 0.0, 1.0
        self.spent, self.value, self.bound = 0.0, -math.inf, math.inf
        self.is_wanted, self.is_enough = True, False
        self._ended, self._told_at = threading.Event(), timezone.now()
        self._thread = None if connection.in_atomic_block else threading.Thread(target=self._run, daemon=True)

    def __enter__(self) -> "Pulse":
        if self._thread:
            self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._ended.set()
        if self._thread:
            self._thread.join()

    def during(self, begin: float, part: float) -> None:
        """The planner's next share of the time is this part of the whole."""
        self.begin, self.part = begin, part

    def progress(self, spent: float, value: float, bound: float) -> bool:
        """What the planner calls; whether it may go on looking for a better plan. Raises where none is wanted."""
        self.spent = self.begin + self.part * min(max(spent, 0.0), 1.0)
        self.value, self.bound = max(self.value, value), min(self.bound, bound)
        if not self._thread and (timezone.now() - self._told_at).total_seconds() >= BEAT_SECONDS:
            self.beat()
        if not self.is_wanted:
            raise UnwantedError
        return not self.is_enough

    def whether_wanted(self, _spent: float, _value: float, _bound: float) -> bool:
        """What a plan for the meantime calls: it tells nothing of how far it is. Raises where none is wanted."""
        self.progress(self.spent, self.value, self.bound)
        return True

    def beat(self) -> None:
        self._told_at = timezone.now()
        mine = Planning.objects.in_work().filter(pk=self.planning.pk, worker=self.planning.worker)
        told = {"value": self.value, "bound": self.bound}
        finite = {name: figure for name, figure in told.items() if math.isfinite(figure)}
        self.is_wanted = bool(mine.update(beat_at=self._told_at, spent=self.spent, **finite))
        self.is_enough = mine.filter(best_wanted_at__isnull=False).exists()

    def _run(self) -> None:
        try:
            while not self._ended.wait(BEAT_SECONDS) and self.is_wanted:
                self.beat()
        finally:
            connection.close()


def work(pk: int) -> None:
    """Make the plan, unless it has ended or another has it in work. What goes wrong is kept with it and raised."""
    planning = claim(pk)
    if planning is None:
        return
    try:
        with Pulse(planning) as pulse:
            _make(planning, pulse)
    except UnwantedError:
        log.info("planning %s is no longer wanted", pk)
    except Exception:
        log.exception("planning %s failed", pk)
        mine = Planning.objects.in_work().filter(pk=pk, worker=planning.worker)
        mine.update(failed_at=timezone.now(), failure="error")
        raise


def new_name() -> str:
    """Of one try of this process."""
    return f"{os.environ.get(WORKER_NAME, '')}-{uuid4().hex[:12]}"


def taken_up(rows: Any, task: Any, at: datetime, **given_up: str) -> int:
    """Queue again what a worker has lost of Planning's or Reckoning's `rows`, or give it up after MOST_TRIES; how many
    were queued.

    Each is written only where it still is as it was found, so that two that look at once queue one task.
    """
    queued = 0
    for row in rows.lost(at):
        same = rows.in_work().filter(pk=row.pk, worker=row.worker, beat_at=row.beat_at)
        if row.tries >= MOST_TRIES:
            same.update(failed_at=at, **given_up)
            continue
        with transaction.atomic():
            if same.update(worker="", beat_at=at):
                task.enqueue(row.pk)
                queued += 1
    return queued


def claim(pk: int) -> Planning | None:
    """Put one's name on it, in one statement; None where another's is there or it has ended."""
    now, name = timezone.now(), new_name()
    free = Planning.objects.in_work().filter(pk=pk, worker="")
    if not free.update(worker=name, beat_at=now, tries=F("tries") + 1, started_at=now):
        return None
    return Planning.objects.select_related("asked_by").get(pk=pk)


def _make(planning: Planning, pulse: Pulse) -> None:
    given = planner.case(planning.first_day, planning.horizon_days, planning.careful)
    before = Plan.objects.exclude(pk=planning.first_plan_id or 0).in_force()
    seconds = planner.seconds_for(len(given.lumber))
    if before is None and planning.first_plan is None and seconds > planner.FIRST_ABOVE_SECONDS and pulse.is_wanted:
        _first(planning, given, pulse)
    if planning.freely and before:
        draft, notes = _freely(planning, given, before, seconds, pulse)
    else:
        draft, notes = _solved(planning, given, seconds, pulse.progress, before), {}
    _finish(planning, draft, before, notes)


def _solved(
    planning: Planning, given: planner.Case, seconds: float, progress: Told, in_force: Plan | None
) -> planner.Draft:
    return planner.propose(
        first_day=planning.first_day,
        horizon_days=planning.horizon_days,
        careful=planning.careful,
        seconds=seconds,
        in_force=in_force,
        progress=progress,
        given=given,
    )


def _freely(
    planning: Planning, given: planner.Case, before: Plan, seconds: float, pulse: Pulse
) -> tuple[planner.Draft, dict[str, object]]:
    """The free plan, and what one that keeps near to the plan in force would bring and move instead."""
    pulse.during(0.0, FREE_PART)
    free = _solved(planning, given, FREE_PART * seconds, pulse.progress, None)
    pulse.during(FREE_PART, 1 - FREE_PART)
    near = _solved(planning, given, (1 - FREE_PART) * seconds, pulse.progress, before)
    moves = planner.moved(before, near)
    return free, {"near": {"value": near.value, "moved": len(moves["stacks"]), "of": moves["of"]}}


def _first(planning: Planning, given: planner.Case, pulse: Pulse) -> None:
    """A quick plan for the meantime."""
    draft = _solved(planning, given, planner.FIRST_SECONDS, pulse.whether_wanted, None)
    with transaction.atomic():
        mine = Planning.objects.in_work().select_for_update().filter(pk=planning.pk, worker=planning.worker)
        if mine.exists():
            planning.first_plan = keep(draft=draft, by=planning.asked_by)
            mine.update(first_plan=planning.first_plan)


def is_no_better(before: Plan, draft: planner.Draft) -> bool:
    """Nothing has changed since the plan in force, and the search, which may be cut by the clock, found no better."""
    same = (before.first_day, before.horizon_days, before.careful) == (
        draft.first_day,
        draft.horizon_days,
        draft.careful,
    )
    return bool(before.basis) and same and before.basis == draft.basis and draft.value <= before.value


@transaction.atomic
def _finish(planning: Planning, draft: planner.Draft, before: Plan | None, notes: dict[str, object]) -> None:
    """Keep the plan, if it is still wanted of this try."""
    mine = Planning.objects.in_work().select_for_update().filter(pk=planning.pk, worker=planning.worker)
    if not mine.exists():
        return
    if before and is_no_better(before, draft):
        plan = before
    else:
        plan = keep(draft=draft, by=planning.asked_by, before=before, notes=notes)
    told = {"spent": 1.0, "value": plan.value, "bound": plan.bound}
    mine.update(plan=plan, finished_at=timezone.now(), **told)
