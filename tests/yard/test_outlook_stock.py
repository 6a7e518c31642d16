"""Stock by wood and state, its worth, cost and age; over the months; what left; the yield of logs. Figures by hand."""

from datetime import date, datetime, timedelta

import pytest
from django.utils import timezone

from tests.factories import KilnPlaceFactory, OutlookFactory, PlaceFactory, SpeciesFactory, StackFactory
from yard import outlook
from yard.actions.money import keep_costs, keep_prices
from yard.actions.stacks import join, mark_kiln_dried, move, split, use
from yard.models import CostRates, Price, Stack

pytestmark = pytest.mark.django_db
NOW = timezone.now()
TODAY = timezone.localdate()
M3 = 40 * 4 * 0.15 * 0.027  # 40 boards of 4 m x 150 mm x 27 mm: .648 m3


def stack(**more):
    return StackFactory(
        **{"thickness_mm": 27, "lines": [(4000, 150, 40)], "cut_on": TODAY - timedelta(days=200)} | more
    )


def days_ago(days):
    return NOW - timedelta(days=days)


def test_each_stack_is_in_one_state():
    stack()
    OutlookFactory(stack=stack(), ready_p50=TODAY - timedelta(days=1))
    stack(place=KilnPlaceFactory())
    stack(kiln_dried_on=TODAY - timedelta(days=10))
    stack(used_at=NOW, used_for="a floor")
    found = outlook.stock(TODAY).sum
    assert found.m3 == {name: pytest.approx(M3) for name in outlook.STATES}
    assert found.volume_m3 == pytest.approx(4 * M3)


def test_worth_and_cost_by_the_owners_figures():
    larch, oak = SpeciesFactory(name="larch"), SpeciesFactory(name="oak")
    keep_prices(
        prices={larch: (900, 300), oak: (None, None)},
        rates={"log_per_m3": 200, "sawing_per_m3": 80, "stacking_per_m3": None},
    )
    stack(species=larch)
    stack(species=larch, kiln_dried_on=TODAY)
    stack(species=larch, kiln_dried_on=TODAY, value_per_m3=1000)
    stack(species=oak)
    keep_costs(stack=stack(species=oak), figures=dict.fromkeys(
        ("log_per_m3", "sawing_per_m3", "stacking_per_m3", "round_m3_per_m3")
    ) | {"log_per_m3": 500}, by=None, at=NOW)  # fmt: skip
    found = outlook.stock(TODAY)
    assert found.sum.worth == pytest.approx(M3 * (300 + 900 + 1000))
    assert found.sum.no_price_m3 == pytest.approx(2 * M3)
    assert found.sum.cost == pytest.approx(M3 * (4 * 280 + 580))
    by_wood = {lot.species.name: lot.sum for lot in found.lots}
    assert [lot.species.name for lot in found.lots] == ["larch", "oak"], "the most of it first"
    assert not by_wood["oak"].has_worth


def test_a_price_taken_away_is_gone():
    wood = SpeciesFactory()
    rates = dict.fromkeys(("log_per_m3", "sawing_per_m3", "stacking_per_m3"))
    keep_prices(prices={wood: (900, None)}, rates=rates)
    keep_prices(prices={wood: (None, None)}, rates=rates)
    assert not Price.objects.exists()


def test_ages_count_from_the_saw_or_from_the_kiln():
    stack(cut_on=TODAY - timedelta(days=30))
    stack(cut_on=TODAY - timedelta(days=150))
    stack(cut_on=TODAY - timedelta(days=900), kiln_dried_on=TODAY - timedelta(days=400))
    found = [(one.from_months, round(one.drying_m3 / M3), round(one.dry_m3 / M3)) for one in outlook.stock(TODAY).ages]
    assert found == [(0, 1, 0), (3, 1, 0), (6, 0, 0), (12, 0, 1), (24, 0, 0)]


def test_the_longest_dry_are_those_that_nothing_keeps():
    old = stack(kiln_dried_on=TODAY - timedelta(days=300))
    stack(kiln_dried_on=TODAY - timedelta(days=500), set_aside_for="the barn")
    new = stack(kiln_dried_on=TODAY - timedelta(days=20))
    assert [one.code for one in outlook.stock(TODAY).longest] == [old.code, new.code]


def months(**more):
    return [
        (round(one.drying_m3 / M3, 3), round(one.kiln_m3 / M3, 3), round(one.dry_m3 / M3, 3))
        for one in outlook.stock_by_month(TODAY, **more)
    ]


def test_months_end_on_their_last_days_and_today():
    found = [one.day for one in outlook.stock_by_month(date(2026, 3, 15))]
    assert found[-3:] == [date(2026, 1, 31), date(2026, 2, 28), date(2026, 3, 15)]
    assert len(found) == 12


