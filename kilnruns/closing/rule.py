"""Whether a charge in hand is done: by its target's rule, never by a date.

To 12 % or less: dried and equalised until the wettest board is at the target (AH-188 ch. 7, recalled), then conditioned
where the kiln can, until a stress test lies flat; that brings the boards up again, to the air of it at most. Above
12 %: when the mean of each stack is at its target, as the model's runs end (drying.heat).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from drying import operating
from drying.heat import KILN_DRY_PCT
from kilnruns.closing.stress import StressFound
from kilnruns.models import Charge, ChargeStack, Phase
from kilnruns.planning.kept_course import can_condition, finish_of
from yard.models import Reading

ROUNDING_PCT = 0.05  # figures are shown to a tenth

State = Literal["unread", "wet", "equalise", "condition", "rest", "over", "done"]


@dataclass(frozen=True, slots=True)
class Standing:
    """`state`: unread (no values yet, or of some stacks), wet (dry on), equalise, condition (a stress test is wanted or
    said so), rest (a test waits for its second look), over (conditioned too far), done.

    `wettest_pct`, `driest_pct`, `count` of the boards read last; `unread` stacks that were not read in this run.
    """

    state: State
    target_pct: float
    count: int = 0
    wettest_pct: float | None = None
    driest_pct: float | None = None
    mean_pct: float | None = None
    unread: int = 0
    equalise_pct: float | None = None
    condition_pct: float | None = None
    by_mean: bool = False

    @property
    def is_done(self) -> bool:
        return self.state == "done"


def standing(charge: Charge, items: Sequence[ChargeStack], stress: StressFound) -> Standing:
    """Two queries. Of each stack the latest valid visit since the start counts."""
    latest = _latest(charge)
    read = [latest[item.stack_id] for item in items if item.stack_id in latest]
    target, course = charge.target_pct, charge.course
    common = {
        "target_pct": target,
        "unread": len(items) - len(read),
        "equalise_pct": course.get("equalise_pct"),
        "condition_pct": course.get("condition_pct"),
        "by_mean": target > KILN_DRY_PCT,
    }
    if not read:
        return Standing("unread", **common)
    values = [value for row in read for value in row.corrected_pct or [row.moisture_pct]]
    phases = _phases(charge)
    leeway = operating.BACK_ABOVE_PCT if phases[-1:] == [Phase.COOLING] else 0.0
    by_mean = target > KILN_DRY_PCT
    state = _by_mean(read, target + leeway) if by_mean else _by_wettest(charge, values, stress, phases)
    if state not in ("wet", "equalise") and common["unread"]:
        state = "unread"
    figures = {"wettest_pct": max(values), "driest_pct": min(values), "mean_pct": sum(values) / len(values)}
    return Standing(state, count=len(values), **figures, **common)


def _latest(charge: Charge) -> dict[int, Reading]:
    if charge.started_at is None:
        return {}
    stacks = charge.stacks.values("stack")
    rows = Reading.objects.valid().filter(stack__in=stacks, taken_at__gte=charge.started_at, board=None)
    return {row.stack_id: row for row in rows.order_by("taken_at", "pk")}


def _phases(charge: Charge) -> list[str]:
    """What the kiln was set to, in order; steaming is a short while in between."""
    noted = charge.records.valid().exclude(phase__in=("", Phase.STEAMING))
    return list(noted.order_by("at", "pk").values_list("phase", flat=True))


def _by_mean(read: Sequence[Reading], target_pct: float) -> State:
    return "done" if max(row.moisture_pct for row in read) <= target_pct + ROUNDING_PCT else "wet"


def _by_wettest(charge: Charge, values: Sequence[float], stress: StressFound, phases: Sequence[str]) -> State:
    """The rule that the run page goes by (`drying.operating.phase_due`), once the kiln is warm."""
    can = can_condition(charge)
    phase = operating.phase_due(
        operating.standing([max(value - ROUNDING_PCT, 0.0) for value in values]),
        finish_of(charge),
        warm=True,
        conditioning=can and Phase.CONDITIONING in phases,
        conditions=can,
        conditioned=can and stress.verdict in ("stress_free", "reverse"),
        cooling=not can and phases[-1:] == [Phase.COOLING],  # one that can is done by its stress test
    )
    if phase == "conditioning":
        return "rest" if stress.waiting and not stress.verdict else "condition"
    if phase == "cooling":
        return "over" if can and stress.verdict == "reverse" else "done"
    return "equalise" if phase == "equalising" else "wet"
