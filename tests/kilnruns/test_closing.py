"""The end of a run: boards measured, the target's rule, stress tests, degrade."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from kilnruns.actions import closing as actions
from kilnruns.closing.degrade import degrade
from kilnruns.closing.due import due
from kilnruns.closing.quality import measured, whole
from kilnruns.closing.rule import standing
from kilnruns.closing.stress import stress
from kilnruns.models import Degrade, FinalMeasurement, StressTest
from kilnruns.templatetags.closing import done_verb, done_why, gradient_words, stress_why, verdict_words
from tests.factories import StackFactory
from tests.kilnruns.closed import BEGUN, DAYS, item_of, measure, running
from tests.kilnruns.factories import COURSE, KilnFactory, charge_of
from tests.yard.queries import queries_of
from yard.models import Reading

pytestmark = pytest.mark.django_db
LATER = BEGUN + timedelta(days=DAYS)


def words(response, status=200):
    assert response.status_code == status
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def items(charge):
    return list(charge.stacks.select_related("stack__species").prefetch_related("stack__lines"))


def state(charge):
    return standing(charge, items(charge), stress(charge))


def prong(charge, fresh, rested=None):
    sizes = {"prong_mm": 100.0, "fresh_mm": fresh, "rested_mm": rested}
    return actions.keep_stress_test(item=item_of(charge), kind="prong", sizes=sizes, by=None, at=LATER)


def test_what_is_to_be_measured_is_the_standards():
    """ISO 2859-1, level II: 40 pieces, sample 8; EN 13183-2: 0.3 of thickness and width (both recalled)."""
    found = due(StackFactory(thickness_mm=30, lines=[(4000, 150, 40)]))
    assert (found.boards, found.of) == (8, 40)
    assert found.from_end_mm == pytest.approx((300, 2000, 3700))
    assert (found.depth_mm, found.from_edge_mm, found.core_mm, found.shell_mm) == pytest.approx((9, 45, 15, 3))


def test_a_measurement_is_a_reading_of_the_yard_with_core_and_shell_beside_it():
    charge = running()
    (kept,) = measure(charge, [8.0, 9.0], pairs=[(9.0, 7.0)], dried_mm=[25.5, 25.4])
    reading = Reading.objects.get(final_measurement=kept)
    assert (reading.stack, reading.count, reading.taken_at) == (charge.stacks.get().stack, 2, LATER)
    assert kept.pairs_raw == [[9.0, 7.0]]
    assert kept.dried_mm == [25.5, 25.4]


def test_core_and_shell_are_corrected_as_the_means_are():
    (kept,) = measure(running(), [8.0, 8.0], pairs=[(8.0, 8.0)])
    assert kept.pairs_pct == [[kept.reading.corrected_pct[0]] * 2]


def test_nothing_is_measured_before_the_start():
    charge = charge_of()
    with pytest.raises(ValidationError, match="not been in the running kiln"):
        measure(charge, [8.0])


def test_wet_wood_is_not_done_whatever_the_day():
    charge = running()
    assert state(charge).state == "unread"
    measure(charge, [12.0, 8.4])
    found = state(charge)
    assert (found.state, found.count) == ("wet", 2)
    assert "the wettest of 2 boards is 12.0" in done_verb(found).replace("\u202f", " ")


def test_it_is_equalised_once_the_driest_is_low_enough_until_the_wettest_is_at_the_target():
    charge = running()
    measure(charge, [10.4, 6.0, 7.0])
    found = state(charge)
    assert found.state == "equalise"
    assert "air of 6 % EMC, until the wettest is at 8 %" in done_why(found).replace("\u202f", " ")


def test_a_stress_test_ends_conditioning():
    charge = running()
    measure(charge, [7.9, 8.0])
    assert state(charge).state == "condition"
    test = prong(charge, 30)
    assert state(charge).state == "rest"
    actions.look_again(test=test, rested_mm=20, by=None, at=LATER)
    assert state(charge).state == "condition"
    prong(charge, 30, 30.5)
    assert state(charge).state == "condition"  # the worse of the two, cut together
    actions.void_stress_test(test=test, by=None, at=LATER)
    assert state(charge).is_done


def test_a_spread_section_says_that_it_was_conditioned_too_far():
    charge = running()
    measure(charge, [7.9, 8.0])
    prong(charge, 30, 36)
    assert state(charge).state == "over"


def test_a_kiln_that_cannot_condition_is_done_when_the_wettest_is():
    charge = running(KilnFactory(humidifies=False))
    measure(charge, [7.9, 8.0])
    assert state(charge).is_done


@pytest.mark.parametrize(("target_pct", "values"), [(8, [7.9, 8.6]), (15, [15.8, 15.2])])
def test_what_cooling_air_gave_back_leaves_it_done(target_pct, values):
    """The rule of the run's page: no more than a point, and only while cooling is the last that was set."""
    charge = running(KilnFactory(humidifies=False), target_pct=target_pct)
    measure(charge, values)
    assert not state(charge).is_done
    charge.records.create(at=LATER, phase="cooling")
    assert state(charge).is_done
    charge.records.create(at=LATER, phase="drying")
    assert not state(charge).is_done