def test_a_stack_is_counted_from_the_saw_through_the_kiln_to_its_use():
    one = stack(cut_on=TODAY - timedelta(days=200), place=PlaceFactory())
    one.stays.create(place=one.place, since=days_ago(200))
    kiln = KilnPlaceFactory()
    move(stacks=[one], place=kiln, by=None, at=days_ago(100))
    move(stacks=[one], place=PlaceFactory(), by=None, at=days_ago(60))
    mark_kiln_dried(stacks=[one], on=TODAY - timedelta(days=60), by=None, at=days_ago(60))
    use(stack=one, for_what="a table", by=None, at=days_ago(5))
    for end in outlook.stock_by_month(TODAY):
        age = (TODAY - end.day).days
        expected = (
            (0, 0, 0) if age > 200 or age < 5 else (1, 0, 0) if age > 100 else (0, 1, 0) if age > 60 else (0, 0, 1)
        )
        found = tuple(round(part / M3, 6) for part in (end.drying_m3, end.kiln_m3, end.dry_m3))
        assert found == expected, f"{age} days ago"


def test_a_split_and_a_join_change_nothing_in_the_months():
    wood = SpeciesFactory()
    first, second = stack(species=wood), stack(species=wood)
    before = months()
    part = split(stack=first, lines=[(4000, 150, 10)], by=None, at=days_ago(50))
    assert months() == before
    join(stack=part, into=second, by=None, at=days_ago(20))
    assert months() == before
    join(stack=second, into=first, by=None, at=days_ago(10))
    assert months() == before


def test_wood_laid_on_an_older_stack_is_not_older_than_it_was():
    wood = SpeciesFactory()
    old, young = stack(species=wood, cut_on=TODAY - timedelta(days=300)), stack(species=wood, cut_on=TODAY)
    before = months()
    assert before[5] == (1, 0, 0) and before[-1] == (2, 0, 0)
    join(stack=young, into=old, by=None, at=NOW)
    assert months()[:-1] == before[:-1]
    assert months()[-1] == before[-1]


def test_the_months_of_one_wood():
    oak, ash = SpeciesFactory(), SpeciesFactory()
    stack(species=oak)
    stack(species=ash)
    stack(species=ash)
    assert months(species=oak.pk)[-1] == (1, 0, 0)
    assert months(species=ash.pk)[-1] == (2, 0, 0)


def test_what_left_by_what_became_of_it():
    use(stack=stack(), for_what="Miller", left_as="sold", sold_for=700.0, by=None, at=days_ago(3))
    use(stack=stack(), for_what="Miller", left_as="sold", sold_for=650.0, by=None, at=days_ago(3))
    use(stack=stack(), for_what="stove", left_as="firewood", by=None, at=days_ago(3))
    use(stack=stack(), for_what="old", by=None, at=days_ago(500))
    found = outlook.left_since(TODAY - timedelta(days=365))
    assert [(one.as_what, one.stacks, one.sold_for) for one in found] == [("sold", 2, 1350), ("firewood", 1, 0)]
    assert found[0].volume_m3 == pytest.approx(2 * M3)


def test_the_yield_from_log_to_sound_dry_wood():
    """12 % volumetric shrinkage to 8 %: .12 x 22/30 = .088 (Wood Handbook eq. 4-7). Two stacks of which one burnt."""
    wood = SpeciesFactory(shrinkage_volumetric_pct=12)
    dried = {"kiln_dried_on": TODAY, "species": wood, "target_pct": 8, "kiln_entry_pct": 20}
    stack(**dried, round_m3_per_m3=1.8)
    burnt = stack(**dried, round_m3_per_m3=2.0)
    stack(**dried)
    use(stack=burnt, for_what="stove", left_as="firewood", by=None, at=NOW)
    found = outlook.log_yield(TODAY - timedelta(days=365))
    assert found.round_m3 == pytest.approx(M3 * 3.8)
    assert found.sawn_share == pytest.approx(2 / 3.8)
    assert found.dry_share == pytest.approx(2 * 0.912 / 3.8)
    assert found.sound_share == pytest.approx(0.912 / 3.8)
    assert found.unknown_m3 == pytest.approx(M3)


def test_no_yield_without_logs():
    stack(kiln_dried_on=TODAY)
    assert outlook.log_yield(TODAY) is None


def test_costs_of_stacks_laid_together_are_shared_by_volume():
    wood = SpeciesFactory()
    CostRates.objects.create(pk=1, log_per_m3=100)
    one = stack(species=wood, log_per_m3=400, sawing_per_m3=60, lines=[(4000, 150, 10)])
    into = stack(species=wood, round_m3_per_m3=1.9)
    join(stack=one, into=into, by=None, at=NOW)
    into = Stack.objects.get(pk=into.pk)
    assert into.log_per_m3 == pytest.approx((400 * 10 + 100 * 40) / 50), "where it had none the mill's stood for it"
    assert into.sawing_per_m3 == 60, "nobody said what the other's sawing cost"
    assert into.round_m3_per_m3 == pytest.approx(1.9)


def test_a_part_keeps_the_costs_a_m3():
    whole = stack(log_per_m3=250)
    assert split(stack=whole, lines=[(4000, 150, 10)], by=None, at=NOW).log_per_m3 == 250


def test_a_year_of_utc_midnights_and_of_local_ones_count_the_day_itself():
    one = stack(cut_on=TODAY)
    assert months()[-1] == (1, 0, 0), "sawn today, counted today"
    use(stack=one, for_what="a shelf", by=None, at=datetime.combine(TODAY, NOW.timetz()))
    assert months()[-1] == (0, 0, 0)
