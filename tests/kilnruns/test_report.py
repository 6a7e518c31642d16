"""The report of a finished charge, its files, a kiln's runs side by side, and what they teach of its walls."""

import csv
import io
import json
from datetime import timedelta

import psychrolib
import pytest

from drying.wood import equilibrium_moisture_pct
from kilnruns.actions import closing as actions
from kilnruns.closing.lessons import lessons
from kilnruns.closing.report import report
from kilnruns.closing.rows import charges, rows_of
from kilnruns.closing.runs import runs_of
from kilnruns.models import KilnLesson, RunCosts, RunRecord
from kilnruns.planning.basis import basis
from kilnruns.planning.chambers import chamber
from tests.kilnruns.closed import BEGUN, finished, item_of, running
from tests.kilnruns.factories import KilnFactory, PlanFactory, charge_of
from tests.yard.queries import queries_of

pytestmark = pytest.mark.django_db
psychrolib.SetUnitSystem(psychrolib.SI)


def words(response, status=200):
    assert response.status_code == status
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def told(charge):
    return report(rows_of(charges().get(pk=charge.pk)))


def codes(charge):
    return {one.code for one in told(charge).advice}


def test_the_account_of_a_run():
    """By hand: 1 stack of 40 x 4 m x 150 mm x 27 mm = .648 m3 at 400 kg/m3; 20 to 7.925 % leave 31.3 kg; 10 days at
    5 and 450 kWh at .30 are 50 + 135; Wood Handbook (4-7): 12 % volumetric, 7.925 % leave .648 x (1 - .12 x .7358)."""
    found = told(finished()).account
    after = found.after_pct
    assert (found.days, found.energy.kwh, found.energy.source) == (10, 450, "meter")
    assert found.green_m3 == pytest.approx(0.648)
    assert found.before_pct == 20
    assert found.water_kg == pytest.approx(0.648 * 400 * (20 - after) / 100)
    assert found.dry_m3 == pytest.approx(0.648 * (1 - 0.12 * (30 - after) / 30))
    assert (found.bill.energy, found.bill.labour, found.bill.kiln) == (135, None, 50)
    assert found.bill.per_m3 == pytest.approx(185 / 0.648)


def test_it_is_held_against_the_forecast_kept_with_the_charge():
    found = {one.name: one for one in told(finished()).account.deviations}
    assert (found["days"].forecast, found["days"].found) == (8, 10)
    assert found["days"].more_pct == pytest.approx(25)
    assert found["electricity_kwh"].more_pct == pytest.approx(25)
    assert set(found) == {"days", "electricity_kwh", "cost_per_m3", "kwh_per_kg"}


def test_without_a_meter_the_power_is_estimated_and_not_held_against_itself():
    found = told(finished(metered=False)).account
    assert (found.energy.kwh, found.energy.source) == (360, "estimated")
    assert [one.name for one in found.deviations] == ["days"]


def test_a_meter_read_over_half_the_run_is_told_but_not_compared():
    charge = finished()
    RunRecord.objects.filter(at__gt=BEGUN + timedelta(days=5)).delete()
    found = told(charge).account
    assert (found.energy.kwh, found.energy.is_part) == (225, True)
    assert [one.name for one in found.deviations] == ["days"]


def test_work_and_another_meter_are_added_by_a_person(signed_in):
    charge = finished()
    page = f"/charges/{charge.pk}/report/"
    sent = {"labour_hours": "8", "hourly_rate": "25,5", "energy_kwh": "500"}
    assert "204 EUR" in words(signed_in.post(page + "costs/", sent, follow=True))
    found = told(charge).account
    assert (found.bill.labour, found.energy.kwh, found.energy.source) == (204, 500, "other")
    text = words(signed_in.post(page + "costs/", {"labour_hours": "-1"}), 422)
    assert 'value="-1"' in text
    assert RunCosts.objects.get().labour_hours == 8
    assert 'value="25.5"' in words(signed_in.get(f"/charges/{finished().pk}/report/"))


def test_the_page_says_it_all(signed_in):
    charge = finished()
    item = item_of(charge)
    sizes = {"prong_mm": 90.0, "fresh_mm": 24.0, "rested_mm": 24.2}
    actions.keep_stress_test(item=item, kind="prong", sizes=sizes, by=None, at=charge.unloaded_at)
    actions.keep_degrade(item=item, shares={"honeycomb": 10.0}, by_volume=True, by=None, at=charge.unloaded_at)
    text = words(signed_in.get(f"/charges/{charge.pk}/report/"))
    for said in (
        "keeps EN 14298", "450 kWh by the meter", "50 EUR", "25 % more", "Free of stress",
        "Honeycomb: 10 % of the volume",
        "Raise the heat only when the core is below about 25 %", "AH-188, recalled", "Dashed: forecast",
        "31 kg of water",
    ):  # fmt: skip
        assert said in text, said


