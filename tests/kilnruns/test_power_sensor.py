"""Electricity of a run by the kiln's own sensor: a counter or power, through gaps, beside what was noted by hand."""

import json
from datetime import timedelta

import pytest

from kilnruns.actions import sensing
from kilnruns.closing.lessons import lessons
from kilnruns.closing.report import report
from kilnruns.closing.rows import charges, powered, rows_of
from kilnruns.closing.runs import runs_of
from kilnruns.models import RunRecord, SensorMean, SensorReading, SensorSeries
from tests.kilnruns.closed import BEGUN, DAYS, finished
from tests.kilnruns.factories import SensorDeviceFactory
from tests.yard.queries import queries_of

pytestmark = pytest.mark.django_db
KW = 2.5


def told(charge):
    (rows,) = powered([rows_of(charges().get(pk=charge.pk))])
    return report(rows).account


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def sensor(
    charge, quantity="energy_kwh", value=lambda hour: 7000 + KW * hour, hours=range(-24, 24 * (DAYS + 1)), **given
):
    """A device's readings each half hour, over a day before and a day after the run unless `hours` says otherwise."""
    device = given.pop("device", None) or SensorDeviceFactory(kiln=charge.kiln)
    series = SensorSeries.objects.create(device=device, quantity=quantity, **given)
    begun = int(BEGUN.timestamp())
    SensorReading.objects.bulk_create(
        SensorReading(series=series, second=begun + int(3600 * hour), value=value(hour))
        for whole in hours for hour in (whole, whole + 0.5)
    )  # fmt: skip
    return series


def test_the_counter_tells_the_run_from_start_to_end_and_no_more():
    charge = finished(metered=False)
    sensor(charge)
    energy = told(charge).energy
    assert (energy.source, energy.is_part, energy.gap_hours) == ("sensor", False, 0)
    assert energy.kwh == pytest.approx(KW * 24 * DAYS, rel=0.005)
    assert energy.checked is None


def test_it_counts_on_through_a_gap_which_is_told(signed_in):
    charge = finished(metered=False)
    sensor(charge, hours=[*range(50), *range(80, 24 * DAYS)])
    energy = told(charge).energy
    assert energy.kwh == pytest.approx(KW * 24 * DAYS, rel=0.005)
    assert (energy.is_part, energy.gap_hours) == (False, pytest.approx(30))
    assert "said nothing for 30 h; the meter counted on" in words(signed_in.get(f"/charges/{charge.pk}/report/"))


def test_power_times_time_lacks_what_was_not_heard(signed_in):
    charge = finished(metered=False)
    sensor(charge, "power_kw", lambda hour: KW, hours=[*range(50), *range(70, 24 * DAYS)])
    energy = told(charge).energy
    assert energy.kwh == pytest.approx(KW * (24 * DAYS - 20), rel=0.005)
    assert (energy.is_part, energy.gap_hours) == (False, pytest.approx(20))
    assert "what was used then is missing" in words(signed_in.get(f"/charges/{charge.pk}/report/"))
    SensorReading.objects.filter(second__gt=BEGUN.timestamp() + 3600 * 150).delete()
    assert told(charge).energy.is_part


def test_a_counter_that_was_changed_loses_no_more_than_the_hour():
    charge = finished(metered=False)
    sensor(charge, value=lambda hour: 9000 + KW * hour if hour < 100 else KW * (hour - 100))
    assert told(charge).energy.kwh == pytest.approx(KW * 24 * DAYS, abs=2 * KW)


def test_thinned_readings_tell_the_same():
    charge = finished(metered=False)
    sensor(charge)
    before = told(charge).energy.kwh
    sensing.thin(at=BEGUN + timedelta(days=200))
    assert not SensorReading.objects.exists()
    assert SensorMean.objects.filter(minutes=60).exists()
    assert told(charge).energy.kwh == pytest.approx(before, abs=KW), "an hour at the end is whole or not there"


def test_probes_are_added_and_of_two_devices_the_one_heard_longest_counts():
    charge = finished(metered=False)
    first = sensor(charge, probe="heater")
    sensor(charge, probe="fans", value=lambda hour: 50 + 0.25 * hour, device=first.device)
    sensor(charge, value=lambda hour: 0.1 * hour, hours=range(100, 200))
    assert told(charge).energy.kwh == pytest.approx((KW + 0.25) * 24 * DAYS, rel=0.005)


def test_another_kilns_sensor_tells_nothing_of_this_run():
    charge = finished(metered=False)
    sensor(finished(metered=False))
    assert told(charge).energy.source == "estimated"


@pytest.mark.parametrize(
    ("kw", "said"),
    [(45 / 24, "agree: 450 kWh and 450 kWh"), (2.0, "By hand 450 kWh were noted, by the sensor 480 kWh")],
)
def test_sensor_and_notes_are_held_against_each_other(signed_in, kw, said):
    """Noted are 45 kWh a day."""
    charge = finished()
    sensor(charge, value=lambda hour: 300 + kw * hour)
    energy = told(charge).energy
    assert (energy.source, energy.checked.noted_kwh) == ("sensor", 450)
    assert energy.checked.sensed_kwh == pytest.approx(kw * 240, rel=0.005)
    text = words(signed_in.get(f"/charges/{charge.pk}/report/"))
    assert said in text
    assert ("set wrong" in text) is not energy.checked.agree
    rows = json.loads(signed_in.get(f"/charges/{charge.pk}/report.json").content)["rows"]
    found = {row["quantity"]: row["value"] for row in rows}
    assert (found["electricity_source"], found["electricity_noted_kwh"]) == ("sensor", 450)


def test_notes_over_the_whole_run_go_before_a_sensor_of_a_part():
    charge = finished()
    sensor(charge, hours=range(100))
    assert (told(charge).energy.source, told(charge).energy.kwh) == ("meter", 450)
    RunRecord.objects.filter(at__gt=BEGUN + timedelta(days=2)).delete()
    assert told(charge).energy.source == "sensor"
    assert told(charge).energy.is_part


def test_a_kilns_runs_ask_as_often_with_many_readings_as_with_few(signed_in):
    charge = finished()
    sensor(charge, hours=range(3))
    one = queries_of(signed_in, f"/kilns/{charge.kiln_id}/")
    sensor(charge, "power_kw", lambda hour: KW)
    sensor(finished(charge.kiln))
    assert queries_of(signed_in, f"/kilns/{charge.kiln_id}/") == one


def test_the_walls_are_learned_from_the_sensor_as_from_notes(signed_in):
    """The same electricity, noted or sensed, makes the same lesson."""
    noted, sensed = finished(), finished()
    RunRecord.objects.filter(charge=sensed).update(meter_kwh=None)
    assert lessons(sensed.kiln, runs_of(sensed.kiln)).walls is None
    sensor(sensed, value=lambda hour: 300 + 45 / 24 * hour)
    by_notes, by_sensor = (lessons(one.kiln, runs_of(one.kiln)).walls.found.value for one in (noted, sensed))
    assert by_sensor == pytest.approx(by_notes, rel=0.02)
