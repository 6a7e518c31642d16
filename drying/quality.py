"""How good a drying came out: EN 14298 on the moisture of the pieces, its neighbours, and figures against forecasts.

Moisture in % of oven-dry mass, one corrected value a piece (how to take it: `drying.measuring`); how sure a sample
makes the verdict: `drying.certainty`; stress in the boards: `drying.casehardening`. The standard's text was not at
hand: its table was read second-hand or recalled, and each row says which. Out-of-range input raises ValueError naming
quantity, value and range.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from drying.certainty import Interval, Mean, share_interval, sure_at_least_pct
from drying.ranges import FloatArray, within
from drying.tables import rows
from drying.wood import SHRINKAGE_START_PCT

PIECE_FROM, PIECE_TO = 0.7, 1.3  # of the target (EN 14298, the pattern of its table)
PIECE_SHARE_PCT = 93.5
ROUNDING_PCT = 1e-9
# Spread after equalising, standard deviation, % MC (Wengert, column on equalising): best, and very good operations.
BEST_SD_PCT, VERY_GOOD_SD_PCT = 0.3, 0.4

Proof = Literal["proven", "open", "refuted"]


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What EN 14298 allows about a target, % MC: the lot's mean, each piece, and the share of pieces that must comply.

    `interpolated`: the mean's range lies on a straight line between two rows (our choice). `own_range`: it was given.
    """

    target_pct: float
    mean_from_pct: float
    mean_to_pct: float
    piece_from_pct: float
    piece_to_pct: float
    share_pct: float
    source: str
    from_memory: bool
    interpolated: bool = False
    own_range: bool = False


def tolerance(target_pct: float, *, mean_range_pct: tuple[float, float] | None = None) -> Tolerance:
    """Tolerance for a target, 8..18 % as in EN 14298:2004 table 1 (8, 12, 16 read second-hand, 18 recalled).

    Between its rows the mean's range is a straight line, and says so. `mean_range_pct` gives the mean's range as agreed
    with a customer instead, for any target of 4..25 %. ValueError outside: the table is not extrapolated.
    """
    if mean_range_pct is not None:
        target = float(within("target moisture content", target_pct, 4, 25, "%"))
        low, high = (float(within("agreed range of the mean", one, 0, 40, "%")) for one in mean_range_pct)
        if not low <= target <= high:
            raise ValueError(f"agreed range of the mean {low:g} to {high:g} % does not hold the target {target:g} %")
        return _tolerance(target, low, high, "agreed with the customer; piece limits EN 14298", False, own_range=True)
    table = rows("drying_quality")
    targets = [float(row["target_pct"]) for row in table]
    target = float(within("target moisture content", target_pct, targets[0], targets[-1], "%"))
    low, high = (
        float(np.interp(target, targets, [float(row[name]) for row in table]))
        for name in ("mean_from_pct", "mean_to_pct")
    )
    at = int(np.searchsorted(targets, target))
    near = table[at : at + 1] if targets[at] == target else table[at - 1 : at + 1]
    source = "; ".join(dict.fromkeys(row["source"] for row in near))
    memory = any(row["from_memory"] == "yes" for row in near)
    return _tolerance(target, low, high, source, memory, interpolated=len(near) == 2)


def _tolerance(target: float, low: float, high: float, source: str, memory: bool, **flags: bool) -> Tolerance:
    limits = (PIECE_FROM * target, PIECE_TO * target, PIECE_SHARE_PCT)
    return Tolerance(target, low, high, *limits, source, memory, **flags)


@dataclass(frozen=True, slots=True)
class Spread:
    """A sample's pieces: count, mean, sample standard deviation (n - 1), lowest, highest, all % MC; coefficient of
    variation, % of the mean; `grade`: "best" (sd to 0.3), "very_good" (to 0.4) after equalising (Wengert), "wider"."""

    count: int
    mean_pct: float
    sd_pct: float
    cv_pct: float
    lowest_pct: float
    highest_pct: float
    grade: Literal["best", "very_good", "wider"]


