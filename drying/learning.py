"""What a yard's stacks and finished runs teach about its next ones: partial pooling, in closed form.

A stack's deviation is ln(rate found / rate of the book). Each is taken as the sum of normal effects, all with mean 0:

    deviation = yard + place + species + species in that place + the stack's own

so that a wood dried here for the first time borrows from what is known of its place and of the yard, and one with many
stacks goes by its own. The effects' spreads are stated (`Spreads`: choices, no source; settled on synthetic yards,
tests/bench/bench_learning.py); the species' takes what they leave of the book's own uncertainty. Together they are a
little wider than the book, since a whole yard may be off; a next stack's spread is never wider than the book's, which
it is with no evidence. Give it every stack that was read, not those alone that are dry: these are the fast ones, and
would make the yard look faster than it is. Linear and Gaussian, hence solved at once (normal-normal model; Gelman et
al., Bayesian Data Analysis, 3rd ed., §5.4, recalled). Logarithms have no unit. A figure outside its range raises
ValueError; the ranges, far wider than wood, are a choice.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drying.climate import EFFECTS, Exposure
from drying.forecasting.calibrate import TENTH
from drying.ranges import FloatArray, within

NINE_IN_TEN = 1.2815515655446004  # standard deviations from the median to P90
# A forecast's prior is a Student t, narrower in the middle than a normal of the same spread: by so much wider a one has
# its P10 and P90 where the pooled normal has them.
HEAVY_TAILED = NINE_IN_TEN / TENTH
LEAST_SPECIES_LOG_SD = 0.1
WELL_READ_LOG_SD = 1.0  # a stack whose readings tell its rate less well than this teaches nothing
FAR = 2.5  # standard deviations beyond which a stack is doubted; a choice
BEYOND = 0.15  # share of a run's curve by which the measured ends may lie outside it; a choice
FURTHEST_LOG, WIDEST_LOG_SD = 20.0, 20.0  # of a rate's logarithm
MOST_DAYS, WETTEST_PCT = 10_000.0, 400.0
KILN_LOG_SD, RUN_LOG_SD = 0.35, 0.30  # a kiln's factor beforehand; one run about it: choices, no source


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of ln rate: of the yard, a place in it, a species in a place, a stack among its likes."""

    yard: float = 0.27
    place: float = 0.12
    species_in_place: float = 0.10
    stack: float = 0.37

    def species(self, book_log_sd: float) -> float:
        """What is left for the species, of a book that is uncertain by `book_log_sd` (ln of its rate)."""
        others = self.yard**2 + self.place**2 + self.species_in_place**2 + self.stack**2
        return max(book_log_sd**2 - others, LEAST_SPECIES_LOG_SD**2) ** 0.5


@dataclass(frozen=True, slots=True)
class Evidence:
    """A stack that was read: `deviation` = ln(rate found / rate of the book) by its readings alone, with its sd.

    key: names it, once in a yard; sd: 0.001..5.
    """

    key: str
    species: str
    place: str
    deviation: float
    sd: float

    def __post_init__(self) -> None:
        within("deviation of a stack's rate (log)", self.deviation, -5, 5, "")
        within("spread of a stack's rate (log)", self.sd, 0.001, 5, "")


@dataclass(frozen=True, slots=True)
class Shift:
    """ln(rate / rate of the book): mean and sd of what stacks of a kind have in common; `next_log_sd` is the spread
    of the next one as a forecast takes it: of a prior with heavy tails, never wider than the book's.
    `stacks`: how many of just this kind it rests on."""

    log_mean: float
    log_sd: float
    next_log_sd: float
    stacks: int

    @property
    def factor(self) -> float:
        return float(np.exp(self.log_mean))

    @property
    def band(self) -> tuple[float, float]:
        """P10 and P90 of the factor."""
        side = NINE_IN_TEN * self.log_sd
        return float(np.exp(self.log_mean - side)), float(np.exp(self.log_mean + side))


