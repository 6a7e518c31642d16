"""What is reckoned by arrays and shared rows, held in a random yard to the plain way: each stack by itself, as a row
with all that belongs to it."""

import random
from collections import Counter, defaultdict
from datetime import date, datetime, time, timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.factories import (
    BoardFactory,
    KilnPlaceFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
    want,
)
from yard import outlook
from yard.actions.needs import reserve
from yard.models import CostRates, MillFigures, Need, Price, Stack
from yard.outlook.finding import MOST
from yard.outlook.holding import held, held_by_all, shrinkage_pct
from yard.outlook.standing import State, state_of

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()
NOW = timezone.now()
STACKS = 45
SHRINKAGES = ((4.0, 8.0), (3.2, 5.5), (None, None))


@pytest.fixture(params=[1, 2, 3])
def rng(request: Any) -> random.Random:
    found = random.Random(request.param)
    places = [PlaceFactory(), PlaceFactory(), KilnPlaceFactory()]
    woods = [SpeciesFactory(shrinkage_radial_pct=one, shrinkage_tangential_pct=other) for one, other in SHRINKAGES]
    Price.objects.create(species=woods[0], dry_per_m3=900, green_per_m3=300)
    CostRates.objects.create(pk=1, log_per_m3=200, sawing_per_m3=80)
    for _ in range(STACKS):
        _stack(found, woods, places)
    for number in range(4):
        wood = found.choice(woods[:2])
        given = {"thickness_mm": found.choice((18, 30, 44)), "volume_m3": found.choice((0.3, 3))}
        given |= {"name": f"Job {number}", "target_pct": found.choice((8, 16))}
        need = want(species=wood, wanted_by=TODAY + timedelta(days=60), **given)
        _reserve(found, need, wood)
    return found


def _stack(rng: random.Random, woods: list[Any], places: list[Any]) -> None:
    lines = [(rng.randrange(1500, 5000), rng.randrange(90, 300), rng.randrange(1, 30)) for _ in range(rng.randrange(3))]
    cut_on = TODAY - timedelta(days=rng.randrange(20, 900))
    given: dict[str, Any] = {"species": rng.choice(woods), "place": rng.choice((*places, places[0], places[1]))}
    given |= {"thickness_mm": rng.choice((27, 40, 52)), "cut_on": cut_on, "lines": lines}
    given |= {"kiln_dried_on": TODAY - timedelta(days=rng.randrange(300)) if rng.random() < 0.3 else None}
    given |= {"used_at": NOW if rng.random() < 0.1 else None, "value_per_m3": rng.choice((None, 1000))}
    given |= {"log_per_m3": rng.choice((None, 0, 150)), "set_aside_for": rng.choice(("", "", "", "Job 1"))}
    stack = StackFactory(**given)
    if rng.random() < 0.8:
        ready = rng.choice((None, TODAY - timedelta(days=3), TODAY, TODAY + timedelta(days=50)))
        days = [cut_on.toordinal(), TODAY.toordinal() + rng.randrange(-40, 90), TODAY.toordinal() + 200]
        curve = {"day": sorted(days), **{name: [60 + at, rng.randrange(8, 30) + at, 8 + at] for at, name in
                                         enumerate(("p10", "p50", "p90"))}}  # fmt: skip
        OutlookFactory(stack=stack, ready_p50=ready, never=ready is None and rng.random() < 0.5, curve=curve)
    if rng.random() < 0.5:
        ReadingFactory(stack=stack, raw=[rng.randrange(7, 20)], taken_at=NOW - timedelta(days=rng.randrange(200)))
    if lines and rng.random() < 0.4:
        BoardFactory(stack=stack, length_mm=lines[0][0], width_mm=lines[0][1])


def _reserve(rng: random.Random, need: Need, wood: Any) -> None:
    for stack in Stack.objects.standing().filter(species=wood, lines__isnull=False).distinct().order_by("pk")[:3]:
        if rng.random() < 0.6:
            volume = stack.volume_m3 * rng.random()
            reserve(line=need.lines.get(), stack=stack, volume_m3=volume, by=None, at=NOW)


def standing_stacks() -> list[Stack]:
    return list(outlook.with_last_reading(Stack.objects.standing().for_lists()).order_by("code"))


def is_dry(stack: Stack, wanted_pct: float) -> bool:
    stands = outlook.standing(stack, TODAY)
    moisture = stands.moisture_pct
    if moisture is None and stands.state is State.DRIED:
        moisture = stack.target_pct
    return moisture is not None and moisture <= wanted_pct + 1