def spread(moisture_pct: ArrayLike) -> Spread:
    """Mean and spread of at least two pieces, [n], each 1..200 % MC (ISO 3534-1: sample standard deviation)."""
    values = _pieces(moisture_pct)
    mean, sd = float(values.mean()), float(values.std(ddof=1))
    within_sd = sd - ROUNDING_PCT
    grade = "best" if within_sd <= BEST_SD_PCT else "very_good" if within_sd <= VERY_GOOD_SD_PCT else "wider"
    return Spread(
        len(values),
        mean,
        sd,
        100 * sd / mean,
        float(values.min()),
        float(values.max()),
        grade,  # type: ignore[arg-type]
    )


@dataclass(frozen=True, slots=True)
class Verdict:
    """A lot against EN 14298. `passes` is the standard's own yes or no on the sample; `proof` says what it is worth.

    `mean_proof`, `share_proof`, `proof`: "proven" or "refuted" at the confidence asked for, else "open": too few pieces
    to tell. `sure_*_pct`: how sure the sample makes us that the whole lot complies. `outside`: indices of the pieces
    out of the limits. `above_meter_range`: some piece is above 30 %, where resistance meters say only "wet".
    """

    tolerance: Tolerance
    spread: Spread
    mean_inside: bool
    share_inside_pct: float
    share_enough: bool
    outside: tuple[int, ...]
    mean_interval: Interval
    share_interval: Interval
    sure_mean_pct: float
    sure_share_pct: float
    mean_proof: Proof
    share_proof: Proof
    above_meter_range: bool

    @property
    def passes(self) -> bool:
        """The standard's yes or no, on the pieces measured."""
        return self.mean_inside and self.share_enough

    @property
    def proof(self) -> Proof:
        """Of both demands together: refuted where one is, proven where both are."""
        both = {self.mean_proof, self.share_proof}
        return "refuted" if "refuted" in both else "proven" if both == {"proven"} else "open"


def judge(
    moisture_pct: ArrayLike,
    target_pct: float,
    *,
    lot_pieces: int | None = None,
    bias_sd_pct: float = 0.0,
    confidence_pct: float = 95.0,
    mean_range_pct: tuple[float, float] | None = None,
) -> Verdict:
    """A lot's verdict from the pieces measured, [n >= 2] % MC (1..200), drawn at random over the whole stack.

    EN 14298: the mean in its range, and 93.5 % of the pieces within 0.7..1.3 of the target. `lot_pieces`: how many the
    lot has, if known. `bias_sd_pct`: the method's common error (about 1 point for pins, 0 oven-dry), which widens the
    mean's interval; the pieces' own reading error is not taken off their spread. Targets as in `tolerance`.
    """
    allowed, found = tolerance(target_pct, mean_range_pct=mean_range_pct), spread(moisture_pct)
    values = _pieces(moisture_pct)
    low, high = allowed.piece_from_pct - ROUNDING_PCT, allowed.piece_to_pct + ROUNDING_PCT
    fine = (values >= low) & (values <= high)
    inside, count = int(fine.sum()), len(values)
    mean = Mean.of(values, lot_pieces=lot_pieces, bias_sd=bias_sd_pct)
    mean_range = allowed.mean_from_pct - ROUNDING_PCT, allowed.mean_to_pct + ROUNDING_PCT
    about_mean = mean.interval(confidence_pct)
    shares = share_interval(inside, count, lot_pieces=lot_pieces, confidence_pct=confidence_pct)
    sure_share = sure_at_least_pct(inside, count, allowed.share_pct, lot_pieces=lot_pieces)
    return Verdict(
        tolerance=allowed,
        spread=found,
        mean_inside=mean_range[0] <= mean.value <= mean_range[1],
        share_inside_pct=100 * inside / count,
        share_enough=100 * inside / count >= allowed.share_pct - ROUNDING_PCT,
        outside=tuple(np.flatnonzero(~fine).tolist()),
        mean_interval=about_mean,
        share_interval=shares,
        sure_mean_pct=mean.sure_between_pct(*mean_range),
        sure_share_pct=sure_share,
        mean_proof=_mean_proof(about_mean, *mean_range),
        share_proof=_share_proof(shares, sure_share, allowed.share_pct, confidence_pct),
        above_meter_range=bool((values > SHRINKAGE_START_PCT).any()),
    )


