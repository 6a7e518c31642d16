"""The door to the core: corrections, species, places, tallies, states."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone

from drying.meters import CURVES
from drying.species import SPECIES
from tests.factories import KilnPlaceFactory, OutlookFactory, PlaceFactory, ReadingFactory, SpeciesFactory, StackFactory
from yard import outlook
from yard.models import Method, Species, Stack, WoodPart
from yard.outlook import State

pytestmark = pytest.mark.django_db
TODAY = date(2025, 6, 1)


def test_the_book_has_some_seventy_woods_each_a_valid_row_with_its_sources():
    rows = [Species(**fields) for fields in outlook.book_species()]
    assert len(rows) > 40
    for row in rows:
        row.full_clean(validate_unique=False)
        assert {"basic_density_kg_m3", "rate"} <= set(row.sources)


def test_green_moisture_is_of_the_part_or_midway_or_of_the_part_that_is_known():
    both = Species(green_heartwood_pct=40, green_sapwood_pct=120)
    found = [outlook.green_pct(both, part) for part in (WoodPart.HEARTWOOD, WoodPart.SAPWOOD, WoodPart.MIXED)]
    assert found == [40, 120, 80]
    assert outlook.green_pct(Species(green_heartwood_pct=40), WoodPart.SAPWOOD) == 40
    assert outlook.green_pct(Species(), WoodPart.MIXED) is None


def test_pins_are_corrected_for_cold_wood_and_for_the_meters_wood():
    walnut = Species(key="black_walnut", meter_key=SPECIES["black_walnut"].meter_key)
    plain = outlook.correct(Method.PINS, [15], 20, "", walnut)
    cold = outlook.correct(Method.PINS, [15], 0, "", walnut)
    other_scale = outlook.correct(Method.PINS, [15], 20, "coast_douglas_fir", walnut)
    assert plain.mean_pct == pytest.approx(15, abs=0.3)
    assert cold.mean_pct > plain.mean_pct + 1
    assert other_scale.mean_pct != plain.mean_pct
    assert "meter_scale_not_given" in plain.notes
    assert "meter_scale_not_given" not in other_scale.notes


def test_a_species_of_ones_own_may_share_a_packaged_curve():
    own = Species(key="mill_oak", meter_key="white oak")
    packaged = Species(key="white_oak", meter_key="white oak")
    both = [outlook.correct(Method.PINS, [15], 20, "coast_douglas_fir", one) for one in (own, packaged)]
    assert both[0] == both[1]
    unknown = outlook.correct(Method.PINS, [15], 20, "coast_douglas_fir", Species(key="mill_oak"))
    assert "species_not_given" in unknown.notes


def test_a_meter_can_be_set_to_every_wood_with_a_curve():
    assert {SPECIES[key].meter_key for key, _name in outlook.meter_scales()} <= set(CURVES)
    assert len(outlook.meter_scales()) >= 5


def test_sample_boards_need_a_mass_each():
    with pytest.raises(ValueError, match="2 masses for 1 sample boards"):
        outlook.correct(Method.SAMPLE_BOARD, [1000, 1200], None, "", Species(), oven_dry_g=[900])


def test_a_place_holds_wood_at_its_equilibrium_and_a_kiln_has_none():
    place = PlaceFactory(kind="open_yard", temperatures_c=[21.1] * 12, humidities_pct=[65] * 12)
    air = outlook.place_emc(place)
    assert air.emc_pct == pytest.approx([12.0] * 12, abs=0.05)  # Wood Handbook table 4-2
    assert air.lowest_pct == pytest.approx(12.0, abs=0.1)
    assert outlook.usual_temperature_c(place, TODAY) == pytest.approx(21.1, abs=0.1)
    assert outlook.place_emc(KilnPlaceFactory()) is None
    assert outlook.usual_temperature_c(PlaceFactory(temperatures_c=[]), TODAY) is None


def test_a_tally_gives_volume_mass_water_and_layers():
    species = SpeciesFactory.build()
    found = outlook.tally_figures(species, 25, "mixed", [(4000, 150, 40)], 25, 60, to_pct=10)
    assert found.volume_m3 == pytest.approx(0.6)
    assert found.board_feet == pytest.approx(0.6 / 0.002359737216)  # a board foot is 144 in³
    assert found.mass_kg == pytest.approx(0.6 * 400 * 1.6)
    assert found.water_kg == pytest.approx(0.6 * 400 * 0.5)
    assert (found.boards, found.layers, found.height_mm) == (40, 5, 225)  # 8 boards of 150 in 1.2 m
    assert outlook.tally_figures(species, 25, "mixed", [(4000, 150, 40)], 25).moisture_pct == 80
    wide = outlook.tally_figures(species, 60, "mixed", [(4000, 1400, 3)], 25)  # slabs wider than a stack
    assert wide.layers == 3
    assert outlook.tally_figures(species, 25, "mixed", [], 25).layers == 0


def test_the_dry_size_of_flat_and_quarter_sawn_boards():
    stack = StackFactory(thickness_mm=30, target_pct=15, kiln_entry_pct=20)  # 4 and 8 % from green to oven-dry
    size = outlook.dry_size(stack)
    assert size.flat_sawn_mm == pytest.approx(30 * (1 - 0.04 / 2))
    assert size.quarter_sawn_mm == pytest.approx(30 * (1 - 0.08 / 2))
    assert outlook.dry_size(StackFactory(species=SpeciesFactory(shrinkage_radial_pct=None))) is None


def standing(stack, on=TODAY):
    found = outlook.with_last_reading(Stack.objects.for_lists()).get(pk=stack.pk)
    return outlook.standing(found, on)


@pytest.mark.parametrize(
    ("outlooks", "state"),
    [
        ({"ready_p50": TODAY}, State.READY),
        ({"ready_p50": TODAY + timedelta(days=1)}, State.DRYING),
        ({"ready_p50": None}, State.LATE),
        ({"ready_p50": None, "never": True}, State.NEVER),
    ],
)
def test_a_stack_under_way_stands_as_its_forecast_says(outlooks, state):
    found = standing(OutlookFactory(**outlooks).stack)
    assert found.state == state
    assert found.is_under_way
    assert found.low_pct < found.moisture_pct < found.high_pct


@pytest.mark.parametrize(
    ("fields", "state"),
    [
        ({}, State.UNKNOWN),
        ({"kiln_dried_on": TODAY}, State.DRIED),
        ({"used_at": datetime(2025, 5, 1, tzinfo=UTC)}, State.GONE),
    ],
)
def test_a_stack_without_forecast_dried_or_gone_has_no_figure(fields, state):
    found = standing(StackFactory(**fields))
    assert (found.state, found.moisture_pct) == (state, None)


def test_a_stack_in_a_kiln_has_no_figure_whatever_was_forecast():
    found = standing(OutlookFactory(stack__place=KilnPlaceFactory()).stack)
    assert (found.state, found.moisture_pct) == (State.IN_KILN, None)


def test_dry_stock_has_what_was_read_since():
    stack = StackFactory(kiln_dried_on=date(2025, 5, 1))
    ReadingFactory(stack=stack, taken_at=datetime(2025, 4, 20, tzinfo=UTC))
    assert standing(stack).moisture_pct is None
    ReadingFactory(stack=stack, taken_at=datetime(2025, 5, 20, tzinfo=UTC), corrected_pct=[8.4])
    assert standing(stack).moisture_pct == 8.4


def test_due_agrees_with_the_query_for_stacks_due_a_reading():
    today = timezone.localdate()
    fresh, old, voided, young, kiln = (OutlookFactory().stack for _number in range(5))
    for stack, ago in ((fresh, 3), (old, 40), (voided, 3)):
        ReadingFactory(stack=stack, taken_at=timezone.now() - timedelta(days=ago))
    voided.readings.update(voided_at=timezone.now(), void_reason="Mistyped")
    Stack.objects.filter(pk=young.pk).update(cut_on=today - timedelta(days=5))
    Stack.objects.filter(pk=kiln.pk).update(place=KilnPlaceFactory())
    due = {stack.pk for stack in (fresh, old, voided, young, kiln) if standing(stack, today).is_due}
    assert due == {old.pk, voided.pk}
    assert due == set(Stack.objects.due_reading(today).values_list("pk", flat=True))
