"""How good a charge came out by its final measurements: EN 14298, spread, core against shell, shrinkage."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drying import casehardening, quality
from drying.quality import Shrinkage, Spread, Use, Verdict
from drying.wood import grain_shrinkage_pct
from kilnruns.closing.due import Due, due
from kilnruns.models import Charge, ChargeStack, FinalMeasurement
from yard.models import Method, Stack

PINS_BIAS_PCT = 1.0  # what all values of a resistance meter may be off together (drying.quality.judge)
FEW = 2  # pieces that a spread needs


@dataclass(frozen=True, slots=True)
class Quality:
    """Of one stack or of a whole charge: the boards' values, %, and what they come to; None where too few were read."""

    values: tuple[float, ...]
    spread: Spread | None
    verdict: Verdict | None
    gradient: casehardening.Gradient | None
    uses: tuple[Use, ...]
    target_pct: float

    @property
    def fit_for(self) -> tuple[Use, ...]:
        return tuple(one for one in self.uses if one.met)

    @property
    def gradient_pairs(self) -> bool:
        return self.gradient is not None


@dataclass(frozen=True, slots=True)
class Measured:
    """A stack of a charge: how it is to be measured, what was measured last, and how good that is."""

    item: ChargeStack
    due: Due | None
    last: FinalMeasurement | None
    quality: Quality | None
    shrinkage: Shrinkage | None

    @property
    def stack(self) -> Stack:
        return self.item.stack

    @property
    def at(self) -> datetime | None:
        return self.last.reading.taken_at if self.last else None


def measured(charge: Charge, items: Sequence[ChargeStack]) -> list[Measured]:
    """Each stack with its latest valid measurement. One query; the stacks' species and lines must be at hand."""
    rows = charge.final_measurements.filter(reading__voided_at=None).select_related("reading__made_by")
    return measured_in(charge, items, list(rows))


def measured_in(charge: Charge, items: Sequence[ChargeStack], rows: Sequence[FinalMeasurement]) -> list[Measured]:
    """The same from valid measurements at hand, in order of time."""
    last = {row.reading.stack_id: row for row in rows}  # in order of time: the latest stands
    return [_measured(charge, item, last.get(item.stack_id)) for item in items]


def _measured(charge: Charge, item: ChargeStack, last: FinalMeasurement | None) -> Measured:
    found = due(item.stack)
    good = None
    if last is not None:
        good = judged([last], charge.target_pct, found.of if found else None)
    return Measured(item, found, last, good, _shrinkage(item.stack, last))


def judged(rows: Iterable[FinalMeasurement], target_pct: float, lot_pieces: int | None) -> Quality:
    """Measurements of one lot together."""
    rows = list(rows)
    values = [float(value) for row in rows for value in row.reading.corrected_pct]
    pairs = [pair for row in rows for pair in row.pairs_pct]
    pins = any(row.reading.method == Method.PINS for row in rows)
    enough = len(values) >= FEW and all(1 <= value <= 200 for value in values)
    return Quality(
        values=tuple(values),
        spread=quality.spread(values) if enough else None,
        verdict=_verdict(values, target_pct, lot_pieces, pins) if enough else None,
        gradient=_gradient(pairs),
        uses=quality.uses(values) if enough else (),
        target_pct=target_pct,
    )


def whole(charge: Charge, stacks: Sequence[Measured]) -> Quality | None:
    """The charge as one lot, of all its stacks that were measured."""
    told = [one for one in stacks if one.last is not None]
    if not told:
        return None
    pieces = sum(one.due.of for one in told if one.due) if all(one.due for one in told) else None
    return judged([one.last for one in told if one.last], charge.target_pct, pieces)


def _verdict(values: Sequence[float], target_pct: float, pieces: int | None, pins: bool) -> Verdict | None:
    """None for a target that the standard's table does not reach (8 to 18 %)."""
    lot = max(pieces, len(values)) if pieces else None
    try:
        return quality.judge(values, target_pct, lot_pieces=lot, bias_sd_pct=PINS_BIAS_PCT if pins else 0.0)
    except ValueError:
        return None


def _gradient(pairs: Sequence[Any]) -> casehardening.Gradient | None:
    if not pairs or any(not 1 <= value <= 200 for pair in pairs for value in pair):
        return None
    return casehardening.gradient([pair[0] for pair in pairs], [pair[1] for pair in pairs])


def _shrinkage(stack: Stack, last: FinalMeasurement | None) -> Shrinkage | None:
    """Thicknesses now against the green one and the species' table; None where they can't be the same boards."""
    wood = stack.species
    if last is None or len(last.dried_mm) < FEW or not (wood.shrinkage_radial_pct and wood.shrinkage_tangential_pct):
        return None
    total = float(grain_shrinkage_pct(wood.shrinkage_radial_pct, wood.shrinkage_tangential_pct))
    green = [stack.thickness_mm] * len(last.dried_mm)
    try:
        return quality.shrinkage(green, last.dried_mm, total, last.reading.moisture_pct)
    except ValueError:
        return None