def said_by_readings(
    mean: FloatArray, sd: FloatArray, prior_mean: FloatArray, prior_sd: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What the readings alone say of ln rate: the posterior with its prior divided out (normals; arrays of one shape).

    means -20..20, sds 0..20, no unit. Returns mean and sd; where the readings said nothing, the sd is infinite. With
    this no prior, learned or of the book, is counted twice. Raises ValueError for a figure outside its range.
    """
    mean, prior_mean = (
        within("mean of a rate (log)", each, -FURTHEST_LOG, FURTHEST_LOG, "") for each in (mean, prior_mean)
    )
    sd, prior_sd = (within("spread of a rate (log)", each, 0, WIDEST_LOG_SD, "") for each in (sd, prior_sd))
    precision = 1 / sd**2 - 1 / prior_sd**2
    told = precision > 1e-6
    safe = np.where(told, precision, 1.0)
    moment = mean / sd**2 - prior_mean / prior_sd**2
    return np.where(told, moment / safe, prior_mean), np.where(told, 1 / np.sqrt(safe), np.inf)


Effect = tuple[str, ...]


def _effects(species: str | None, place: str | None) -> list[Effect]:
    """The effects that a stack of this kind has; with None, those that all share."""
    found: list[Effect] = [("yard",)]
    found += [("place", place)] if place is not None else []
    found += [("species", species)] if species is not None else []
    found += [("both", species, place)] if species is not None and place is not None else []
    return found


@dataclass(frozen=True, slots=True)
class Learned:
    """What all evidence together says. `mean` [E] and `covariance` [E, E] of the effects in `index`; others have their
    prior. `position` of each key in the evidence; `rows` [n, E] says which effects each of the evidence has, `noise`
    [n] its variance about their sum, raised where it lies further than FAR from what the others say of its kind;
    `surprises` [n], how far that is, in standard deviations."""

    evidence: tuple[Evidence, ...]
    book_log_sd: Mapping[str, float]
    exposures: Mapping[str, Exposure]
    spreads: Spreads
    index: Mapping[Effect, int]
    position: Mapping[str, int]
    mean: FloatArray
    covariance: FloatArray
    rows: FloatArray
    noise: FloatArray
    surprises: FloatArray

    def of(self, species: str | None = None, place: str | None = None, *, without: Collection[str] = ()) -> Shift:
        """What is learned of a species in a place; of a place or species over all; of the yard, with neither.

        `without`: keys of evidence to leave out, such as the stack's own that is to be forecast. Raises KeyError for a
        species or place that was not named when learning.
        """
        effects = _effects(species, place)
        wanted = np.zeros(len(self.mean))
        wanted[[self.index[effect] for effect in effects if effect in self.index]] = 1.0
        unseen = sum(self._prior_variance(effect) for effect in effects if effect not in self.index)
        out = np.array([self.position[key] for key in without if key in self.position], dtype=int)
        mean, variance = self._left_out(wanted, out)
        variance += unseen
        spread = HEAVY_TAILED * (variance + self.spreads.stack**2) ** 0.5
        if species is not None and place is not None:
            spread = min(spread, float(np.hypot(self.book_log_sd[species], EFFECTS[self.exposures[place]].rate_log_sd)))
        return Shift(mean, variance**0.5, spread, self._count(effects[-1], out))

    def _count(self, narrowest: Effect, out: np.ndarray) -> int:
        """How many stacks have an effect, without some."""
        if narrowest not in self.index:
            return 0
        column = self.rows[:, self.index[narrowest]]
        return int(column.sum() - column[out].sum())

    def _left_out(self, wanted: FloatArray, out: np.ndarray) -> tuple[float, float]:
        """Mean and variance of `wanted` @ effects with the evidence `out` taken back (Woodbury's identity)."""
        mean, variance = float(wanted @ self.mean), float(wanted @ self.covariance @ wanted)
        if not len(out):
            return mean, max(variance, 0.0)
        rows = self.rows[out]
        reach = rows @ self.covariance
        gap = np.array([self.evidence[i].deviation for i in out]) - rows @ self.mean
        both = np.stack([gap, reach @ wanted], 1)
        solved = np.linalg.solve(np.diag(self.noise[out]) - reach @ rows.T, both)
        pull = reach @ wanted
        return mean - float(pull @ solved[:, 0]), max(variance + float(pull @ solved[:, 1]), 0.0)

    def _prior_variance(self, effect: Effect) -> float:
        return _prior_variance(effect, self.book_log_sd, self.exposures, self.spreads)


def _prior_variance(
    effect: Effect, book: Mapping[str, float], exposures: Mapping[str, Exposure], spreads: Spreads
) -> float:
    """A place strays by its own spread and by what is uncertain of its exposure."""
    if effect[0] == "yard":
        return spreads.yard**2
    if effect[0] == "place":
        return spreads.place**2 + EFFECTS[exposures[effect[1]]].rate_log_sd ** 2
    return spreads.species(book[effect[1]]) ** 2 if effect[0] == "species" else spreads.species_in_place**2


def learn(
    evidence: Iterable[Evidence],
    book_log_sd: Mapping[str, float],
    exposures: Mapping[str, Exposure],
    spreads: Spreads | None = None,
) -> Learned:
    """Pool the evidence of one yard: logarithms of rates, no unit.

    book_log_sd: by species, how uncertain the book's rate is (ln); exposures: by place. Raises KeyError where the
    evidence names a species or place that is in neither.
    """
    spreads, kept = spreads or Spreads(), tuple(evidence)
    of_each = [_effects(one.species, one.place) for one in kept]
    index = {effect: i for i, effect in enumerate(dict.fromkeys(effect for effects in of_each for effect in effects))}
    rows = np.zeros((len(kept), len(index)))
    for i, effects in enumerate(of_each):
        rows[i, [index[effect] for effect in effects]] = 1.0
    noise = np.array([one.sd**2 + spreads.stack**2 for one in kept])
    prior = np.array([_prior_variance(effect, book_log_sd, exposures, spreads) for effect in index])
    deviation = np.array([one.deviation for one in kept])
    surprises = _surprises(rows, noise, deviation, *_solved(rows, noise, deviation, prior))
    noise = noise * np.maximum(np.abs(surprises) / FAR, 1) ** 2
    mean, covariance = _solved(rows, noise, deviation, prior)
    position = {one.key: i for i, one in enumerate(kept)}
    return Learned(kept, book_log_sd, exposures, spreads, index, position, mean, covariance, rows, noise, surprises)


def _solved(
    rows: FloatArray, noise: FloatArray, deviation: FloatArray, prior: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean and covariance of the effects, from the normal equations."""
    weighted = rows.T / noise
    covariance: FloatArray = np.zeros((0, 0))
    if len(prior):
        covariance = np.linalg.inv(np.diag(1 / prior) + weighted @ rows).astype(np.float64)
    return covariance @ (weighted @ deviation), covariance


def _surprises(
    rows: FloatArray, noise: FloatArray, deviation: FloatArray, mean: FloatArray, covariance: FloatArray
) -> FloatArray:
    """How far each deviation lies from what all others say of its kind, in standard deviations [n].

    With itself heard, a residual r has variance noise - leverage; without, r' = r noise / (noise - leverage), and
    its variance is noise² / (noise - leverage).
    """
    leverage = np.einsum("ij,jk,ik->i", rows, covariance, rows)
    return (deviation - rows @ mean) / np.sqrt(np.maximum(noise - leverage, 1e-12))


def days_between(days: FloatArray, moisture_pct: FloatArray, from_pct: float, to_pct: float) -> float:
    """Days in which a predicted, falling curve (days rising, %) goes from one measured moisture to another.

    Beyond its ends it goes on at its slope there, for at most BEYOND of its span; further, and where the wood did not
    dry, the answer is nan. Raises ValueError for days outside 0..10,000 or moistures outside 0..400 %.
    """
    within("days of a run", days, 0, MOST_DAYS, "")
    for moisture in (moisture_pct, from_pct, to_pct):
        within("moisture content of a run", moisture, 0, WETTEST_PCT, "%")
    span = float(moisture_pct[0] - moisture_pct[-1])
    low, high = moisture_pct[-1] - BEYOND * span, moisture_pct[0] + BEYOND * span
    if not low <= to_pct < from_pct <= high:
        return float("nan")
    return _day_of(days, moisture_pct, to_pct) - _day_of(days, moisture_pct, from_pct)


def _day_of(days: FloatArray, moisture_pct: FloatArray, wanted_pct: float) -> float:
    after = int(np.clip((moisture_pct > wanted_pct).sum(), 1, len(days) - 1))
    lost = moisture_pct[after - 1] - moisture_pct[after]
    part = (moisture_pct[after - 1] - wanted_pct) / max(float(lost), 1e-9)
    return float(days[after - 1] + part * (days[after] - days[after - 1]))


@dataclass(frozen=True, slots=True)
class RunOutcome:
    """A finished run: days it was expected to take between the moistures measured at both ends, and days it took."""

    key: str
    expected_days: float
    real_days: float

    def __post_init__(self) -> None:
        within("expected days of a run", self.expected_days, 0.1, 1000, "days")
        within("days that a run took", self.real_days, 0.1, 1000, "days")

    @property
    def deviation(self) -> float:
        """ln(rate found / rate expected): above 0 where the kiln dries faster than expected."""
        return float(np.log(self.expected_days / self.real_days))


def kiln_shift(runs: Sequence[RunOutcome], kiln_log_sd: float = KILN_LOG_SD, run_log_sd: float = RUN_LOG_SD) -> Shift:
    """What a kiln's finished runs say of its own rate factor (Chamber.rate_factor = `factor`), shrunk towards 1.

    Spreads of ln rate, 0.001..5, no unit: of kilns about the book, of one kiln's runs. Raises ValueError outside.
    """
    within("spread of kilns (log)", kiln_log_sd, 0.001, 5, "")
    within("spread of a kiln's runs (log)", run_log_sd, 0.001, 5, "")
    precision = 1 / kiln_log_sd**2 + len(runs) / run_log_sd**2
    mean = sum(run.deviation for run in runs) / run_log_sd**2 / precision
    return Shift(mean, precision**-0.5, (1 / precision + run_log_sd**2) ** 0.5, len(runs))