def _mean_proof(about: Interval, low: float, high: float) -> Proof:
    if low <= about.low and about.high <= high:
        return "proven"
    return "refuted" if about.high < low or about.low > high else "open"


def _share_proof(shares: Interval, sure_pct: float, asked_pct: float, confidence_pct: float) -> Proof:
    if sure_pct >= confidence_pct:
        return "proven"
    return "refuted" if shares.high < asked_pct - ROUNDING_PCT else "open"


@dataclass(frozen=True, slots=True)
class Use:
    """Whether the pieces measured meet what a use asks for: key, use in words, met, its source."""

    key: str
    use: str
    met: bool
    source: str
    from_memory: bool


def uses(moisture_pct: ArrayLike) -> tuple[Use, ...]:
    """The pieces, [n >= 2] % MC, against the limits of uses and grades (packaged table moisture_limits, sources in it).

    For surface limits pass the surface's readings. A yes holds for the pieces measured.
    """
    values = _pieces(moisture_pct)

    def met(row: dict[str, str]) -> bool:
        limit = {name: float(row[name] or "inf") for name in ("mean_at_most_pct", "never_above_pct")}
        share = float(row["share_pct"] or 0)
        below = 100 * np.mean(values <= float(row["share_at_most_pct"] or "inf") + ROUNDING_PCT)
        worst = values.max() <= limit["never_above_pct"] + ROUNDING_PCT
        return bool(worst and below >= share and values.mean() <= limit["mean_at_most_pct"] + ROUNDING_PCT)

    return tuple(
        Use(row["key"], row["use"], met(row), row["source"], row["from_memory"] == "yes")
        for row in rows("moisture_limits")
    )


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """Shrinkage measured against forecast: sizes mm, shrinkage % of green size; `implied_total_pct` is the total
    shrinkage (green to oven-dry) these boards had, with its interval; `agrees`: the forecast's lies inside it."""

    forecast_mm: float
    measured_mm: float
    forecast_pct: float
    measured_pct: float
    implied_total_pct: float
    interval_pct: Interval
    agrees: bool


def shrinkage(
    green_mm: ArrayLike,
    dried_mm: ArrayLike,
    total_shrinkage_pct: float,
    moisture_pct: ArrayLike,
    *,
    confidence_pct: float = 95.0,
) -> Shrinkage:
    """Sizes of the same boards green and dry, [n >= 2] mm (1..5000), against the table's total shrinkage (0.1..30 %).

    `moisture_pct` is that of the dried boards, 0..25 % (one or one each); S_M = S0 (30 - M)/30, WH eq. (4-7), solved
    for S0. Swelling boards or more than 30 % raise ValueError: sizes swapped, or not the same board.
    """
    green, dried, moisture = np.broadcast_arrays(
        within("green size", np.atleast_1d(green_mm), 1, 5000, "mm"),
        within("dried size", dried_mm, 1, 5000, "mm"),
        within("moisture content", moisture_pct, 0, 25, "%"),
    )
    expected = float(within("total shrinkage", total_shrinkage_pct, 0.1, 30, "%"))
    lost = within("measured shrinkage", 100 * (1 - dried / green), -0.5, 30, "%")
    dryness = (SHRINKAGE_START_PCT - moisture) / SHRINKAGE_START_PCT
    total = Mean.of(lost / dryness)
    about = total.interval(confidence_pct)
    return Shrinkage(
        forecast_mm=float(np.mean(green * (1 - expected / 100 * dryness))),
        measured_mm=float(dried.mean()),
        forecast_pct=float(np.mean(expected * dryness)),
        measured_pct=float(lost.mean()),
        implied_total_pct=total.value,
        interval_pct=about,
        agrees=about.low <= expected <= about.high,
    )


def _pieces(moisture_pct: ArrayLike) -> FloatArray:
    values = within("moisture content of a piece", moisture_pct, 1, 200, "%")
    if values.ndim != 1 or len(values) < 2:
        raise ValueError(f"pieces measured {values.size} is outside 2 to 100000: one value a piece, in a list")
    return values
