"""Steaming in the middle of a run: asked for where the shell has set, recorded, ended, told in chart and page."""

from datetime import timedelta

import pytest

from kilnruns import running
from kilnruns.closing.rule import standing
from kilnruns.models import Phase, RunRecord
from kilnruns.running.steaming import STEAM_HOURS
from kilnruns.templatetags.run_words import next_verb, next_when, next_why
from tests.kilnruns.test_run_page import NOW, note, prongs, run_of, told, words

pytestmark = pytest.mark.django_db


def set_hard(moisture=22, humidifies=True):
    """A run in its first step whose test, an hour ago, closed its prongs."""
    charge = run_of([[(9.8, 60), (2.1, moisture + 4), (0.1, moisture)]])
    charge.kiln.humidifies = humidifies
    charge.kiln.save()
    charge.course = {**charge.course, "notes": [] if humidifies else ["no_humidifying"]}
    charge.save()
    note(charge, 1, phase="drying", step=1)
    prongs(charge, 1, rested_mm=14.0)
    return charge


def test_a_case_hardened_test_asks_for_steam_no_hotter_than_the_step_and_damp():
    one = told(set_hard())[0]
    assert (one.code, one.figures["steam_dry_c"], one.figures["steam_wet_c"]) == ("steam", 48, 46)
    assert next_verb(one) == "Steam for 2 h before heating on: 48\u202f°C, wet bulb 46\u202f°C"
    assert "case-hardened" in next_why(one)
    assert (one.setting.dry_bulb_c, one.setting.wet_bulb_c) == (48, 43), "until then the air is judged by the step's"


def test_it_comes_before_the_hotter_step_that_is_due():
    charge = set_hard(14)
    one = told(charge)[0]
    assert (one.code, one.figures["steam_dry_c"], one.setting.step) == ("steam", 48, 1), "step 2 has 56 °C"
    RunRecord.objects.create(charge=charge, at=NOW - timedelta(hours=3), phase=Phase.STEAMING)
    assert next_verb(told(charge)[0]) == "End the steaming, then step 2: 56\u202f°C, wet bulb 43\u202f°C"


def test_while_it_cools_the_dry_bulb_is_asked_for_and_no_weighing():
    charge = run_of([[(0.3, 7.5)]])
    note(charge, 0.1, phase="cooling", dry_bulb_c=50)
    one = told(charge)[0]
    assert (one.code, next_when(one).startswith("Read the dry bulb again")) == ("wait", True)
    assert "within 20\u202f°C" in next_why(one)


@pytest.mark.parametrize(("moisture", "humidifies"), [(22, False), (40, True), (11, True)])
def test_nor_in_a_kiln_without_steam_nor_of_wet_wood_nor_at_the_end(moisture, humidifies):
    assert told(set_hard(moisture, humidifies))[0].code not in ("steam", "steam_on", "steam_over")


def test_without_a_test_the_stress_so_far_asks_for_it():
    charge = set_hard()
    charge.stress_tests.all().delete()
    assert told(charge)[0].code == "wait"
    note(charge, 9, dry_bulb_c=58, humidity_pct=12)
    one = told(charge)[0]
    assert (one.code, one.figures["worst"] > 1.2) == ("steam", True)
    assert "above 1.2 the shell sets" in next_why(one)


def test_recorded_it_lasts_two_hours_then_goes_back_and_is_not_asked_for_again():
    charge = set_hard()
    begun = RunRecord.objects.create(charge=charge, at=NOW - timedelta(minutes=30), phase=Phase.STEAMING)
    one = told(charge)[0]
    assert (one.code, one.due) == ("steam_on", begun.at + timedelta(hours=STEAM_HOURS))
    assert next_when(one).startswith("Until ")
    assert one.setting.wet_bulb_c == 46
    begun.at = NOW - timedelta(hours=2.5)
    begun.save()
    charge.stress_tests.update(at=NOW - timedelta(hours=4))
    one = told(charge)[0]
    assert (one.code, next_verb(one)) == (
        "steam_over",
        "End the steaming, then step 1: 48\u202f°C, wet bulb 43\u202f°C",
    )
    note(charge, 0.01, phase="drying", step=1)
    assert told(charge)[0].code == "wait"


def test_it_is_noted_like_any_visit_and_stands_in_chart_and_list(signed_in):
    charge = set_hard()
    assert "Steam for 2 h before heating on" in words(signed_in, charge)
    answer = signed_in.post(f"/charges/{charge.pk}/records/new/", {"phase": "steaming", "dry_bulb_c": "48"})
    assert answer.status_code == 302
    text = words(signed_in, charge)
    assert "Steaming: hold 48 °C, wet bulb 46 °C" in text
    assert '<td>set to</td><td class="n">steaming</td>' in text
    assert "Steam burns" in text


def test_a_kiln_without_steam_gets_the_other_advice(signed_in):
    charge = run_of([[(9.5, 60), (0.1, 40)]])
    note(charge, 9, dry_bulb_c=58, humidity_pct=12)
    note(charge, 0.1, dry_bulb_c=40, humidity_pct=88)
    watched = told(charge)[1]
    assert "stress_past_plain" in watched and "stress_past" not in watched
    assert "This kiln adds no moisture" in words(signed_in, charge)


def test_run_page_and_closing_page_go_by_one_rule():
    """Conditioned boards are wetter than the target: neither page sends the kiln back to equalising."""
    charge = run_of([[(3, 7.5), (0.1, 9.5)]])
    charge.kiln.humidifies = True
    charge.kiln.save()
    charge.course = {**charge.course, "notes": []}
    charge.save()
    note(charge, 1, phase="conditioning")
    run = running.read(charge)
    assert told(charge)[0].setting.phase == "conditioning"
    assert standing(charge, list(charge.stacks.all()), run.stress).state == "condition"
