"""Loads of boards against their proven bounds, and lanes against instances whose optimum is known: one run, no tuning.

Sources, all from memory: triplets as Falkenauer makes them (1996: bins of 1000 cut into three, optimum = a third of the
pieces); uniform sizes 20..100 in bins of 150, as in the u-sets of the OR-Library, made anew, the optimum known where
bound = solution; Chvatal, Linear Programming (1983), chapter 13: LP 452.25, optimum 453; the 5600 mm rolls of the
encyclopedia article "Cutting stock problem": optimum 73. Perfect partitions are cut up here.
"""

import random
import resource
from collections.abc import Iterator
from time import process_time

from drying.lanes import first_fit_decreasing, pack
from drying.layout import Space
from drying.load import lay_out
from tests.bench.charges import charge, cut_layers
from tests.bench.figure import Figure
from tests.drying.stacked import faults
from tests.drying.test_lanes import PARENT_ROLL, triplets

CHARGES = range(300, 350)
PERFECT = ((8, 6000), (12, 7200), (15, 6000), (20, 7200))


def figures() -> Iterator[Figure]:
    yield from _charges()
    yield from _perfect()
    yield from _known()
    yield from _uniform()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield Figure("peak memory of the run", peak, "MB", "", True)


def _charges() -> Iterator[Figure]:
    """Charges invented from seeds that nothing was tuned on."""
    at_bound = layers = bound = wrong = fitting = 0
    times, fills = [], []
    for seed in CHARGES:
        boards, space = charge(seed)
        begun = process_time()
        layout = lay_out(boards, space)
        times.append(process_time() - begun)
        wrong += len(faults(boards, layout))
        fills.append(layout.of_attainable)
        if not layout.unplaced:
            fitting += 1
            layers, bound = layers + len(layout.layers), bound + layout.layers_bound
            at_bound += len(layout.layers) == layout.layers_bound
    yield Figure("50 charges: faults in the geometry", wrong, "", "0", wrong == 0)
    name = f"of {fitting} that fit whole: not at their bound of layers"
    yield Figure(name, fitting - at_bound, "charges", "1 in 50 or fewer", fitting - at_bound <= max(1, fitting // 50))
    yield Figure("their layers / bound", layers / bound, "", "", True)
    yield Figure("all 50: worst part of what is attainable", min(fills), "", "", True)
    yield Figure("a charge, mean", sum(times) / len(times), "s of processor", "0.35 or less", sum(times) <= 17.5)
    yield Figure("a charge, longest", max(times), "s of processor", "", True)


def _perfect() -> Iterator[Figure]:
    above = 0
    for number, length in PERFECT:
        space = Space(length, 1500, number * 52, 25)
        layout = lay_out(cut_layers(number, space, 27, seed=number), space)
        above += len(layout.unplaced)
    yield Figure(f"{len(PERFECT)} perfect partitions: boards left out", above, "boards", "0", above == 0)


def _known() -> Iterator[Figure]:
    for number, cases in ((20, 5), (40, 5)):
        above = plain = 0
        for seed in range(100, 100 + cases):
            sizes = triplets(number, seed)
            above += len(pack(sizes, 1000).bins) - number
            plain += len(first_fit_decreasing(sizes, 1000)) - number
        name = f"{cases} x {3 * number} triplets"
        yield Figure(f"{name}: bins above the optimum", above, "bins", "0", above == 0)
        yield Figure(f"{name}: first-fit decreasing above it", plain, "bins", "", True)
    chvatal = pack([45] * 97 + [36] * 610 + [31] * 395 + [14] * 211, 100)
    yield Figure("Chvatal's example", len(chvatal.bins), "bins", "453", len(chvatal.bins) == 453 == chvatal.bound)
    rolls = pack([width for width, count in PARENT_ROLL.items() for _ in range(count)], 5600)
    yield Figure("5600 mm rolls", len(rolls.bins), "rolls", "73", len(rolls.bins) == 73 == rolls.bound)


def _uniform() -> Iterator[Figure]:
    proven = plain = bins = 0
    for seed in range(20):
        chance = random.Random(seed)
        sizes = [chance.randint(20, 100) for _ in range(120)]
        packing = pack(sizes, 150)
        proven += packing.proven
        bins += len(packing.bins)
        plain += len(first_fit_decreasing(sizes, 150))
    yield Figure("20 x 120 uniform sizes: bound = solution", proven, "cases", "20", proven == 20)
    yield Figure("first-fit decreasing / bins", plain / bins, "", "", True)
