"""How sure a few measured pieces make us of the whole lot: exact limits for a share, Student's for a mean.

Shares and confidences are %, of pieces drawn at random; a draw from the top of the stack proves less than these say.
Out-of-range input raises ValueError naming quantity, value and range.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from drying.ranges import FloatArray, within

MOST_PIECES = 100_000


@dataclass(frozen=True, slots=True)
class Interval:
    """Where the lot's own figure lies, from `low` to `high`, with a confidence of `confidence_pct` %."""

    low: float
    high: float
    confidence_pct: float


def counts(inside: int, pieces: int, lot_pieces: int | None) -> tuple[int, int, int | None]:
    """The three counts (pieces) as whole numbers, 0 <= inside <= pieces <= lot, 1..100000; ValueError else."""
    found = int(within("pieces measured", pieces, 1, MOST_PIECES, ""))
    whole = None if lot_pieces is None else int(within("pieces in the lot", lot_pieces, found, MOST_PIECES, ""))
    return int(within("pieces inside the limits", inside, 0, found, "")), found, whole


def _confidence(confidence_pct: float) -> float:
    return float(within("confidence", confidence_pct, 50, 99.99, "%")) / 100


def share_interval(
    inside: int, pieces: int, *, lot_pieces: int | None = None, confidence_pct: float = 95.0
) -> Interval:
    """Share of the lot that is inside, %: the exact two-sided interval.

    Clopper and Pearson, Biometrika 26 (1934), by scipy.stats.binomtest; with `lot_pieces` the same construction on the
    hypergeometric law, which knows that the pieces measured are part of the lot (all measured: no doubt is left).
    """
    inside, pieces, whole = counts(inside, pieces, lot_pieces)
    doubt = 1 - _confidence(confidence_pct)
    if whole is None:
        found = scipy.stats.binomtest(inside, pieces).proportion_ci(1 - doubt, method="exact")
        return Interval(100 * float(found.low), 100 * float(found.high), confidence_pct)
    lots = np.arange(inside, whole - (pieces - inside) + 1)
    law = scipy.stats.hypergeom(whole, lots, pieces)
    fitting = lots[(law.cdf(inside) > doubt / 2) & (law.sf(inside - 1) > doubt / 2)]
    return Interval(100 * float(fitting[0]) / whole, 100 * float(fitting[-1]) / whole, confidence_pct)


def sure_at_least_pct(inside: int, pieces: int, share_pct: float, *, lot_pieces: int | None = None) -> float:
    """How sure, %, that at least `share_pct` (1..99.9) of the lot is inside: the one-sided confidence.

    1 less the chance that a lot which just fails shows so many pieces inside (binomial; hypergeometric for a lot of
    known size). 19 of 20 inside make 93.5 % only 38 % sure; 45 of 45 make it 95 %.
    """
    inside, pieces, whole = counts(inside, pieces, lot_pieces)
    share = float(within("share asked for", share_pct, 1, 99.9, "%")) / 100
    if whole is None:
        return 100 * float(scipy.stats.binom.cdf(inside - 1, pieces, share))
    just_failing = int(np.ceil(share * whole - 1e-9)) - 1
    return 100 * float(scipy.stats.hypergeom.cdf(inside - 1, whole, just_failing, pieces))


def pieces_to_prove(share_pct: float, *, outside: int = 0, confidence_pct: float = 95.0) -> int:
    """How many pieces must be measured, of which `outside` (0..100) may be outside, to be this sure of `share_pct`.

    The smallest n whose `sure_at_least_pct` reaches the confidence; share 1..99.9 %, confidence 50..99.99 %.
    """
    share = float(within("share asked for", share_pct, 1, 99.9, "%")) / 100
    most, doubt = int(within("pieces outside", outside, 0, 100, "")), 1 - _confidence(confidence_pct)
    low, high = most + 1, MOST_PIECES * 10
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if scipy.stats.binom.cdf(most, middle, 1 - share) <= doubt else (middle + 1, high)
    return low


@dataclass(frozen=True, slots=True)
class Mean:
    """Mean of a lot from its sample: value, its standard error, and degrees of freedom; %."""

    value: float
    error: float
    freedom: int

    @classmethod
    def of(cls, values: FloatArray, *, lot_pieces: int | None = None, bias_sd: float = 0.0) -> "Mean":
        """From values [n >= 2]; of a lot of known size (n/N measured leaves less doubt), read with a bias common to all
        (its standard deviation in the values' unit, 0..10: a meter's, which no number of pieces averages out)."""
        bias = float(within("standard deviation of the readings' bias", bias_sd, 0, 10, ""))
        count = int(within("pieces measured", len(values), 2, MOST_PIECES, ""))
        rest = 1.0 if lot_pieces is None else 1 - count / counts(0, count, lot_pieces)[2]  # type: ignore[operator]
        error = np.sqrt(np.var(values, ddof=1) / count * rest + bias**2)
        return cls(float(np.mean(values)), float(error), count - 1)

    def interval(self, confidence_pct: float = 95.0) -> Interval:
        """Two-sided, Student's t: value +- t x error."""
        reach = float(scipy.stats.t.ppf((1 + _confidence(confidence_pct)) / 2, self.freedom)) * self.error
        return Interval(self.value - reach, self.value + reach, confidence_pct)

    def sure_between_pct(self, low: float, high: float) -> float:
        """How sure, %, that the lot's mean lies between (Student's t about the sample's mean)."""
        if not low <= high:
            raise ValueError(f"lower limit {low:g} is above the upper limit {high:g}; they may be swapped")
        if self.error < 1e-12:
            return 100.0 if low <= self.value <= high else 0.0
        return 100 * float(
            np.diff(scipy.stats.t.cdf((np.array([low, high]) - self.value) / self.error, self.freedom))[0]
        )
