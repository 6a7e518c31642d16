"""A second look at a plan by other means: every rule is checked anew from the plain data. No code of the planner's.

Each fault is a sentence; an empty list means that the plan keeps all rules. Geometry (mm) and sums (EUR, days)
alone; it takes what `offers` let in (ValueError there).
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from drying.honoured import breaches
from drying.layout import Layout, PackLayout, Placed, PlacedPack, Space
from drying.offers import Fixing, KilnOffer, Lumber, Rules
from drying.proposal import Plan, PlannedCharge

NEAR = 1e-6
A_BOARD = 0.03
"""Of a stack: whole boards may miss the smallest part by so much."""


def verify(
    plan: Plan,
    stacks: Sequence[Lumber],
    kilns: Sequence[KilnOffer],
    *,
    horizon_days: int = 56,
    careful: bool = False,
    work_days: Sequence[bool] | None = None,
    rules: Rules = Rules(),  # noqa: B008 - frozen
    fixings: Sequence[Fixing] = (),
) -> list[str]:
    """Faults of a plan made with the same arguments (mm, days, EUR), each a sentence."""
    fixed = {one.code for one in fixings if one.kind in ("into", "start")}
    lumber = {one.code: replace(one, must_go=True) if one.code in fixed else one for one in stacks}
    kiln_of = {one.code: one for one in kilns}
    faults = [*_times(plan, kiln_of, horizon_days, work_days), *breaches(plan, fixings)]
    for charge in plan.charges:
        name = f"{charge.kiln} day {charge.start_day}: "
        for check in (_content(charge, lumber, careful, rules), _length(charge, lumber, kiln_of[charge.kiln])):
            faults += [name + fault for fault in check]
        faults += [name + fault for fault in _load(charge, lumber, kiln_of[charge.kiln])]
        faults += [name + fault for fault in _money(charge, lumber, kiln_of[charge.kiln], horizon_days, rules)]
        faults += [name + fault for fault in _parts(charge, kiln_of[charge.kiln], rules)]
    faults += _worth(plan, rules)
    faults += _stock(plan, lumber)
    faults += _reasons(plan, lumber)
    if plan.value > plan.bound + NEAR * abs(plan.bound) + 1e-3:
        faults.append(f"the plan's value {plan.value} is above its bound {plan.bound}")
    return faults


def _times(plan: Plan, kilns: dict[str, KilnOffer], horizon: int, work_days: Sequence[bool] | None) -> Iterator[str]:
    for code, kiln in kilns.items():
        runs = sorted((one.start_day, one.end_day) for one in plan.charges if one.kiln == code)
        for (_, end), (start, _) in pairwise(runs):
            if start < end:
                yield f"{code} is taken until day {end}, yet a charge starts on {start}"
        for start, end in runs:
            if not 0 <= start < horizon:
                yield f"{code} starts on day {start}, outside the {horizon} days"
            if work_days is not None and start < len(work_days) and not work_days[start]:
                yield f"{code} starts on day {start}, no work day"
            for begin, until in kiln.blocked:
                if start < until and begin < end:
                    yield f"{code} runs {start} to {end} over its blocked days {begin} to {until}"


def _content(charge: PlannedCharge, lumber: dict[str, Lumber], careful: bool, rules: Rules) -> Iterator[str]:
    inside = [lumber[share.code] for share in charge.shares]
    if len({one.group for one in inside} | {charge.group}) != 1:
        yield "more than one drying group"
    thickness = [one.thickness_mm for one in inside]
    if min(thickness) < rules.thinnest_to_thickest * max(thickness) - NEAR:
        yield f"thicknesses {min(thickness)} to {max(thickness)} mm do not dry alike"
    moisture = [min(float(one.moisture_p50_pct[charge.start_day]), rules.green_pct) for one in inside]
    if max(moisture) - min(moisture) > rules.moisture_window_pct + NEAR:
        yield f"moistures {min(moisture):.1f} to {max(moisture):.1f} % are too far apart"
    for one in inside:
        ready = one.ready_day_p90 if careful else one.ready_day_p50
        if one.must_wait:
            yield f"{one.code} must wait"
        elif not one.must_go and (ready is None or ready > charge.start_day):
            yield f"{one.code} is not ready before day {ready}"
    if charge.space_taken < rules.smallest_fill - NEAR and not any(one.must_go for one in inside):
        yield f"only {charge.space_taken:.2f} of the kiln is taken"


def _parts(charge: PlannedCharge, kiln: KilnOffer, rules: Rules) -> Iterator[str]:
    """Parts of stacks that are too small to plan with, and stacks listed twice; a board either way is no fault."""
    for code, number in Counter(charge.codes).items():
        if number > 1:
            yield f"{code} is listed {number} times"
    for share in charge.shares:
        if share.share < min(1.0, rules.smallest_part) - A_BOARD:
            yield f"only {share.share:.3f} of {share.code} goes in; {rules.smallest_part} is the least"
        if kiln.loading == "pack" and abs(share.share - 1) > NEAR:
            yield f"{share.code} goes by pack, yet only {share.share:.3f} of it"


def _worth(plan: Plan, rules: Rules) -> Iterator[str]:
    """The plan's value is that of its charges, less their cost and a fee for every further part of a stack."""
    parts = Counter(code for charge in plan.charges for code in charge.codes)
    value = sum(charge.value - charge.cost for charge in plan.charges)
    value -= rules.split_cost * sum(number - 1 for number in parts.values())
    if abs(value - plan.value) > 1e-3 + NEAR * abs(value):
        yield f"the plan says it is worth {plan.value:.2f}; its charges come to {value:.2f}"