def test_what_to_change_follows_fixed_rules():
    charge = finished(values=(5.5, 6.8, 9.0, 6.0))
    assert {"uneven", "too_dry", "slower", "more_power"} <= codes(charge)
    assert "unseen" not in codes(charge)
    assert "unseen" in codes(finished(metered=False))
    actions.keep_degrade(
        item=item_of(charge), shares={"warp": 4.0, "stain": 25.0}, by_volume=False, by=None, at=charge.unloaded_at
    )
    assert "stain" in codes(charge)
    assert "warp" not in codes(charge)


def test_a_good_run_has_nothing_to_change(signed_in):
    charge = finished(days=8)
    assert codes(charge) == set()
    assert "Nothing to change" in words(signed_in.get(f"/charges/{charge.pk}/report/"))


def test_the_same_figures_go_into_a_file(signed_in):
    charge = finished()
    response = signed_in.get(f"/charges/{charge.pk}/report.csv")
    assert "attachment" in response["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(response.content.decode())))
    found = {(row["section"], row["quantity"]): row["value"] for row in rows}
    assert found["charge", "electricity_kwh"] == "450.0"
    assert found["account", "en_14298"] == "kept"
    assert sum(row["section"] == "board" for row in rows) == 4
    whole = json.loads(signed_in.get(f"/charges/{charge.pk}/report.json").content)
    assert whole["format"] == "drystack-run-1"
    assert set(whole["columns"]) == set(rows[0]) == set(whole["rows"][0])
    assert len(whole["rows"]) == len(rows)


def test_a_word_that_looks_like_a_formula_is_no_formula_in_the_file(signed_in):
    charge = finished(KilnFactory(place__name="=1+1", humidifies=True))
    assert "'=1+1" in signed_in.get(f"/charges/{charge.pk}/report.csv").content.decode()


def test_a_run_that_goes_on_has_no_report_yet(signed_in):
    for charge in (charge_of(), running()):
        assert "No report yet" in words(signed_in.get(f"/charges/{charge.pk}/report/"))
        assert signed_in.get(f"/charges/{charge.pk}/report.csv").status_code == 404


def test_shrinkage_is_held_against_the_table():
    charge = finished()
    actions.keep_measurement(
        item=item_of(charge), method="capacitance", values=[8.0, 8.0], dried_mm=[25.5, 25.7], by=None,
        at=charge.unloaded_at + timedelta(hours=1),
    )  # fmt: skip
    (one,) = told(charge).shrinkages
    assert one.shrinkage.measured_mm == pytest.approx(25.6)


def test_runs_of_a_kiln_stand_side_by_side_in_a_fixed_number_of_queries(signed_in):
    kiln = KilnFactory(humidifies=True)
    assert "None finished yet" in words(signed_in.get(f"/kilns/{kiln.pk}/"))
    finished(kiln)
    one = queries_of(signed_in, f"/kilns/{kiln.pk}/")
    finished(kiln, metered=False)
    finished(kiln, stacks=3)
    text = words(signed_in.get(f"/kilns/{kiln.pk}/"))
    assert text.count("/report/") == 3
    assert "estimated" in text
    assert queries_of(signed_in, f"/kilns/{kiln.pk}/") == one


def test_the_report_asks_as_often_for_three_stacks_as_for_one(signed_in):
    counts = [queries_of(signed_in, f"/charges/{finished(stacks=number).pk}/report/") for number in (1, 1, 3)]
    assert counts[1] == counts[2]


def taught(kiln):
    return lessons(kiln, runs_of(kiln))


def test_a_metered_run_tells_of_the_walls_and_nothing_changes_by_itself():
    kiln = KilnFactory(humidifies=True)
    finished(kiln)
    found = taught(kiln).walls
    assert found.own == kiln.wall_u_w_m2k == 0.5
    assert found.differs
    assert found.found.band[0] < found.found.value < found.found.band[1]
    kiln.refresh_from_db()
    assert kiln.wall_u_w_m2k == 0.5


@pytest.mark.parametrize("lacking", ["meter_kwh", "dry_bulb_c"])
def test_a_run_without_meter_or_air_tells_nothing(lacking):
    kiln = KilnFactory(humidifies=True)
    finished(kiln)
    RunRecord.objects.update(**{lacking: None})
    assert taught(kiln).walls is None


def test_a_damper_air_than_called_for_is_told():
    kiln = KilnFactory(humidifies=True)
    finished(kiln)
    before = taught(kiln).held
    RunRecord.objects.update(humidity_pct=80)
    assert taught(kiln).held.more_pct > before.more_pct + 3
    RunRecord.objects.update(humidity_pct=None, wet_bulb_c=None)
    assert taught(kiln).held is None


def test_shut_vents_tell_of_the_leak():
    kiln = KilnFactory(humidifies=True)
    finished(kiln)
    assert taught(kiln).leak is None
    RunRecord.objects.filter(at__lt=BEGUN + timedelta(days=4)).update(vents_pct=0)
    found = taught(kiln).leak
    assert found.found.runs == 3
    assert found.found.value > 0


def test_an_owner_takes_it_over_and_the_next_plan_counts_with_it_and_says_so(owner_in, signed_in):
    kiln = KilnFactory(humidifies=True)
    finished(kiln)
    before = basis(careful=False)["kilns"]
    page = f"/kilns/{kiln.pk}/lessons/"
    assert signed_in.post(page, {"quantity": "wall_u_w_m2k"}).status_code == 403
    assert "Plan with" not in words(signed_in.get(f"/kilns/{kiln.pk}/"))
    assert "Plan with" in words(owner_in.get(f"/kilns/{kiln.pk}/"))
    assert "Taken over" in words(owner_in.post(page, {"quantity": "wall_u_w_m2k"}, follow=True))
    kiln.refresh_from_db()
    lesson = KilnLesson.objects.get()
    assert lesson.before == 0.5
    assert kiln.wall_u_w_m2k == lesson.value == chamber(kiln).wall_u_w_m2k
    assert basis(careful=False)["kilns"] != before
    assert "walls counted with" in words(owner_in.get(f"/plans/{PlanFactory().pk}/"))
    assert "nothing was changed" in words(owner_in.post(page, {"quantity": "colour"}, follow=True))


def test_a_plan_does_not_name_a_figure_that_was_set_otherwise_since(owner_in):
    kiln = KilnFactory(humidifies=True, wall_u_w_m2k=0.4)
    actions.take_over(kiln=kiln, quantity="wall_u_w_m2k", value=0.7, band=(0.6, 0.8), runs=2, by=None, at=BEGUN)
    kiln.refresh_from_db()
    kiln.wall_u_w_m2k = 0.5
    kiln.save()
    assert "walls counted with" not in words(owner_in.get(f"/plans/{PlanFactory().pk}/"))


def set_to(charge, day, phase, step=None, **air):
    return RunRecord.objects.create(charge=charge, at=BEGUN + timedelta(days=day), phase=phase, step=step, **air)


def test_it_tells_what_the_kiln_was_set_to_steaming_and_conditioning_with_their_hours(signed_in):
    charge = finished(metered=False)
    set_to(charge, 0, "warm_up")
    set_to(charge, 0.5, "drying", 1)
    set_to(charge, 3, "drying", 1, dry_bulb_c=48, wet_bulb_c=44)
    set_to(charge, 4, "steaming")
    set_to(charge, 4 + 2 / 24, "drying", 2, dry_bulb_c=52, humidity_pct=95)
    set_to(charge, 9, "conditioning")
    found = [(one.phase, one.step, round(one.day, 2), round(one.hours, 1)) for one in told(charge).spells]
    assert found == [
        ("warm_up", 0, 0, 12), ("drying", 1, 0.5, 84), ("steaming", 0, 4, 2), ("drying", 2, 4.08, 118),
        ("conditioning", 0, 9, 24),
    ]  # fmt: skip
    # the humidity of 48 °C over a wet bulb of 44 °C by psychrolib (ASHRAE), at the height of the sea
    first, steamed = told(charge).spells[1:3]
    assert first.dry_bulb_c == 48
    assert first.emc_pct == pytest.approx(
        float(equilibrium_moisture_pct(48, 100 * psychrolib.GetRelHumFromTWetBulb(48, 44, 101325))), abs=0.1
    )
    assert steamed.dry_bulb_c == 52, "what is read at the end of a spell is the air of that spell"
    page = words(signed_in.get(f"/charges/{charge.pk}/report/"))
    assert 'day 4.0</th><td>Steaming</td><td class="n">2 h' in page
    assert "3.5 days" in page
    rows = list(csv.reader(io.StringIO(signed_in.get(f"/charges/{charge.pk}/report.csv").content.decode())))
    assert ["spell", "4.00", "set_to", "steaming", ""] in rows


def test_nothing_set_is_no_spell():
    assert told(finished()).spells == ()
