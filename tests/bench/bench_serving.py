"""300 needs served out of 2,000 stacks: time against a plain transport program of the same pairs, and the gap."""

import time
from collections.abc import Iterator

import numpy as np

from drying.serving import Demand, Lot, share_out
from tests.bench.figure import Figure


def yard(needs: int = 300, stacks: int = 2000, seed: int = 8) -> tuple[list[Lot], list[Demand]]:
    """Invented: twelve woods in six thicknesses, of which a need takes its wood and each thickness that is enough."""
    random = np.random.default_rng(seed)
    wood, thick = random.integers(0, 12, stacks), random.integers(0, 6, stacks)
    lots = [Lot(float(random.uniform(0.3, 3)), float(random.uniform(-30, 400))) for _ in range(stacks)]
    demands = []
    for _ in range(needs):
        mine, least = random.integers(0, 12), random.integers(0, 5)
        fit = np.flatnonzero((wood == mine) & (thick >= least) & (thick <= least + 2))
        waste = tuple(float(0.2 * (thick[one] - least)) for one in fit)
        figures = float(random.uniform(0.1, 8)), float(random.uniform(20, 300)), float(random.choice([0.5, 1, 3]))
        demands.append(Demand(*figures, tuple(int(one) for one in fit), waste))
    return lots, demands


def figures() -> Iterator[Figure]:
    lots, demands = yard()
    started = time.process_time()
    plain = share_out(lots, demands, nodes=0)
    between = time.process_time()
    found = share_out(lots, demands)
    ended = time.process_time()
    yield Figure("needs served from stacks: gap", found.gap, "", "0.05 or less", found.gap <= 0.05)
    yield Figure("the same, without whole pairs: gap", plain.gap, "", "", True)
    ratio = (ended - between) / (between - started)
    yield Figure("time over the plain transport program", ratio, "times", "20 or less", ratio <= 20)
    yield Figure("its processor time", ended - between, "s", "10 or less", ended - between <= 10)