def _length(charge: PlannedCharge, lumber: dict[str, Lumber], kiln: KilnOffer) -> Iterator[str]:
    longest = max(math.ceil(lumber[s.code].run_days[kiln.code][charge.start_day] - NEAR) for s in charge.shares)
    if kiln.heater_kg_water_per_day:
        water = 0.0
        for share in charge.shares:
            series = lumber[share.code].water_kg
            water += share.share * float(series[charge.start_day]) if series is not None else 0.0
        longest = max(longest, math.ceil(water / kiln.heater_kg_water_per_day - NEAR))
    if charge.days != longest:
        yield f"takes {charge.days} days, the slowest stack needs {longest}"


def _stock(plan: Plan, lumber: dict[str, Lumber]) -> Iterator[str]:
    taken: dict[str, list[int]] = {code: [0] * len(one.pieces) for code, one in lumber.items()}
    for charge in plan.charges:
        for share in charge.shares:
            taken[share.code] = [a + b for a, b in zip(taken[share.code], share.pieces, strict=True)]
            if min(share.pieces, default=0) < 0:
                yield f"{share.code}: a negative number of boards"
    for code, counts in taken.items():
        for (length, width, count), number in zip(lumber[code].pieces, counts, strict=True):
            if number > count:
                yield f"{code}: {number} of {count} boards {length} x {width} are taken"


def _reasons(plan: Plan, lumber: dict[str, Lumber]) -> Iterator[str]:
    """One reason for every stack that is not wholly in a charge, none for the others."""
    inside: Counter[str] = Counter()
    for charge in plan.charges:
        for share in charge.shares:
            inside[share.code] += sum(share.pieces)
    told = Counter(reason.code for reason in plan.reasons)
    for code, one in lumber.items():
        whole = inside[code] == sum(count for *_, count in one.pieces) and inside[code] > 0
        if told[code] != (0 if whole else 1):
            yield f"{code}: {told[code]} reasons, {inside[code]} boards in charges"


def _load(charge: PlannedCharge, lumber: dict[str, Lumber], kiln: KilnOffer) -> Iterator[str]:
    if isinstance(charge.layout, PackLayout):
        yield from _packs(charge, charge.layout, lumber, kiln)
    else:
        yield from _boards(charge, charge.layout, lumber, kiln)


def _boards(charge: PlannedCharge, layout: Layout, lumber: dict[str, Lumber], kiln: KilnOffer) -> Iterator[str]:
    listed: Counter[tuple[str, float, float, float]] = Counter()
    for share in charge.shares:
        one = lumber[share.code]
        for (length, width, _), number in zip(one.pieces, share.pieces, strict=True):
            listed[one.code, length, width, one.thickness_mm] += number
        area = sum(length * width * count for length, width, count in one.pieces)
        part = sum(length * width * n for (length, width, _), n in zip(one.pieces, share.pieces, strict=True)) / area
        if abs(part - share.share) > NEAR:
            yield f"{one.code}: the boards taken are {part:.4f} of the stack, the share says {share.share:.4f}"
        if not kiln.may_split and part < 1 - NEAR:
            yield f"{one.code} is split"
    drawn = Counter((one.stack, one.length_mm, one.width_mm, one.thickness_mm) for one in layout.placed)
    if +listed != drawn:
        yield "the boards drawn are not the boards listed"
    yield from _inside(layout.placed, kiln.space)
    yield from _layers(layout, kiln.space)