def test_stock(rng: random.Random) -> None:
    m3, worth, ages = Counter[str](), 0.0, defaultdict(float)
    lots: Counter[tuple[int, float]] = Counter()
    names = {State.READY: "ready", State.IN_KILN: "kiln", State.DRIED: "dry"}
    free = []
    for stack in standing_stacks():
        state = names.get(state_of(stack, TODAY), "drying")
        m3[state] += stack.volume_m3
        lots[stack.species_id, stack.thickness_mm] += stack.volume_m3
        price = Price.objects.filter(species=stack.species).first()
        usual = (price.dry_per_m3 if state == "dry" else price.green_per_m3) if price else None
        own = stack.value_per_m3 if state == "dry" else None
        worth += ((usual if own is None else own) or 0) * stack.volume_m3
        since = stack.kiln_dried_on or stack.cut_on
        ages[(TODAY - since).days / (365.25 / 12) >= 12, state == "dry"] += stack.volume_m3
        if state == "dry" and not stack.set_aside_for and not stack.reservations.exists():
            free.append((since, stack.code))
    found = outlook.stock(TODAY)
    assert found.sum.m3 == pytest.approx({name: m3[name] for name in outlook.STATES})
    assert {(lot.species.pk, lot.thickness_mm): lot.sum.volume_m3 for lot in found.lots} == pytest.approx(dict(lots))
    assert found.sum.worth == pytest.approx(worth)
    old = [one for one in found.ages if one.from_months >= 12]
    assert (sum(one.drying_m3 for one in old), sum(one.dry_m3 for one in old)) == pytest.approx(
        (ages[True, False], ages[True, True])
    )
    assert [one.code for one in found.longest] == [code for _since, code in sorted(free)][: len(found.longest)]
    cost = sum(outlook.cost_so_far(one).total or 0 for one in standing_stacks())
    assert found.sum.cost == pytest.approx(cost)


@pytest.mark.parametrize("moisture", [8, 18])
def test_boards_of_a_size(rng: random.Random, moisture: float) -> None:
    wish = outlook.Wish(2000, 110, 24, moisture, planing_mm=1)
    dry, wet, nearly, unknown = [], [], 0, set()
    for stack in standing_stacks():
        tagged = Counter((one.length_mm, one.width_mm) for one in stack.boards.all())
        rows = [(*size, 1) for size in tagged.elements()]
        for line in stack.lines.all():
            gone = min(tagged[line.length_mm, line.width_mm], line.count)
            tagged[line.length_mm, line.width_mm] -= gone
            rows += [(line.length_mm, line.width_mm, line.count - gone)] if line.count > gone else []
        most = max(stack.species.shrinkage_radial_pct or 0, stack.species.shrinkage_tangential_pct or 0)
        if not most:
            if stack.thickness_mm >= 24 * 0.92 and any(a >= 1840 and b >= 110 * 0.92 for a, b, _n in rows):
                unknown.add(stack.pk)
            continue
        left = 1 - most / 100 * (30 - moisture) / 30
        for length, width, _count in rows:
            sizes = (length, width * left - 2, stack.thickness_mm * left - 2)
            spare = 1 - 2000 * 110 * 24 / (sizes[0] * sizes[1] * sizes[2])
            if all(size >= least for size, least in zip(sizes, wish.sizes_mm, strict=True)):
                (dry if is_dry(stack, moisture) else wet).append((round(spare, 9), stack.pk, length, width))
            elif all(size >= 0.92 * least for size, least in zip(sizes, wish.sizes_mm, strict=True)):
                nearly += 1
    found = outlook.find_boards(wish, TODAY)
    for mine, plain in ((found.dry, dry), (found.wet, wet)):
        told = [(round(one.spare, 9), one.stack_id, *one.sawn_mm) for one in mine]
        assert sorted(told) == sorted(plain)[:MOST]
        assert [one[0] for one in told] == sorted(one[0] for one in told)
    assert {one.is_dry for one in found.dry} <= {True} and {one.is_dry for one in found.wet} <= {False}
    assert (len(found.nearly), found.unknown, found.more) == (min(nearly, 10), len(unknown), 0)
    assert dry or wet


def test_what_serves_a_need(rng: random.Random) -> None:
    needs = list(Need.objects.open().with_lines())
    served = outlook.serve(needs, TODAY)
    figures, seen = MillFigures.current(), 0
    for need in needs:
        [line], [mine] = list(need.lines.all()), served[need.pk]
        plain = {one[0]: one[1:] for stack in standing_stacks() if (one := _serves(stack, need, line, figures))}
        found = {one.stack.pk: (one.dry_mm, one.is_dry, one.days, one.kept_m3, one.kept_else_m3, one.free_m3)
                 for one in mine.serving}  # fmt: skip
        assert found.keys() == plain.keys()
        for pk, (dry_mm, dry, days, *volumes) in found.items():
            assert (dry_mm, dry, days) == plain[pk][:3]
            assert volumes == pytest.approx(plain[pk][3:])
        seen += len(found)
    assert seen


def test_a_promise_rests_on_what_is_kept(rng: random.Random) -> None:
    """Asked of the reserved stacks alone it is what it is among all."""
    needs = list(Need.objects.open().with_lines())
    whole, few = (outlook.wanted(needs, TODAY, kept_only=one) for one in (False, True))
    assert [one.promise for one in few] == [one.promise for one in whole]
    assert [line.lacking_m3 for one in few for line in one.lines] == pytest.approx(
        [line.lacking_m3 for one in whole for line in one.lines]
    )
    assert any(one.promise or one.lines[0].kept for one in few)
    assert sum(line.count for one in few for line in one.lines) < sum(line.count for one in whole for line in one.lines)


