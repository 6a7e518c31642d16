"""Undivided stacks for one run where there are too many for every set to be seen: a few greedy sets, then exchanges."""

from collections.abc import Sequence

import numpy as np

from drying.planner.wholes import Fitting

POWERS = (1.0, 0.75, 1.25, 0.5)
"""Orders to be tried: gain over need to these powers."""
MISSES, NEXT = 25, 30
"""Stacks in turn that find no place before an order is given up; stacks looked at for an exchange."""
EXCHANGES = 4
"""Times that all stacks of the set are looked at for an exchange."""


def picked(fits: Fitting, stacks: np.ndarray, gain: np.ndarray, need: np.ndarray) -> list[int]:
    """Stacks that fit together and gain much (EUR); `need` as shares of the kiln."""
    rank = np.lexsort((stacks, -gain / need))[: 2 * NEXT + MISSES]
    stacks, gain, need = stacks[rank], gain[rank], need[rank]
    gains, needs = (
        dict(zip(stacks.tolist(), gain.tolist(), strict=True)),
        dict(zip(stacks.tolist(), need.tolist(), strict=True)),
    )
    best: list[int] = []
    for power in POWERS:
        order = stacks[np.lexsort((stacks, -gain / need**power))].tolist()
        some = _filled(fits, order, [], needs)
        if sum(gains[one] for one in some) > sum(gains[one] for one in best) + 1e-9:
            best = some
    return _exchanged(fits, best, stacks.tolist(), gains, needs)


def _filled(fits: Fitting, order: Sequence[int], begun: Sequence[int], needs: dict[int, float]) -> list[int]:
    """As many in this order as fit beside what has begun."""
    chosen, used, misses = list(begun), sum(needs[one] for one in begun), 0
    for stack in order:
        if stack in chosen or used + needs[stack] > 1 + 1e-9:
            continue
        if fits([*chosen, stack]):
            chosen.append(stack)
            used += needs[stack]
            continue
        misses += 1
        if misses > MISSES:
            break
    return chosen


def _exchanged(
    fits: Fitting, chosen: list[int], order: Sequence[int], gains: dict[int, float], needs: dict[int, float]
) -> list[int]:
    """One stack for another that gains more, while that fits; then what else fits."""
    for _ in range(EXCHANGES):
        before = list(chosen)
        for out in sorted(chosen, key=lambda one: (gains[one], one)):
            rest = [one for one in chosen if one != out]
            used = sum(needs[one] for one in rest)
            others = [one for one in order if one not in chosen and gains[one] > gains[out] + 1e-9]
            others = [one for one in others if used + needs[one] <= 1 + 1e-9][:NEXT]
            for other in sorted(others, key=lambda one: (-gains[one], one)):
                if fits([*rest, other]):
                    chosen = [*rest, other]
                    break
        chosen = _filled(fits, order, chosen, needs)
        if chosen == before:
            break
    return chosen
