"""The report of a finished charge, all in one: from rows at hand, without a query."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from kilnruns.closing.account import Came, came
from kilnruns.closing.nexttime import Advice, next_time
from kilnruns.closing.quality import Measured, Quality, measured_in, whole
from kilnruns.closing.rows import Rows
from kilnruns.closing.spells import Spell, spells
from kilnruns.closing.stress import StressFound, said_of
from kilnruns.models import Degrade


@dataclass(frozen=True, slots=True)
class Dot:
    """A reading in the run: days from its start, the mean in %, and the stack."""

    day: float
    moisture_pct: float
    stack: Any


@dataclass(frozen=True, slots=True)
class Curve:
    """The forecast kept with the charge, as (day, %), and what was read."""

    forecast: tuple[tuple[float, float], ...]
    dots: tuple[Dot, ...]
    target_pct: float
    days: float


@dataclass(frozen=True, slots=True)
class Report:
    rows: Rows
    account: Came
    stacks: tuple[Measured, ...]
    whole: Quality | None
    stress: StressFound
    degrade: tuple[Degrade, ...]
    curve: Curve | None
    advice: tuple[Advice, ...]
    spells: tuple[Spell, ...]

    @property
    def shrinkages(self) -> list[Measured]:
        return [one for one in self.stacks if one.shrinkage]


def report(rows: Rows) -> Report | None:
    """None before the run has ended."""
    account = came(rows)
    if account is None or rows.began is None:
        return None
    stacks = measured_in(rows.charge, rows.items, rows.measurements)
    tests = said_of(rows.tests)
    latest = {(row.stack_id, row.kind): row for row in rows.charge.degrade.all()}
    return Report(
        rows=rows,
        account=account,
        stacks=tuple(stacks),
        whole=whole(rows.charge, stacks),
        stress=tests,
        degrade=tuple(row for row in latest.values() if row.share_pct),
        curve=_curve(rows, rows.began, account.days),
        advice=tuple(next_time(rows, account, stacks, tests)),
        spells=spells(rows),
    )


def _curve(rows: Rows, began: datetime, days: float) -> Curve | None:
    """None when there is neither a forecast nor a reading to draw."""
    kept = (rows.charge.course.get("run") or {}).get("curve")
    forecast = tuple(zip(kept["days"], kept["mean_pct"], strict=True)) if kept else ()
    dots = tuple(sorted(_dots(rows, began), key=lambda dot: dot.day))
    return Curve(forecast, dots, rows.charge.target_pct, days) if forecast or dots else None


def _dots(rows: Rows, began: datetime) -> list[Dot]:
    """Readings of the charge's stacks from its start until two days after its end."""
    last = (rows.ended or began) + timedelta(days=2)
    return [
        Dot((row.taken_at - began) / timedelta(days=1), row.moisture_pct, item.stack)
        for item in rows.items
        for row in _readings(item)
        if began <= row.taken_at <= last
    ]


def _readings(item: Any) -> Sequence[Any]:
    return [row for row in item.stack.valid_readings if row.board_id is None]
