"""What a run is offered for each wood of the published index, as its charge keeps it, step by step."""

from datetime import date
from types import SimpleNamespace

import psychrolib
import pytest

from kilnruns import advice
from kilnruns.models import Kiln
from kilnruns.planning.durations import schedule_of
from kilnruns.planning.groups import AS_IN_THE_BOOK
from kilnruns.planning.own_steps import rows, steps_of
from tests.drying.publications import published
from tests.factories import SpeciesFactory, StackFactory
from tests.kilnruns.factories import KilnFactory
from yard.models import Species, Stack
from yard.outlook import book_species

ASSEMBLED, CONDITIONS = published("kiln_schedules_assembled"), published("kiln_conditions_computed")
WOODS = [fields for fields in book_species() if fields["schedule_25mm"]]
BY_CODE = {row["code"] for row in ASSEMBLED}
HOT = {"max_temperature_c": 100, "humidifies": True}
TARGET_PCT = 8.0
# What is withheld from every run: air over four points drier than its target, wet bulbs under FPL-GTR-57's 90 °F.
DRIEST_PCT, LOWEST_WET_BULB_C = TARGET_PCT - 4, (90 - 32) / 1.8


def offered(fields, thickness_mm, **kiln):
    stack = Stack(species=Species(**fields), thickness_mm=thickness_mm, target_pct=TARGET_PCT)
    return schedule_of(stack, Kiln(**(HOT | kiln)), AS_IN_THE_BOOK)


@pytest.mark.parametrize("fields", WOODS, ids=lambda fields: fields["key"])
def test_each_wood_is_offered_the_schedule_of_its_code_and_thickness(fields):
    """FPL-GTR-57's index (recalled): 4/4 to 6/4 and 8/4, in oak the 8/4 code from 6/4 on."""
    thin, thick = fields["schedule_25mm"], fields["schedule_50mm"]
    oak = "oak" in fields["name"]
    assert offered(fields, 25.4).code == offered(fields, 31.8).code == thin
    assert offered(fields, 38.1).code == (thick if oak else thin)
    assert offered(fields, 50.8).code == thick


@pytest.mark.parametrize(
    "fields", [one for one in WOODS if one["schedule_25mm"] in BY_CODE], ids=lambda one: one["key"]
)
def test_the_steps_that_a_charge_keeps_are_the_published_ones(fields):
    """Assembled by the published rule, humidity and EMC by psychrolib and Wood Handbook eq. (4-5); recalled inputs."""
    code = fields["schedule_25mm"]
    given = offered(fields, 25.4)
    kept = rows(given.steps, 0.0)
    begins = [row["from_pct"] for row in kept]
    compared = 0
    for book, air in zip(ASSEMBLED, CONDITIONS, strict=True):
        assert (book["code"], book["step"]) == (air["code"], air["step"])
        if book["code"] != code:
            continue
        starts = None if book["mc_at_start_percent"].startswith("above") else float(book["mc_at_start_percent"])
        step = kept[int(given.step_index(200 if starts is None else starts))]
        assert step["dry_bulb_c"] == pytest.approx(float(air["dry_bulb_C"]))
        if float(air["emc_percent"]) > DRIEST_PCT and float(air["wet_bulb_C"]) >= LOWEST_WET_BULB_C - 0.05:
            compared += 1
            assert starts in begins or book["wet_bulb_depression_F"] == "50"  # equal neighbours become one
            assert step["wet_bulb_c"] == pytest.approx(float(air["wet_bulb_C"]))
            assert step["humidity_pct"] == pytest.approx(float(air["rh_percent"]), abs=0.51)
            assert step["emc_pct"] == pytest.approx(float(air["emc_percent"]), abs=0.051)
        else:
            assert step["wet_bulb_c"] > float(air["wet_bulb_C"])
            assert step["emc_pct"] >= DRIEST_PCT
    assert compared >= 3