@pytest.mark.parametrize("most", [0, 2, 100])
def test_the_nearest_of_a_line_and_all_that_is_kept_for_it(rng: random.Random, most: int) -> None:
    seen = 0
    for [served] in outlook.serve(Need.objects.open().with_lines(), TODAY).values():
        for dry, whole in ((True, served.dry), (False, served.drying)):
            assert {one.is_dry for one in whole} <= {dry}
            kept = [one for one in whole[most:] if one.kept_m3]
            assert served.nearest(most, dry=dry) == [*whole[:most], *kept]
            seen += len(kept)
        known = [one.days is None for one in served.drying]
        assert known == sorted(known)
        assert [served.server_of(one.stack.pk) for one in served.serving] == served.serving
        assert served.untouched(most) == [one for one in served.serving if not one.kept_else_m3][:most]
    assert seen or most


def test_what_boards_hold_of_a_line(rng: random.Random) -> None:
    for unit, width, length in (("pieces", 90, 900), ("m", 60, None), ("m2", None, None), ("m3", None, None)):
        need = Need.objects.create(name=unit, target_pct=8, wanted_by=TODAY)
        line = need.lines.create(thickness_mm=18, width_mm=width, length_mm=length, quantity=1, unit=unit)
        line.species.set(Need.objects.exclude(pk=need.pk).first().lines.get().species.all())
        [served] = outlook.serve([Need.objects.with_lines().get(pk=need.pk)], TODAY)[need.pk]
        yard = served.servers.yard
        found = held_by_all(yard, line, served.figures)
        for stack in Stack.objects.filter(pk__in=yard.pks):
            across = shrinkage_pct(stack.species, served.figures.sawn, across=True)
            left = 1 - across / 100 * (30 - 8) / 30
            rows = stack.lines.values_list("length_mm", "width_mm", "count")
            boards = [_boards_hold(*one, left, line, served.figures) for one in rows if unit != "m3"]
            plain = sum(boards) if unit != "m3" else stack.volume_m3
            assert held(stack, line, served.figures, across) == pytest.approx(plain)
            assert found[yard.places[stack.pk]] * stack.volume_m3 == pytest.approx(plain)
        assert len(yard) and found.any()


def _boards_hold(length: int, width: int, count: int, left: float, line: Any, figures: MillFigures) -> float:
    dry, usable = width * left, length - figures.trim_mm
    if line.unit == "m2":
        return count * usable * (dry - 2 * figures.planing_mm) / 1e6
    strips = (dry + figures.kerf_mm) // ((line.width_mm or 1) + 2 * figures.planing_mm + figures.kerf_mm)
    each = usable / 1000 if line.unit == "m" else (usable + figures.kerf_mm) // (line.length_mm + figures.kerf_mm)
    return count * strips * each


def _serves(stack: Stack, need: Need, line: Any, figures: MillFigures) -> tuple[Any, ...] | None:
    if stack.set_aside_for not in ("", need.name) or stack.species not in line.species.all():
        return None
    size = outlook.dry_size(stack, need.target_pct)
    ways = {"flat": size.flat_sawn_mm, "mixed": (size.flat_sawn_mm + size.quarter_sawn_mm) / 2}
    dry_mm = ways.get(figures.sawn, size.quarter_sawn_mm)
    if dry_mm - 2 * figures.planing_mm < line.thickness_mm:
        return None
    dry, days = is_dry(stack, need.target_pct), None
    stands = outlook.standing(stack, TODAY)
    if not dry and stands.is_under_way and stands.outlook:
        curve = stands.outlook.curve
        ends = [[day for day, one in zip(curve["day"], curve[name], strict=True) if one <= need.target_pct + 1]
                for name in ("p50", "p90")]  # fmt: skip
        days = tuple(date.fromordinal(one[0]) for one in ends) if all(ends) else None
    kept = sum(one.volume_m3 for one in stack.reservations.all() if one.line_id == line.pk)
    other = sum(one.volume_m3 for one in stack.reservations.all() if one.line_id != line.pk)
    return stack.pk, dry_mm, dry, days, kept, other, max(stack.volume_m3 - kept - other, 0)


def test_stock_at_the_ends_of_months(rng: random.Random) -> None:
    """What was used long ago, and what is here since, by days alone."""
    StackFactory(cut_on=TODAY - timedelta(days=1500), used_at=NOW - timedelta(days=600))
    StackFactory(cut_on=TODAY - timedelta(days=1500), used_at=NOW - timedelta(days=100))
    for end in outlook.stock_by_month(TODAY):
        night = timezone.make_aware(datetime.combine(end.day, time(23, 59)))
        here = [one for one in Stack.objects.prefetch_related("lines") if one.cut_on <= end.day]
        here = [one for one in here if one.used_at is None or one.used_at > night]
        assert end.volume_m3 == pytest.approx(sum(one.volume_m3 for one in here))
