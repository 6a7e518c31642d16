"""The kiln run that a stack went through, and how good it came out, as facts."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Max
from django.utils import timezone

from kilnruns.closing.account import Lot, came
from kilnruns.closing.quality import Measured, measured_in
from kilnruns.closing.rows import Rows, charges, finished, rows_of
from kilnruns.closing.stress import said_of
from kilnruns.models import Charge, ChargeStack, FinalMeasurement, Quantity, SensorMean, SensorReading


@dataclass(frozen=True, slots=True)
class Run:
    """A finished run, as one stack of it sees it; `lot` and `measured` are that stack's."""

    rows: Rows
    lot: Lot | None
    measured: Measured | None
    days: float

    @property
    def charge(self) -> Charge:
        return self.rows.charge

    @property
    def final(self) -> FinalMeasurement | None:
        return self.measured.last if self.measured else None

    @property
    def dried_mm(self) -> dict[str, Any] | None:
        """Thickness measured when dry: mean of so many boards."""
        sizes = self.final.dried_mm if self.final else []
        return {"count": len(sizes), "mean_mm": round(sum(sizes) / len(sizes), 1)} if sizes else None

    @property
    def dry_share(self) -> float | None:
        """Dry volume over green, by the species' shrinkage; None where moisture or shrinkage is not known."""
        if self.lot is None or not self.lot.dry_m3:
            return None
        return round(self.lot.dry_m3 / self.lot.green_m3, 4)


def runs_of(stacks: Sequence[Any]) -> dict[int, Run]:
    """By stack: the last finished run that it was in, or the stack that it was split from since. A fixed number of
    queries, however many stacks."""
    lines = {stack.pk: _line(stack) for stack in stacks}
    wanted = {one.pk for line in lines.values() for one in line}
    inside = ChargeStack.objects.filter(stack__in=wanted, charge__in=Charge.objects.filter(finished()))
    went: dict[int, int] = {}
    pairs = inside.order_by("charge__unloaded_at").values_list("stack", "charge", "charge__unloaded_at")
    ended = {}
    for stack, charge, unloaded_at in pairs:
        went[stack], ended[charge] = charge, unloaded_at
    told = {row.pk: rows_of(row) for row in charges().filter(pk__in=set(went.values()))} if went else {}
    found = {}
    for stack in stacks:
        through = _through(lines[stack.pk], went, ended)
        if through is not None:
            found[stack.pk] = _run(told[went[through]], through)
    return found


def _line(stack: Any) -> list[Any]:
    """The stack, what it was split from, and so on; as far as was fetched with it."""
    line = [stack]
    while len(line) < 4 and line[-1].split_from_id:
        line.append(line[-1].split_from)
    return line


def _through(line: Sequence[Any], went: dict[int, int], ended: dict[int, Any]) -> int | None:
    """Which of a stack and its origins went through a kiln with these boards in it: an origin counts only if the boards
    were taken off it after that."""
    for number, one in enumerate(line):
        charge = went.get(one.pk)
        if charge is not None and all(later.made_at >= ended[charge] for later in line[:number]):
            return one.pk
    return None


def _run(rows: Rows, stack: int) -> Run:
    account = came(rows)
    item = next((one for one in rows.items if one.stack_id == stack), None)
    lot = next((one for one in account.lots if one.item.stack_id == stack), None) if account else None
    measured = measured_in(rows.charge, [item], rows.measurements)[0] if item else None
    return Run(rows, lot, measured, account.days if account else 0.0)


def run_facts(run: Run) -> dict[str, Any]:
    """Of the run as a whole. Two queries, for what sensors measured."""
    charge, records = run.charge, run.rows.records
    noted = [row.dry_bulb_c for row in records if row.dry_bulb_c is not None]
    sensed = hottest_sensed(charge)
    known = [*noted, *([sensed] if sensed is not None else [])]
    return {
        "kiln": str(charge.kiln),
        "started_on": _day(charge.started_at),
        "ended_on": _day(charge.unloaded_at),
        "days": round(run.days, 1),
        "target_pct": charge.target_pct,
        "hottest_c": round(max(known), 1) if known else None,
        "notes": len(noted),
        "by_sensor": sensed is not None,
        "stress": _stress(run.rows),
    }


def hottest_sensed(charge: Charge) -> float | None:
    """The highest dry bulb that sensors of the kiln told during the run, °C."""
    if not charge.started_at or not charge.unloaded_at:
        return None
    span = {
        "series__device__kiln": charge.kiln_id,
        "series__quantity": Quantity.DRY_BULB,
        "second__gte": int(charge.started_at.timestamp()),
        "second__lte": int(charge.unloaded_at.timestamp()),
    }
    single = SensorReading.objects.filter(**span).aggregate(most=Max("value"))["most"]
    means = SensorMean.objects.filter(**span).aggregate(most=Max("high"))["most"]
    return max((one for one in (single, means) if one is not None), default=None)


def _stress(rows: Rows) -> dict[str, Any] | None:
    """The worst verdict of the newest stress tests; None where none was made or it still waits."""
    found = said_of(rows.tests)
    worst = next((said.test for said in found.tests if said.verdict and said.verdict == found.verdict), None)
    return {"verdict": found.verdict, "kind": worst.kind, "on": _day(worst.at)} if worst else None


def quality_of(run: Run | None) -> dict[str, Any] | None:
    """EN 14298 on the boards of this stack measured at the run's end; None where none were.

    `passes` None: the standard has no figures for that target. `proof`: proven, open or refuted for the whole stack.
    """
    measured = run.measured if run else None
    if run is None or measured is None or measured.quality is None or measured.last is None:
        return None
    spread, verdict = measured.quality.spread, measured.quality.verdict
    facts: dict[str, Any] = {
        "on": _day(measured.last.reading.taken_at),
        "boards": len(measured.quality.values),
        "of": measured.due.of if measured.due else None,
        "target_pct": run.charge.target_pct,
        "sd_pct": round(spread.sd_pct, 2) if spread else None,
        "passes": verdict.passes if verdict else None,
    }
    if verdict:
        facts |= {
            "mean_inside": verdict.mean_inside,
            "mean_from_pct": verdict.tolerance.mean_from_pct,
            "mean_to_pct": verdict.tolerance.mean_to_pct,
            "piece_from_pct": round(verdict.tolerance.piece_from_pct, 2),
            "piece_to_pct": round(verdict.tolerance.piece_to_pct, 2),
            "share_inside_pct": round(verdict.share_inside_pct, 1),
            "share_asked_pct": verdict.tolerance.share_pct,
            "proof": verdict.proof,
        }
    return facts


def _day(at: Any) -> str | None:
    return timezone.localtime(at).date().isoformat() if at else None