@pytest.mark.parametrize("fields", WOODS, ids=lambda fields: fields["key"])
@pytest.mark.parametrize(("thickness_mm", "altitude_m"), [(25.4, 0.0), (50.8, 0.0), (25.4, 1500.0)])
def test_keeping_a_schedule_changes_no_step_by_more_than_its_rounding(fields, thickness_mm, altitude_m):
    """Rows are kept to a tenth of a degree, as dials are read; a run is reckoned from them again."""
    given = offered(fields, thickness_mm)
    for step, again in zip(given.steps, steps_of(rows(given.steps, altitude_m)), strict=True):
        assert again.from_moisture_pct == step.from_moisture_pct
        assert again.dry_bulb_c == pytest.approx(step.dry_bulb_c, abs=0.051)
        assert again.wet_bulb_c == pytest.approx(step.wet_bulb_c, abs=0.051)
        # At most .22 points, in the dampest air of all.
        assert again.equilibrium_moisture_pct == pytest.approx(step.equilibrium_moisture_pct, abs=0.25)


@pytest.mark.parametrize(
    "fields", [one for one in WOODS if one["schedule_25mm"] in BY_CODE], ids=lambda one: one["key"]
)
@pytest.mark.parametrize("altitude_m", [600.0, 1500.0, 2500.0])
def test_high_up_the_wet_bulb_is_psychrolibs_and_the_emc_the_books(fields, altitude_m):
    """What a wick shows there in the air of the published EMC: psychrolib (ASHRAE) at its standard pressure."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = psychrolib.GetStandardAtmPressure(altitude_m)
    given = offered(fields, 25.4)
    for step, row in zip(given.steps, rows(given.steps, altitude_m), strict=True):
        wet_c = psychrolib.GetTWetBulbFromRelHum(step.dry_bulb_c, step.relative_humidity_pct / 100, pressure)
        assert row["wet_bulb_c"] == pytest.approx(wet_c, abs=0.06)  # to a tenth
        assert row["emc_pct"] == pytest.approx(step.equilibrium_moisture_pct, abs=0.051)
        assert row["wet_bulb_c"] <= round(step.wet_bulb_c, 1)


@pytest.mark.parametrize("fields", WOODS, ids=lambda fields: fields["key"])
@pytest.mark.parametrize("most_c", [50, 60, 70])
def test_a_cool_kiln_is_offered_nothing_harder_than_the_book(fields, most_c):
    """Dry bulb at most the published one and the kiln's; EMC at least the published one, at every moisture."""
    for thickness_mm in (25.4, 50.8):
        book, cool = offered(fields, thickness_mm), offered(fields, thickness_mm, max_temperature_c=most_c)
        for moisture in range(120, 1, -1):
            theirs, mine = (one.steps[int(one.step_index(moisture))] for one in (book, cool))
            assert mine.dry_bulb_c == pytest.approx(min(theirs.dry_bulb_c, most_c))
            assert mine.equilibrium_moisture_pct >= theirs.equilibrium_moisture_pct - 0.01


def test_a_code_that_no_table_has_gives_the_groups_schedule_and_not_an_end_of_the_plan():
    """Kept from before codes were checked at their field."""
    given = offered({**WOODS[0], "schedule_25mm": "like maple"}, 25.4)
    assert given.code == offered({**WOODS[0], "schedule_25mm": ""}, 25.4).code
    assert "group_schedule" in given.notes


@pytest.mark.django_db
def test_a_mixed_charge_is_conditioned_as_its_hardwood_wants_whichever_was_named_first():
    """AH-188 (recalled): target + 4 for hardwood, + 3 for softwood."""
    hard = StackFactory(species=SpeciesFactory(wood_class="hardwood", drying_group="light_hardwood"))
    soft = StackFactory()
    load = SimpleNamespace(kiln=KilnFactory(), start_on=date(2025, 9, 1), target_pct=8.0)

    def condition_pct(*stacks):
        items = [SimpleNamespace(stack=stack, volume_m3=1.0) for stack in stacks]
        return advice.course(load, items)["condition_pct"]

    assert condition_pct(soft) == 11
    assert condition_pct(hard, soft) == condition_pct(soft, hard) == 12