def test_above_twelve_per_cent_the_mean_counts():
    charge = running(target_pct=15)
    measure(charge, [17.0, 14.0])
    assert state(charge).state == "wet"
    measure(charge, [16.0, 13.5])
    assert state(charge).is_done


def test_a_stack_that_was_not_read_keeps_the_charge_from_being_done():
    charge = running(stacks=2, target_pct=15)
    first = item_of(charge)
    actions.keep_measurement(item=first, method="capacitance", values=[14.0, 14.2], by=None, at=LATER)
    found = state(charge)
    assert (found.state, found.unread) == ("unread", 1)
    assert "1 stack is not read" in done_why(found)


def test_a_voided_reading_takes_its_measurement_with_it():
    charge = running()
    (kept,) = measure(charge, [7.9, 8.0])
    Reading.objects.filter(pk=kept.reading_id).update(voided_at=LATER, void_reason="wrong stack")
    assert measured(charge, items(charge))[0].last is None
    assert state(charge).state == "unread"


def test_the_verdict_is_en_14298s():
    """Target 8: mean 7 to 9, pieces 5.6 to 10.4, 93.5 % (table read second-hand, see drying.quality)."""
    charge = running()
    measure(charge, [7.8, 8.1, 8.4, 7.9], pairs=[(12.0, 7.0), (12.5, 7.2)])
    (one,) = measured(charge, items(charge))
    assert one.quality.verdict.passes
    assert "within 7.0 to 9.0" in verdict_words(one.quality)
    assert "wetter than the shell: equalise on" in gradient_words(one.quality)
    assert whole(charge, [one]).verdict.passes
    measure(charge, [7.8, 8.1, 13.0, 7.9])
    assert not measured(charge, items(charge))[0].quality.verdict.passes


def test_a_target_beyond_the_table_has_its_spread_alone():
    charge = running(target_pct=25)
    measure(charge, [24.0, 25.0])
    (one,) = measured(charge, items(charge))
    assert one.quality.verdict is None
    assert one.quality.spread.count == 2
    assert "no figures for a target of 25" in verdict_words(one.quality)


def test_one_board_tells_no_spread():
    charge = running()
    measure(charge, [8.0])
    assert measured(charge, items(charge))[0].quality.spread is None


def test_a_gaping_slice_calls_for_conditioning():
    """The gap as on 100 mm: 8 mm at 200 mm width is 2 mm, class quality; 16 mm is 4, no class (recalled bounds)."""
    charge = running()
    sizes = {"width_mm": 200.0, "note": ""}
    for gap in (8.0, 16.0):
        actions.keep_stress_test(
            item=item_of(charge), kind="gap", sizes=sizes | {"gap_mm": gap}, by=None, at=LATER + timedelta(days=gap)
        )
    gaping, close = stress(charge).tests
    assert (gaping.verdict, gaping.gap_class) == ("case_hardened", None)
    assert (close.verdict, close.gap_class) == ("stress_free", "quality")
    assert "Condition longer" in stress_why(gaping)


def test_the_second_look_is_given_once():
    test = prong(running(), 30, 29)
    with pytest.raises(ValidationError, match="looked at already"):
        actions.look_again(test=test, rested_mm=20, by=None, at=LATER)


def test_the_latest_degrade_of_a_kind_counts():
    charge = running()
    item = item_of(charge)
    for share in (10.0, 2.0):
        actions.keep_degrade(item=item, shares={"warp": share, "stain": 0.0}, by_volume=False, by=None, at=LATER)
    assert [(row.kind, row.share_pct) for row in degrade(charge)[item.stack_id]] == [("warp", 2.0), ("stain", 0.0)]


def address(charge, page):
    return f"/charges/{charge.pk}/{page}/{charge.stacks.first().stack.code}/"