def _inside(boards: Sequence[Placed], space: Space) -> Iterator[str]:
    door = space.longest_board_mm or space.length_mm
    for one in boards:
        if one.length_mm > door or one.x_mm < -NEAR or one.x_mm + one.length_mm > space.length_mm + NEAR:
            yield f"a board of {one.stack} sticks out along x"
        if one.y_mm < -NEAR or one.y_mm + one.width_mm > space.width_mm + NEAR:
            yield f"a board of {one.stack} sticks out along y"
        if one.z_mm + one.thickness_mm > space.height_mm + NEAR:
            yield f"a board of {one.stack} sticks out above"


def _layers(layout: Layout, space: Space) -> Iterator[str]:
    by_layer: dict[int, list[Placed]] = {}
    for one in layout.placed:
        by_layer.setdefault(one.layer, []).append(one)
    top = 0.0
    for number in sorted(by_layer):
        boards = by_layer[number]
        if len({one.thickness_mm for one in boards}) > 1 or len({one.z_mm for one in boards}) > 1:
            yield f"layer {number} is not of one thickness and height"
        if abs(boards[0].z_mm - top - space.sticker_mm) > NEAR:
            yield f"layer {number} does not lie on its stickers"
        top = boards[0].z_mm + boards[0].thickness_mm
        for a, b in combinations(boards, 2):
            apart_x = a.x_mm + a.length_mm <= b.x_mm + NEAR or b.x_mm + b.length_mm <= a.x_mm + NEAR
            apart_y = a.y_mm + a.width_mm <= b.y_mm + NEAR or b.y_mm + b.width_mm <= a.y_mm + NEAR
            if not (apart_x or apart_y):
                yield f"two boards overlap in layer {number}"


def _packs(charge: PlannedCharge, layout: PackLayout, lumber: dict[str, Lumber], kiln: KilnOffer) -> Iterator[str]:
    if sorted(one.stack for one in layout.placed) != sorted(charge.codes):
        yield "the packs drawn are not the stacks listed"
    for share in charge.shares:
        if share.share != 1 or list(share.pieces) != [count for *_, count in lumber[share.code].pieces]:
            yield f"pack {share.code} is divided"
    for one in layout.placed:
        if (one.length_mm, one.width_mm, one.height_mm) != lumber[one.stack].pack:
            yield f"pack {one.stack} is drawn in another size"
        ends = (one.x_mm + one.length_mm, one.y_mm + one.width_mm, one.z_mm + one.height_mm)
        room = (kiln.space.length_mm, kiln.space.width_mm, kiln.space.height_mm)
        if any(end > limit + NEAR for end, limit in zip(ends, room, strict=True)):
            yield f"pack {one.stack} sticks out"
    for a, b in combinations(layout.placed, 2):
        if not _apart(a, b):
            yield f"packs {a.stack} and {b.stack} overlap"


def _apart(a: PlacedPack, b: PlacedPack) -> bool:
    gaps = (
        (a.x_mm, a.length_mm, b.x_mm, b.length_mm),
        (a.y_mm, a.width_mm, b.y_mm, b.width_mm),
        (a.z_mm, a.height_mm, b.z_mm, b.height_mm),
    )
    return any(p + size <= q + NEAR or q + other <= p + NEAR for p, size, q, other in gaps)


def _money(
    charge: PlannedCharge, lumber: dict[str, Lumber], kiln: KilnOffer, horizon: int, rules: Rules
) -> Iterator[str]:
    within = min(1.0, (horizon - charge.start_day) / charge.days)
    middle = (charge.start_day + min(charge.end_day, horizon)) / 2
    value = 0.0
    for share in charge.shares:
        one = lumber[share.code]
        due = one.due_day if one.due_day is not None else 10**6
        saved = one.late_per_week / 7 * (max(0, horizon + 14 - due) - max(0, charge.end_day - due))
        value += share.share * within * (one.value * (1 - rules.discount * middle / horizon) + max(0.0, saved))
    cost = within * charge.days * kiln.cost_per_day * (1 + rules.empty_cost * (1 - charge.space_taken))
    if abs(value - charge.value) > 1e-3 or abs(cost - charge.cost) > 1e-3:
        yield f"value {charge.value:.2f} and cost {charge.cost:.2f}, counted again {value:.2f} and {cost:.2f}"
