"""What the stress tests of a charge say, together."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from drying import casehardening
from kilnruns.models import Charge, StressTest

TOGETHER = timedelta(days=2)  # tests cut so close together tell of one moment of the run; a choice
WORST_FIRST = ("case_hardened", "reverse", "stress_free")
CONDITION_FROM = (None, "standard")
"""Gap classes that call for conditioning before fine work: worse than "quality"; a choice after the classes' names."""


@dataclass(frozen=True, slots=True)
class TestSaid:
    """A test with its verdict: case_hardened, stress_free, reverse, or empty while it waits; `gap_mm` as on 100 mm and
    `gap_class` for slices."""

    test: StressTest
    verdict: str
    gap_mm: float | None = None
    gap_class: str | None = None


@dataclass(frozen=True, slots=True)
class StressFound:
    """All valid tests, the newest first, and the worst verdict of the newest ones: what is to be done goes by it."""

    tests: tuple[TestSaid, ...]
    verdict: str
    waiting: int


def stress(charge: Charge) -> StressFound:
    """One query."""
    rows = charge.stress_tests.filter(voided_at=None).select_related("stack__species", "made_by")
    return said_of(rows)


def said_of(rows: Iterable[StressTest]) -> StressFound:
    """The same from valid tests at hand."""
    return found([_said(row) for row in rows])


def found(said: Sequence[TestSaid]) -> StressFound:
    told = [one for one in said if one.verdict]
    newest = max((one.test.at for one in told), default=None)
    lately = {one.verdict for one in told if newest is not None and newest - one.test.at <= TOGETHER}
    worst = next((verdict for verdict in WORST_FIRST if verdict in lately), "")
    newest_first = sorted(said, key=lambda one: (one.test.at, one.test.pk), reverse=True)
    return StressFound(tuple(newest_first), worst, sum(one.test.is_waiting for one in said))


def _said(row: Any) -> TestSaid:
    if row.kind == StressTest.Kind.GAP:
        result = casehardening.gap_class(row.gap_mm, row.width_mm)
        verdict = "case_hardened" if result.gap_class in CONDITION_FROM else "stress_free"
        return TestSaid(row, verdict, result.largest_mm, result.gap_class)
    if row.is_waiting:
        return TestSaid(row, "")
    return TestSaid(row, str(casehardening.prong(row.fresh_mm, row.rested_mm, row.prong_mm)))
