"""The guard at every door of the core: a value outside a relation's range is refused, never stretched."""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def within(quantity: str, values: ArrayLike, low: float, high: float, unit: str) -> FloatArray:
    """Return `values` as float64 when each lies in [low, high].

    Raises ValueError naming the quantity, the first value outside and the range; NaN is outside every range.
    """
    array = np.asarray(values, dtype=np.float64)
    fine = (array >= low) & (array <= high)
    if not np.all(fine):
        (value,) = first(~fine, array)
        raise ValueError(f"{quantity} {value:g} {unit}".rstrip() + f" is outside {low:g} to {high:g} {unit}".rstrip())
    return array


def first(where: NDArray[np.bool_], *arrays: ArrayLike) -> list[float]:
    """The values that several arrays have at the first place where `where` holds, for the words of an error."""
    where, *spread = np.broadcast_arrays(where, *arrays)
    return [float(array[where].flat[0]) for array in spread]


def bisect(
    rising: Callable[[FloatArray], FloatArray], low: ArrayLike, high: ArrayLike, target: FloatArray
) -> FloatArray:
    """Where the rising function reaches `target`, element by element, within [low, high].

    52 halvings whatever the function, so it always ends; the answer is good to 2^-52 of the bracket.
    """
    bottom, top, target = np.broadcast_arrays(np.asarray(low, dtype=np.float64), high, target)
    for _ in range(52):
        middle = (bottom + top) / 2
        below = rising(middle) < target
        bottom, top = np.where(below, middle, bottom), np.where(below, top, middle)
    return (bottom + top) / 2
