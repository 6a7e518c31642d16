"""Sensors: what is kept, once; thinned by the rules; looked up again."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kilnruns.actions import sensing
from kilnruns.actions.listening import keep
from kilnruns.models import SensorDevice, SensorMean, SensorReading
from kilnruns.sensing.series import points
from tests.kilnruns.factories import KilnFactory, SensorDeviceFactory

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)


def row(minutes_ago=0.0, value=50.0, quantity="dry_bulb_c", **given):
    return {"quantity": quantity, "value": value, "at": (NOW - timedelta(minutes=minutes_ago)).timestamp(), **given}


@pytest.fixture
def device():
    return SensorDeviceFactory()


def test_a_token_is_its_devices_until_it_is_renewed_or_shut_out(owner):
    device, token = sensing.add_device(kiln=KilnFactory(), name="Rear wall", by=owner)
    assert sensing.device_of(token) == device
    assert token.split(".")[1] not in device.secret_hash
    renewed = sensing.renew_token(device=device, by=owner)
    assert sensing.device_of(token) is None
    assert sensing.device_of(renewed) == device
    sensing.shut_out(device=device, by=owner, at=NOW)
    assert sensing.device_of(renewed) is None


@pytest.mark.parametrize("token", ["", ".", "abc", "abc.", "\x00.x", "é.é"])
def test_no_other_token_is_anyones(device, token):
    assert sensing.device_of(token) is None
    assert sensing.device_of(f"{device.key}.{token}") is None


def test_each_fate_is_counted(device):
    rows = [row(5), row(4), row(5, 51), row(value=900), row(-60), row(60 * 24 * 4), {"nonsense": 1}, 7]
    taken = sensing.take(device=device, rows=rows, at=NOW)
    device.refresh_from_db()
    assert (taken.kept, taken.doubled, len(taken.refused)) == (2, 1, 5)
    assert (device.kept, device.doubled, device.out_of_range, device.ahead, device.late, device.garbled) == (
        2, 1, 1, 1, 1, 2,
    )  # fmt: skip
    assert device.heard_at == NOW


def test_the_last_value_is_the_newest_and_not_the_last_to_come(device):
    sensing.take(device=device, rows=[row(1, 55)], at=NOW)
    sensing.take(device=device, rows=[row(9, 47)], at=NOW)
    assert device.series.get().last_value == 55


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_in_any_order_and_however_often_sent_each_is_kept_once(data):
    device = SensorDeviceFactory()
    minutes = data.draw(st.lists(st.integers(0, 600), min_size=1, max_size=12, unique=True))
    sent = data.draw(st.lists(st.sampled_from(minutes), min_size=1, max_size=40))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(sent)), max_size=3)))
    for first, last in zip([0, *cuts], [*cuts, len(sent)], strict=True):
        sensing.take(device=device, rows=[row(one, float(one % 90)) for one in sent[first:last]], at=NOW)
    kept = SensorReading.objects.filter(series__device=device)
    wanted = {(int(NOW.timestamp()) - 60 * one, float(one % 90)) for one in set(sent)}
    assert set(kept.values_list("second", "value")) == wanted
    device.refresh_from_db()
    assert (device.kept, device.doubled) == (len(wanted), len(sent) - len(wanted))


def filled(device, days):
    """A value every five minutes, each day one degree warmer, with a spike at each noon."""
    for day in range(days):
        at = NOW - timedelta(days=days - 1 - day)
        rows = [
            row((NOW - at).total_seconds() / 60 + 5 * one, 40.0 + day + (10 if one == 144 else 0)) for one in range(288)
        ]
        sensing.take(device=device, rows=rows, at=at)


def test_old_readings_become_means_that_keep_number_mean_and_extremes(device):
    filled(device, 6)
    before = SensorReading.objects.count()
    gone = sensing.thin(at=NOW)
    left = SensorReading.objects.count()
    assert 0 < gone == before - left
    assert SensorReading.objects.earliest("second").second >= int(NOW.timestamp()) - 3 * 86400 - 3600 - 600
    means = SensorMean.objects.filter(minutes=10)
    assert sum(one.count for one in means) == gone
    assert all(one.second % 600 == 0 and one.low <= one.mean <= one.high for one in means)
    assert max(one.high for one in means) >= 50  # the spikes are still told
    assert sensing.thin(at=NOW) == 0


def test_later_they_become_hourly_and_weigh_by_their_number(device):
    filled(device, 5)
    sensing.thin(at=NOW)
    tens = list(SensorMean.objects.values_list("count", "mean"))
    sensing.thin(at=NOW + timedelta(days=200))
    hours = list(SensorMean.objects.filter(minutes=60))
    assert SensorMean.objects.filter(minutes=10).count() == 0
    assert SensorReading.objects.count() == 0
    whole = sum(one.count for one in hours)
    assert whole == 5 * 288
    assert len(tens) < whole
    mean = sum(one.count * one.mean for one in hours) / whole
    assert mean == pytest.approx(sum(288 * (40 + day) + 10 for day in range(5)) / whole)


def test_a_year_is_looked_up_in_a_few_hundred_points_by_two_queries(device, django_assert_num_queries):
    filled(device, 5)
    sensing.thin(at=NOW)
    end, series = int(NOW.timestamp()) + 1, device.series.get().pk
    with django_assert_num_queries(2):
        found = points(series, end - 365 * 86400, end, 300)
    assert 3 < len(found) <= 301
    assert [one.second for one in found] == sorted(one.second for one in found)
    day = points(series, end - 3600, end)
    assert all(one.low <= one.mean <= one.high for one in day)
    assert len(day) == 12


def test_by_mqtt_numbers_and_whole_messages_are_kept(device):
    topic = f"drystack/{device.key}"
    told = [
        (f"{topic}/dry_bulb_c", b"51.5"),
        (f"{topic}/wood_megohm/2", b'{"value": 3.4, "at": %d}' % (NOW.timestamp() - 30)),
        (f"{topic}/readings", b'{"readings": [{"quantity": "humidity_pct", "value": 61}]}'),
        (f"{topic}/dry_bulb_c", b"\xff\x00"),
        (f"{topic}/dry_bulb_c/1/2", b"5"),
        (f"{topic}/furlongs", b"5"),
        (f"{topic}/readings", b"[]"),
        ("drystack/nobody/dry_bulb_c", b"5"),
        ("elsewhere", b"5"),
    ]
    assert keep(messages=told, at=NOW) == 3
    device.refresh_from_db()
    assert device.garbled == 4
    assert sorted(map(str, device.series.all())) == ["dry_bulb_c", "humidity_pct", "wood_megohm 2"]


def test_a_device_that_is_not_to_be_heard_by_mqtt_is_passed_over(device):
    SensorDevice.objects.update(by_mqtt=False)
    assert keep(messages=[(f"drystack/{device.key}/dry_bulb_c", b"51.5")], at=NOW) == 0


def test_silence_is_told_after_its_time_and_only_of_one_that_was_heard():
    device = SensorDeviceFactory(silent_after_minutes=10)
    assert not device.is_silent(NOW)
    device.heard_at = NOW - timedelta(minutes=9)
    assert not device.is_silent(NOW)
    device.heard_at = NOW - timedelta(minutes=11)
    assert device.is_silent(NOW)
    device.shut_out_at = NOW
    assert not device.is_silent(NOW)
