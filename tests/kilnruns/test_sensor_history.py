"""What sensors told over a run, drawn beside the records: thinned, corrected for wood and warmth, in fixed queries."""

from datetime import timedelta

import pytest
from django.utils import timezone

from drying import air
from drying.woodprobes import resistance_moisture_pct
from kilnruns.models import Charge, SensorReading, SensorSeries
from kilnruns.running.history import POINTS, history
from tests.factories import SpeciesFactory
from tests.kilnruns.closed import finished
from tests.kilnruns.factories import SensorDeviceFactory, charge_of, ready_stack
from tests.yard.queries import queries_of

pytestmark = pytest.mark.django_db
NOW = timezone.now().replace(microsecond=0)
BEGAN = NOW - timedelta(days=4)


def running(species=None):
    charge = charge_of(ready_stack(species=species or SpeciesFactory()), started_at=BEGAN)
    charge.stacks.update(loaded_at=BEGAN)
    return charge


def sent(device, quantity, value, probe="", every_minutes=10, began=BEGAN, days=4):
    """`value` by the hours since the beginning."""
    series = SensorSeries.objects.create(device=device, quantity=quantity, probe=probe)
    seconds = range(0, int(days * 86400), 60 * every_minutes)
    first = int(began.timestamp())
    SensorReading.objects.bulk_create(
        SensorReading(series=series, second=first + second, value=value(second / 3600)) for second in seconds
    )


def told(charge):
    return history(charge.kiln, BEGAN, NOW, [item.stack.species for item in charge.stacks.all()])


def page(browser, charge):
    return " ".join(browser.get(f"/charges/{charge.pk}/").content.decode().replace("\u202f", " ").split())


def test_the_air_is_thinned_to_what_a_drawing_can_use():
    charge = running()
    device = SensorDeviceFactory(kiln=charge.kiln)
    sent(device, "dry_bulb_c", lambda hour: 20 + min(hour, 30), every_minutes=2)
    (line,) = told(charge).dry_bulb
    assert 0.9 * POINTS < len(line) <= POINTS + 1
    assert (round(line[0][1]), round(line[-1][1])) == (20, 50)


def test_the_wet_bulb_is_measured_or_follows_from_the_humidity():
    charge = running()
    device = SensorDeviceFactory(kiln=charge.kiln)
    sent(device, "dry_bulb_c", lambda hour: 50.0)
    sent(device, "humidity_pct", lambda hour: 60.0)
    (line,) = told(charge).wet_bulb
    assert line[5][1] == pytest.approx(float(air.wet_bulb_c(50, 60)))


def test_a_probe_is_read_by_its_woods_curve_and_its_own_warmth():
    oak = SpeciesFactory(key="northern_red_oak")
    charge = running(oak)
    device = SensorDeviceFactory(kiln=charge.kiln, name="Stack sensor")
    sent(device, "wood_megohm", lambda hour: 20.0, "1")
    sent(device, "wood_c", lambda hour: 45.0, "1")
    sent(device, "dry_bulb_c", lambda hour: 30.0)
    (probe,) = told(charge).probes
    assert (probe.name, probe.read_as, probe.own_curve) == ("Stack sensor 1", oak, True)
    assert probe.line[9][1] == pytest.approx(float(resistance_moisture_pct(20, 45, "northern_red_oak")))
    SensorSeries.objects.filter(quantity="wood_c").delete()
    assert told(charge).probes[0].line[9][1] == pytest.approx(
        float(resistance_moisture_pct(20, 30, "northern_red_oak"))
    )


def test_what_a_probe_cannot_tell_is_not_drawn():
    charge = running()
    device = SensorDeviceFactory(kiln=charge.kiln)
    sent(device, "wood_megohm", lambda hour: 0.01)
    assert told(charge).probes == ()


def test_the_page_draws_it_all_and_says_by_which_wood(signed_in):
    charge = running(SpeciesFactory(name="redwillow"))
    device = SensorDeviceFactory(kiln=charge.kiln, name="Stack sensor")
    before = page(signed_in, charge)
    assert 'class="sensed"' not in before
    sent(device, "dry_bulb_c", lambda hour: 47.6)
    sent(device, "wood_megohm", lambda hour: 20.0, "1")
    text = page(signed_in, charge)
    assert text.count('class="sensed"') == 2
    assert "redwillow has no curve of its own" in text
    assert '<td>dry bulb, sensor</td><td class="n">48 °C</td>' in text
    assert "<td>Stack sensor 1</td>" in text


def test_a_days_more_readings_ask_no_more_queries(signed_in):
    charge = running()
    device = SensorDeviceFactory(kiln=charge.kiln)
    sent(device, "dry_bulb_c", lambda hour: 47.6, days=1)
    one = queries_of(signed_in, f"/charges/{charge.pk}/")
    for number in range(4):
        sent(device, "wood_megohm", lambda hour: 20.0, f"{number}")
    assert queries_of(signed_in, f"/charges/{charge.pk}/") == one


def test_the_report_draws_the_probes_of_its_own_run(signed_in):
    charge = Charge.objects.get(pk=finished().pk)
    device = SensorDeviceFactory(kiln=charge.kiln)
    sent(device, "wood_pct", lambda hour: 20 - hour / 24, "1", began=charge.started_at)
    text = signed_in.get(f"/charges/{charge.pk}/report/").content.decode()
    assert text.count('class="sensed"') == 1
    assert "Thin: probes in the wood." in text