def test_boards_are_measured_by_a_form_that_says_how(signed_in):
    charge = running()
    text = words(signed_in.get(address(charge, "closing")))
    for said in ("8 boards", "of 40", "pins 8 mm deep", "0.30 m, 2.00 m, 3.70 m", "data-outbox"):
        assert said in text
    sent = {"method": "pins", "values": "8,1 8.0 7.9", "core": "8.6", "shell": "7.8", "wood_temperature_c": "30"}
    text = words(signed_in.post(address(charge, "closing"), sent, follow=True))
    assert "Kept: 3 boards" in text
    kept = FinalMeasurement.objects.get()
    assert kept.reading.raw == [8.1, 8.0, 7.9]
    assert kept.pairs_raw == [[8.6, 7.8]]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"values": "8.1 x"}, "is no number"),
        ({"values": "810"}, "is outside 3 to 150"),
        ({"values": ""}, "at least one value"),
        ({"values": "8 8", "core": "9 9", "shell": "8"}, "2 values of the core and 1 of the shell"),
        ({"values": "8 8", "wood_temperature_c": "warm"}, "Enter a number"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(signed_in, typed, said):
    charge = running()
    text = words(signed_in.post(address(charge, "closing"), {"method": "capacitance"} | typed), 422)
    assert said in text
    assert all(f'value="{value}"' in text for value in typed.values() if value)
    assert not FinalMeasurement.objects.exists()


def test_a_form_sent_twice_is_kept_once(signed_in):
    charge = running()
    sent = {"method": "capacitance", "values": "8 8", "key": "0b5d3c3e-5c1b-4e0c-9d58-0a4a2f6f1c11"}
    for _time in range(2):
        signed_in.post(address(charge, "closing"), sent)
    assert FinalMeasurement.objects.count() == 1


def test_a_stack_of_another_charge_is_not_found(signed_in):
    charge, other = running(), running()
    code = other.stacks.get().stack.code
    for page in ("closing", "degrade"):
        assert signed_in.get(f"/charges/{charge.pk}/{page}/{code}/").status_code == 404


def test_a_prong_section_is_kept_and_looked_at_again(signed_in):
    charge = running()
    code = charge.stacks.get().stack.code
    sent = {"kind": "prong", "stack": code, "prong_mm": "90", "fresh_mm": "24"}
    assert "Look at it again tomorrow" in words(signed_in.post(f"/charges/{charge.pk}/stress/", sent, follow=True))
    test = StressTest.objects.get()
    page = f"/charges/stress-tests/{test.pk}/"
    assert "Tips apart now" in words(signed_in.get(page))
    assert "the tips close in" in words(signed_in.post(page, {"rested_mm": "20"}, follow=True))
    assert "no longer counts" in words(signed_in.post(page, {"void": "1"}, follow=True))


def test_a_slice_has_its_own_form_and_wrong_sizes_are_told(signed_in):
    charge = running()
    assert "Gap between the halves" in words(signed_in.get(f"/charges/{charge.pk}/stress/?kind=gap"))
    sent = {"kind": "gap", "stack": charge.stacks.get().stack.code, "gap_mm": "3", "width_mm": "9"}
    text = words(signed_in.post(f"/charges/{charge.pk}/stress/", sent), 422)
    assert "from 40 to 300 mm" in text
    assert signed_in.get(f"/charges/{charge.pk}/stress/?kind=guess").status_code == 404


def test_degrade_is_tapped(signed_in):
    charge = running()
    assert "at least one kind" in words(signed_in.post(address(charge, "degrade"), {}), 422)
    signed_in.post(address(charge, "degrade"), {"warp": "10", "honeycomb": "0"})
    assert {(row.kind, row.share_pct) for row in Degrade.objects.all()} == {("warp", 10.0), ("honeycomb", 0.0)}
    assert "Warp 10 %" in words(signed_in.get(f"/charges/{charge.pk}/closing/"))


def test_a_charge_not_started_has_nothing_to_close(signed_in):
    assert "has not been started" in words(signed_in.get(f"/charges/{charge_of(course=COURSE).pk}/closing/"))


def test_the_pages_ask_as_often_for_six_stacks_as_for_two(signed_in):
    counts = []
    for number in (2, 2, 6):
        charge = running(stacks=number)
        measure(charge, [8.0, 8.1])
        prong(charge, 30, 29)
        counts.append(queries_of(signed_in, f"/charges/{charge.pk}/closing/"))
    assert counts[1] == counts[2]
