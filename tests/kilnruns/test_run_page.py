"""The page of a running charge: the next thing first, what to mind, what was noted; by records up to now."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from kilnruns import running
from kilnruns.models import RunRecord, SensorSeries, StressTest
from kilnruns.templatetags.run_words import next_why, watch_words
from tests.kilnruns.factories import SensorDeviceFactory, charge_of, ready_stack
from yard.actions.readings import add_reading
from yard.models import Method, SampleBoard

pytestmark = pytest.mark.django_db
NOW = timezone.now()
OUTSIDE_C = 15.0


def ago(days):
    return NOW - timedelta(days=days)


def run_of(weighed=(), days=10, **kwargs):
    """A charge that has run for `days`; `weighed`: (days ago, moisture %) of each board, of 1000 g oven-dry."""
    stack = ready_stack()
    charge = charge_of(stack, **kwargs)
    charge.started_at = ago(days)
    charge.save()
    charge.stacks.update(loaded_at=charge.started_at)
    for number, weighings in enumerate(weighed):
        label = "ABCDEF"[number]
        SampleBoard.objects.create(
            stack=stack, label=label, green_mass_g=2000, oven_dry_mass_g=1000, made_on=ago(days).date()
        )
        for before, pct in weighings:
            add_reading(
                stack=stack,
                method=Method.SAMPLE_BOARD,
                raw=[1000 + 10 * pct],
                sample_labels=[label],
                taken_at=ago(before),
                by=None,
            )
    return charge


def note(charge, days_ago=0.1, **fields):
    return RunRecord.objects.create(charge=charge, at=ago(days_ago), **fields)


def told(charge):
    charge = type(charge).objects.prefetch_related("stacks__stack__species").get(pk=charge.pk)
    run = running.read(charge)
    one = running.next_thing(run, NOW, OUTSIDE_C)
    return one, {watch.code: watch for watch in running.watches(run, one.setting, NOW)}


def test_what_was_measured_before_the_start_rules_no_more_once_something_was_since():
    """A stack read by meter at the door at 40 % must not hold back the step of boards that are weighed each day."""
    charge = run_of([[(0.2, 12)]], days=5)
    other = ready_stack()
    charge.stacks.create(stack=other, volume_m3=1, loaded_at=charge.started_at)
    add_reading(stack=other, method=Method.OVEN_DRY, raw=[[140, 100]], taken_at=ago(6), by=None)
    note(charge, 1, phase="drying", step=1)
    one, watches = told(charge)
    assert (one.code, one.setting.step) == ("go_on", 2)
    assert one.figures["wettest_pct"] == pytest.approx(12)
    assert "lags" not in watches


def test_without_a_moisture_the_samples_are_asked_for():
    assert told(run_of())[0].code == "sample"


def test_it_warms_up_then_goes_to_the_first_step():
    charge = run_of([[(0.2, 60)]], days=1)
    assert told(charge)[0].code == "warm_up"
    note(charge, phase="warm_up", dry_bulb_c=47, wet_bulb_c=44)
    one = told(charge)[0]
    assert (one.code, one.setting.step, one.setting.dry_bulb_c) == ("go_on", 1, 48)


def test_the_step_follows_the_wettest_half_and_lateness_is_told():
    """Step 2 begins at 15 %: passed half way between 17 % four days ago and 13 % two days ago."""
    charge = run_of([[(4, 17), (2, 13)], [(4, 12), (2, 10)]])
    note(charge, 5, phase="drying", step=1)
    one, _watches = told(charge)
    assert (one.code, one.setting.step, one.set_step) == ("go_on", 2, 1)
    assert one.late_days == pytest.approx(3)
    note(charge, phase="drying", step=2)
    assert told(charge)[0].code != "go_on"


def test_a_kiln_set_ahead_of_its_wood_goes_back():
    charge = run_of([[(0.2, 40)]])
    note(charge, 1, phase="drying", step=2)
    assert told(charge)[0].code == "back"


def test_set_as_it_ought_to_be_it_says_when_to_weigh_and_when_the_next_step_comes():
    charge = run_of([[(2.1, 30), (0.1, 24)]])
    note(charge, 1, phase="drying", step=1)
    one = told(charge)[0]
    assert one.code == "wait"
    assert one.due == ago(0.1) + timedelta(days=1)
    assert one.figures["days_to_bound"] == pytest.approx(3), "9 % to go at 3 % a day"


def test_weighing_is_due_after_a_day_and_told_late():
    charge = run_of([[(4.5, 30), (2.5, 24)]])
    note(charge, 3, phase="drying", step=1)
    one = told(charge)[0]
    assert one.code == "weigh"
    assert one.late_days == pytest.approx(1.5)


def test_the_closing_goes_by_the_published_rule():
    """Wengert, equalizing and conditioning: begin when the driest is at target - 2, stop when the wettest is there."""
    charge = run_of([[(0.2, 6)], [(0.1, 9)]])
    note(charge, 1, phase="drying", step=2)
    one = told(charge)[0]
    assert (one.code, one.setting.emc_pct) == ("equalise", 6)
    note(charge, 0.1, phase="equalising")
    assert told(charge)[0].code == "wait"


def test_dry_it_cools_and_is_unloaded_once_cool():
    charge = run_of([[(0.3, 7.5)], [(0.3, 7.9)]])
    note(charge, 1, phase="equalising")
    assert told(charge)[0].code == "cool", "this kiln can't condition"
    note(charge, 0.2, phase="cooling", dry_bulb_c=50)
    assert told(charge)[0].code == "wait"
    note(charge, 0.1, dry_bulb_c=34)
    assert told(charge)[0].code == "unload"


def test_a_kiln_that_cannot_condition_does_not_fall_back_from_cooling_over_scatter():
    """Boards take up a little in cooling air, and balances scatter; a board that is truly wet does send it back."""
    charge = run_of([[(0.3, 7.5)], [(0.3, 7.9), (0.15, 8.6)]])
    note(charge, 1, phase="equalising")
    note(charge, 0.2, phase="cooling", dry_bulb_c=50)
    assert told(charge)[0].code == "wait"
    note(charge, 0.1, dry_bulb_c=34)
    assert told(charge)[0].code == "unload"
    weigh(charge, "B", 9.4)
    assert told(charge)[0].code == "equalise"
    note(charge, 0.04, phase="equalising")
    assert told(charge)[0].code == "wait"


def test_cooling_that_was_broken_off_counts_no_more():
    """Noted at 11 % by mistake, and put right: it goes on to the target, not to where the mistake would do."""
    charge = run_of([[(0.3, 10.9)], [(0.3, 11.0)]])
    note(charge, 0.25, phase="cooling", dry_bulb_c=50)
    assert told(charge)[0].code == "back"
    note(charge, 0.2, phase="drying", step=2)
    assert told(charge)[0].code == "wait"
    for label in "AB":
        weigh(charge, label, 8.6)
    assert told(charge)[0].code != "cool"
    for label in "AB":
        weigh(charge, label, 7.9, days_ago=0)
    assert told(charge)[0].code == "cool"


def test_a_flat_stress_test_is_not_the_end_where_the_kiln_cannot_condition():
    charge = run_of([[(0.3, 7.0)], [(0.3, 9.5)]])
    note(charge, 1, phase="equalising")
    prongs(charge, 2, rested_mm=20.0)
    assert running.read(charge).stress.verdict == "stress_free"
    assert told(charge)[0].code == "wait"


def test_building_timber_does_not_fall_back_from_cooling_over_scatter():
    charge = run_of([[(0.3, 14.9), (0.15, 15.4)]], target_pct=15)
    note(charge, 0.2, phase="cooling", dry_bulb_c=50)
    assert told(charge)[0].code == "wait"
    weigh(charge, "A", 16.5)
    assert told(charge)[0].code == "back"


def weigh(charge, label, pct, days_ago=0.05):
    stack = charge.stacks.first().stack
    mass = 1000 + 10 * pct
    when = ago(days_ago)
    add_reading(stack=stack, method=Method.SAMPLE_BOARD, raw=[mass], sample_labels=[label], taken_at=when, by=None)


def test_a_kiln_that_humidifies_conditions():
    charge = run_of([[(0.3, 7.5)]])
    charge.kiln.humidifies = True
    charge.kiln.save()
    charge.course = {**charge.course, "notes": []}
    charge.save()
    one = told(charge)[0]
    assert (one.code, one.setting.emc_pct) == ("condition", 11)


def test_a_board_that_loses_more_than_its_wood_bears_is_told():
    charge = run_of([[(1.1, 70), (0.1, 40)]])
    note(charge, dry_bulb_c=48, wet_bulb_c=35)
    watch = told(charge)[1]["too_fast"]
    assert (watch.level, watch.sure, watch.about) == ("act", "sure", "A")
    assert watch.figures["loss_pct_per_day"] == pytest.approx(30)


@pytest.mark.parametrize(
    ("noted", "code"),
    [
        ({"fans": "off"}, "fans_off"),
        ({"dry_bulb_c": 61.0}, "kiln_too_hot"),
        ({"dry_bulb_c": 53.0}, "wood_too_hot"),
        ({"dry_bulb_c": 48.0, "humidity_pct": 50}, "air_dry"),
        ({"dry_bulb_c": 48.0, "humidity_pct": 95}, "air_damp"),
        ({"dry_bulb_c": 40.0, "heater_steps": 0}, "heater_steps_off"),
        ({"dry_bulb_c": 40.0, "heater_steps": 1}, "heater_limit"),
        ({"dry_bulb_c": 40.0}, "heater_short"),
    ],
)
def test_what_is_noted_is_watched(noted, code):
    charge = run_of([[(0.2, 40)]])
    note(charge, 2, phase="drying", step=1)
    assert code not in told(charge)[1]
    note(charge, **noted)
    assert code in told(charge)[1]


def test_a_well_kept_run_has_nothing_to_mind():
    charge = run_of([[(2.1, 30), (0.1, 24)], [(2.1, 29), (0.1, 23)]])
    note(charge, phase="drying", step=1, dry_bulb_c=48, wet_bulb_c=43, fans="running", heater_steps=1)
    assert told(charge)[1] == {}


def test_a_sample_that_lags_and_days_without_a_record_are_told():
    watched = told(run_of([[(2.5, 40)], [(2.5, 20)]]))[1]
    assert watched["lags"].about == "A"
    assert (watched["no_record"].level, round(watched["no_record"].figures["days"], 1)) == ("act", 2.5)


def test_a_sensor_tells_the_air_and_its_silence_is_told():
    charge = run_of([[(0.2, 40)]])
    device = SensorDeviceFactory(kiln=charge.kiln, heard_at=ago(0.5))
    at = int(ago(0.5).timestamp())
    SensorSeries.objects.create(device=device, quantity="dry_bulb_c", last_second=at, last_value=48)
    SensorSeries.objects.create(device=device, quantity="humidity_pct", last_second=at, last_value=50)
    watched = told(charge)[1]
    assert watched["air_dry"].sure == "sure"
    assert "silent" in watched


def test_a_voided_record_no_longer_counts_but_stays_in_sight(signed_in):
    charge = run_of([[(0.2, 40)]])
    note(charge, fans="off", voided_at=NOW, void_reason="Misread")
    assert "fans_off" not in told(charge)[1]
    assert "Misread" in signed_in.get(f"/charges/{charge.pk}/").content.decode()


def words(browser, charge):
    return " ".join(browser.get(f"/charges/{charge.pk}/").content.decode().replace("\u202f", " ").split())


def test_the_page_says_the_next_thing_and_why(signed_in):
    charge = run_of([[(4, 17), (2, 13)]])
    note(charge, 5, phase="drying", step=1, fans="off", note="Belt sings")
    text = words(signed_in, charge)
    for said in ("Go to step 2: 56 °C, wet bulb 43 °C", "at 13.0 %", "days ago", "fans are off", "Belt sings", "Sure:"):
        assert said in text


@pytest.mark.parametrize("code", ["sample", "warm_up", "equalise", "cool"])
def test_each_next_thing_has_words(signed_in, code):
    weighed = {"sample": (), "warm_up": [[(0.1, 60)]], "equalise": [[(0.1, 6)], [(0.1, 9)]], "cool": [[(0.1, 7)]]}
    verb = {"sample": "Weigh the sample boards now", "warm_up": "Warm up to 48", "equalise": "Equalise: 56"}
    assert verb.get(code, "let it cool") in words(signed_in, run_of(weighed[code]))


def test_the_page_makes_the_same_queries_however_much_was_noted(signed_in):
    counts = []
    for many in (1, 6):
        charge = run_of([[(1 + n / 10, 40), (n / 10, 38)] for n in range(many)])
        for n in range(many):
            note(charge, n / 10, phase="drying", step=1)
        with CaptureQueriesContext(connection) as asked:
            assert signed_in.get(f"/charges/{charge.pk}/").status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_the_chart_has_samples_forecast_air_and_steps_and_the_same_as_a_table(signed_in):
    charge = run_of([[(4, 17), (2, 13)]])
    curve = {"days": [0, 6, 12], "mean_pct": [20, 12, 8]}
    charge.course = {**charge.course, "run": {"curve": curve, "limits": {}}}
    charge.save()
    note(charge, 5, phase="drying", step=1, dry_bulb_c=48)
    text = words(signed_in, charge)
    assert text.count('class="reading-dot"') == 3, "two weighings and one of the air"
    assert 'class="spread"' in text and 'class="ahead"' in text
    assert '<td>set to</td><td class="n">step 1</td>' in text
    assert '<td>dry bulb</td><td class="n">48 °C</td>' in text


def test_today_says_what_a_running_kiln_asks_for(signed_in):
    charge = run_of([[(2.5, 40)]])
    text = " ".join(signed_in.get("/").content.decode().replace("\u202f", " ").split())
    assert f"{charge.kiln}: Warm up to 48" in text
    assert "Nothing noted for 2.5 days" in text


def test_today_makes_the_same_queries_for_many_runs(signed_in):
    counts = []
    for _again in range(2):
        run_of([[(2.5, 40)]])
        run_of([[(2.5, 30), (0.5, 25)]])
        run_of()
        with CaptureQueriesContext(connection) as asked:
            assert signed_in.get("/").status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def conditioned(hours, **kwargs):
    """A run whose boards are at the target, conditioned for so long."""
    charge = run_of([[(12, 60), (0.2, 7.9)], [(12, 55), (0.1, 7.5)]], days=12, **kwargs)
    charge.kiln.humidifies = True
    charge.kiln.save()
    charge.course = {**charge.course, "notes": [], "run": {"conditioning": {"hours": 20}}}
    charge.save()
    note(charge, hours / 24, phase="conditioning", dry_bulb_c=56, humidity_pct=80)
    return charge


def prongs(charge, hours_ago, rested_mm, fresh_mm=20.0):
    return StressTest.objects.create(
        charge=charge,
        stack=charge.stacks.get().stack,
        kind="prong",
        at=NOW - timedelta(hours=hours_ago),
        prong_mm=100,
        fresh_mm=fresh_mm,
        rested_mm=rested_mm,
    )


def test_the_stress_test_is_asked_for_after_the_model_s_hours_and_ends_the_conditioning():
    charge = conditioned(8)
    one = told(charge)[0]
    assert (one.code, one.due - NOW) == ("hold", timedelta(hours=12))
    charge = conditioned(21)
    assert told(charge)[0].code == "stress_test"
    test = prongs(charge, 1, None)
    one = told(charge)[0]
    assert (one.code, one.figures["resting"], one.due - NOW) == ("hold", 1, timedelta(hours=23))
    test.at -= timedelta(hours=24)
    test.save()
    assert told(charge)[0].code == "look_again"


def test_a_test_that_is_case_hardened_goes_on_with_it_and_one_that_lies_flat_ends_it():
    charge = conditioned(40)
    hard = prongs(charge, 2, rested_mm=14.0, fresh_mm=20.0)
    assert running.read(charge).stress.verdict == "case_hardened"
    one = told(charge)[0]
    assert (one.code, one.figures["hardened"], one.due - NOW) == ("hold", 1, timedelta(hours=3))
    assert "still case-hardened" in next_why(one)
    hard.voided_at, hard.void_reason = NOW, "crooked cut"
    hard.save()
    prongs(charge, 1, rested_mm=20.0)
    assert running.read(charge).stress.verdict == "stress_free"
    assert told(charge)[0].code == "cool"


def test_stress_so_far_is_told_ahead_of_the_wood_and_as_past():
    mild = run_of([[(1, 60), (0.2, 58)]], days=1)
    note(mild, 1, dry_bulb_c=43, humidity_pct=88)
    assert not {"stress_ahead", "stress_past", "stress"} & set(told(mild)[1])
    hard = run_of([[(1, 60), (0.2, 55)]], days=1)
    note(hard, 1, dry_bulb_c=58, humidity_pct=12)
    watch = told(hard)[1]["stress_ahead"]
    assert watch.level == "act"
    assert watch.figures["ahead"] >= watch.figures["index"] > 0.8
    assert "comes to" in watch_words(watch)
    note(hard, 0.31, dry_bulb_c=58, humidity_pct=12)
    note(hard, 0.3, dry_bulb_c=45, humidity_pct=92)
    eased = told(hard)[1]
    assert eased["stress_past_plain"].figures["worst"] > 1.2
    assert eased["stress_past_plain"].level == "mind"


def words_of(answer):
    return answer.content.decode().replace("\u202f", " ").replace("\xa0", " ")


def test_a_charge_s_page_says_which_stacks_get_sample_boards_and_why(signed_in):
    thin, thick = ready_stack(), ready_stack(thickness_mm=50)
    charge = charge_of(thin, thick)
    text = words_of(signed_in.get(f"/charges/{charge.pk}/"))
    assert "the slowest to dry" in text
    assert "0 of " in text
    assert f"/stacks/{thick.code}/samples/" in text


@pytest.mark.parametrize(
    ("sections", "green_g", "weighings"),
    [
        (("182.4", "98.6", "176.9", "97.2"), "4820", (("4310", "64.1"), ("3620", "37.8"), ("2790", "6.2"))),
        (("180.0", "110.0", "172.0", "108.0"), "2340", (("1855", "28.0"),)),
    ],
)
def test_the_worked_examples_of_sample_boards_through_the_app(signed_in, sections, green_g, weighings):
    """Worked examples 2.1 and 12.1 by the published method (Wengert, oak-drying series, step 3B): sections, mass when
    cut, then masses in the kiln; 2.1 gives 2626.8 g oven-dry, 12.1 1449.4 g."""
    charge = run_of(days=1)
    stack = charge.stacks.get().stack
    wet_1, dry_1, wet_2, dry_2 = sections
    form = {"label": "A", "green_mass_g": green_g, "made_on": ago(1).date().isoformat()}
    form |= {"wet_1": wet_1, "dry_1": dry_1, "wet_2": wet_2, "dry_2": dry_2}
    assert signed_in.post(f"/stacks/{stack.code}/samples/", form).status_code == 302
    board = SampleBoard.objects.get()
    expected = {"4820": 2626.8, "2340": 1449.4}[green_g]
    assert board.oven_dry_mass_g == pytest.approx(expected, abs=0.75)  # the example rounds the sections' mean to 0.1 %
    for mass, moisture in weighings:
        answer = signed_in.post(f"/charges/{charge.pk}/records/new/", {f"mass_{board.pk}": mass})
        assert answer.status_code == 302
        assert f"{moisture} %" in words_of(signed_in.get(f"/charges/{charge.pk}/")) or float(moisture) >= 30
        told_pct = running.read(type(charge).objects.get(pk=charge.pk)).samples_pct
        assert told_pct[0] == pytest.approx(float(moisture), abs=0.06)
