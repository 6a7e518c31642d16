"""Stacks and kilns for the planner's tests. Invented, every figure of them."""

import random

import numpy as np

from drying.layout import Space
from drying.offers import KilnOffer, Lumber

KINDS = (
    ("larch 8 %", 27.0, 500.0, 9.0), ("spruce 8 %", 27.0, 350.0, 7.0), ("oak 8 %", 27.0, 1100.0, 24.0),
    ("ash 8 %", 34.0, 900.0, 16.0), ("pine 8 %", 40.0, 330.0, 9.0), ("oak 8 %", 32.0, 1150.0, 27.0),
)  # fmt: skip
"""Group, thickness in mm, EUR/m3, days from 25 to 8 %."""


def lumber(code, *, days=40, kilns=("K",), group="G", thickness_mm=27.0, pieces=((3000.0, 100.0, 40),), **given):
    """A stack that is ready at once, dries in `run` days (default 5) and is worth 400 EUR, unless given otherwise."""
    run = given.pop("run", 5.0)
    moisture = given.pop("moisture", 20.0)
    ready = given.pop("ready", 0)
    return Lumber(
        code=code,
        group=group,
        thickness_mm=thickness_mm,
        target_pct=8.0,
        pieces=pieces,
        volume_m3=sum(length * width * count for length, width, count in pieces) * thickness_mm * 1e-9,
        moisture_p50_pct=np.full(days, moisture),
        ready_day_p10=ready,
        ready_day_p50=ready,
        ready_day_p90=given.pop("sure", ready),
        value=given.pop("value", 400.0),
        run_days={kiln: np.full(days, run) for kiln in kilns},
        **given,
    )


def hand(code="K", space=None, **given):
    """A kiln loaded by hand: 6 m by 1 m, ten layers of 27 mm."""
    return KilnOffer(code, "hand", space or Space(6000, 1000, 520, 25), given.pop("cost_per_day", 10.0), **given)


def by_pack(code="K", space=None, **given):
    """A kiln that holds four packs of 3 m x 1.2 m x 0.9 m: two along, two up."""
    return KilnOffer(code, "pack", space or Space(6000, 1200, 2000, 100), given.pop("cost_per_day", 10.0), **given)


def mill(number, loadings, *, days=56, seed=1):
    """A yard of so many stacks of six kinds, and kilns loaded by these means (each with a few blocked days)."""
    chance = random.Random(seed)
    kilns = []
    for index, loading in enumerate(loadings):
        space = Space(7200, 1200, 1000, 25, 7000) if loading == "hand" else Space(6400, 2400, 2000, 100)
        blocked = ((20, 24),) if index == 0 else ()
        kilns.append(KilnOffer(f"K{index}", loading, space, 18.0 if loading == "hand" else 32.0, blocked))
    return [_stack(chance, index, kilns, days) for index in range(number)], kilns


def _stack(chance, index, kilns, days):
    group, thickness, price, base = chance.choice(KINDS)
    lengths = chance.sample([2000, 2500, 3000, 3400, 4100, 5000, 6300], chance.randint(1, 3))
    each = chance.randint(40, 140) // (3 * len(lengths))
    widths = sorted(chance.sample(range(100, 260, 5), 3))
    pieces = tuple((float(l), float(w), max(1, each + chance.randint(0, 4))) for l in lengths for w in widths)  # noqa: E741
    volume = sum(length * width * count for length, width, count in pieces) * thickness * 1e-9
    moisture = 12 + (chance.uniform(14, 60) - 12) * np.exp(-chance.uniform(0.01, 0.04) * np.arange(days))
    ready = next((day for day in range(days) if moisture[day] <= 25), None)
    run = np.ceil(base * np.log(np.maximum(moisture, 9) / 7.2) / np.log(25 / 8) + 3)
    due = chance.randint(20, days + 14) if chance.random() < 0.25 else None
    layers = -(-sum(width * count for _, width, count in pieces) // 1150)
    return Lumber(
        code=f"T{index:03d}",
        group=group,
        thickness_mm=thickness,
        target_pct=8.0,
        pieces=pieces,
        volume_m3=volume,
        moisture_p50_pct=moisture,
        ready_day_p10=ready,
        ready_day_p50=ready,
        ready_day_p90=None if ready is None else ready + 6,
        value=price * volume,
        due_day=due,
        late_per_week=60.0 if due else 0.0,
        run_days={kiln.code: run * (1.0 if kiln.loading == "hand" else 1.15) for kiln in kilns},
        water_kg=volume * 450 * (moisture - 8) / 100,
        pack=(float(max(lengths)), 1150.0, float(min(1250, layers * (thickness + 25)))),
    )
