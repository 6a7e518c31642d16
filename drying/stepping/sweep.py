"""Diffusion between the cells of half a board: coefficients, links, and the tridiagonal system solved cell by cell.

Profiles are [cells, *X], cell 0 is core; moisture is a FRACTION. Few and large array operations, since a small array's
operation costs as much to call as to do: what does not depend on a cell's neighbour is done for all cells at once.
"""

from typing import NamedTuple

import numpy as np

from drying.ranges import FloatArray

FREE_WATER_RANGE = 0.10  # the free-water factor comes in over this much moisture above saturation (choice)


class Law(NamedTuple):
    """Diffusion in one air: D = exp(c0 + c1 M + c2 M^2) m2/s up to saturation; free water multiplies it by up to
    1 + `free`. All broadcast against X."""

    c0: FloatArray
    c1: FloatArray
    c2: FloatArray
    saturation: FloatArray
    free: FloatArray

    def coefficients(self, moisture: FloatArray) -> FloatArray:
        """Diffusion coefficients, m2/s."""
        bound = np.minimum(moisture, self.saturation)
        result = self.c2 * bound
        result += self.c1
        result *= bound
        result += self.c0
        np.exp(result, out=result)
        free = np.subtract(moisture, bound, out=bound)
        if free.any():
            free *= 1 / FREE_WATER_RANGE
            np.minimum(free, 1, out=free)
            free *= self.free
            free += 1
            result *= free
        return result


def six_faces(one: FloatArray, other: FloatArray) -> FloatArray:
    """Six times the coefficient between two cells, (4 sqrt(a b) + a + b) / 6: near the log mean, which coarse cells
    need (arithmetic or harmonic is worse)."""
    mean = one * other
    np.sqrt(mean, out=mean)
    mean *= 4
    mean += one
    mean += other
    return mean


class Swept(NamedTuple):
    """The system w_i (M_i' - M_i) = A_i (M_i+1' - M_i') - A_i-1 (M_i' - M_i-1'), eliminated up to the outer cell, which
    is left as pivot M' = right. `factors` and `shares` [cells - 1, *X] give M_i' = shares_i + factors_i M_i+1'."""

    factors: FloatArray
    shares: FloatArray
    pivot: FloatArray
    right: FloatArray

    @classmethod
    def of(cls, profile: FloatArray, links: FloatArray, widths: FloatArray) -> "Swept":
        """`links` A [cells - 1, *X], without unit. Cell i passes on f_i = A_i / (q_i + A_i) of its own width and water,
        (q, r)_i+1 = (w, w M)_i+1 + f_i (q, r)_i: no differences, so nothing is lost to rounding."""
        sums = np.empty((len(profile), 2, *profile.shape[1:]), profile.dtype)
        sums[:, 0] = widths
        np.multiply(profile, widths, out=sums[:, 1])
        pivots, factors = np.empty_like(links), np.empty_like(links)
        here = sums[0]
        for link, pivot, factor, following in zip(links, pivots, factors, sums[1:], strict=True):
            np.add(here[0], link, out=pivot)
            np.divide(link, pivot, out=factor)
            following += here * factor
            here = following
        return cls(factors, np.divide(sums[:-1, 1], pivots, out=pivots), here[0], here[1])

    def profile(self, outer: FloatArray) -> FloatArray:
        """All cells' new moisture from the outer cell's."""
        after = np.empty((len(self.factors) + 1, *outer.shape), outer.dtype)
        after[-1] = outer
        rows = list(after)
        for i in range(len(rows) - 2, -1, -1):
            np.multiply(self.factors[i], rows[i + 1], out=rows[i])
            rows[i] += self.shares[i]
        return after
