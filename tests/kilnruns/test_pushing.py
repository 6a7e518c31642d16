"""Web push: what is due, once a day at the hour that was chosen; what needs somebody at once; for that device alone."""

from datetime import timedelta

import http_ece
import pytest
from django.utils import timezone

from kilnruns.actions.pushing import LATE_HOURS, MOST_CHARACTERS, remind
from kilnruns.actions.reminding import MOST_DEVICES, add_device, end_device, set_hours
from kilnruns.models import PushDevice, RunRecord
from kilnruns.reminding import endpoint
from kilnruns.reminding.vapid import FILE, private_pem, public_key
from tests.factories import KilnPlaceFactory, PlaceFactory, UserFactory
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, ready_stack
from tests.kilnruns.push_server import HOST, Browser, bytes_of, service, signed_claims, stand_in
from tests.kilnruns.test_views_today import later_stack, running
from yard.actions.language import choose
from yard.actions.people import set_admitted

pytestmark = pytest.mark.django_db
HOUR = 7


@pytest.fixture(autouse=True)
def _own_key(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def served(tmp_path, monkeypatch):
    """The service on this machine stands in for a public one."""
    with service(tmp_path) as found:
        stand_in(monkeypatch, found)
        yield found


def at(hour, minute=0):
    return timezone.localtime().replace(hour=hour, minute=minute, second=0, microsecond=0)


def wanted_by(person, browser=None, site="https://yard.example"):
    """A device that was made yesterday, and its browser."""
    browser = browser or Browser()
    given = browser.subscription
    device = add_device(
        by=person, at=at(0) - timedelta(days=1), endpoint=given["endpoint"], site=site, is_phone=True, **given["keys"]
    )
    return device, browser


def test_the_key_is_made_once_in_the_data_folder_for_its_owner_alone(tmp_path):
    first = private_pem()
    assert private_pem() == first
    path = tmp_path / FILE
    assert path.stat().st_mode & 0o777 == 0o600
    assert [each.name for each in tmp_path.iterdir()] == [FILE]
    assert (len(bytes_of(public_key())), bytes_of(public_key())[0]) == (65, 4), "RFC 8292, 3.2: an uncompressed point"


def test_what_is_due_arrives_and_only_that_browser_can_read_it(user, served):
    charge = charge_of(later_stack(), start_on=days_from_today(0))
    _device, browser = wanted_by(user)
    assert remind(at=at(HOUR, 1)) == 1
    [(path, headers, body)] = served.sent
    told = browser.opened(body)
    assert path == "/one"
    assert (told["title"], told["tag"]) == (f"Load {charge.kiln}", "today")
    assert "to start on" in told["body"]
    assert str(charge.kiln).encode() not in body
    with pytest.raises(http_ece.ECEException):
        Browser().opened(body)
    assert headers["Content-Encoding"] == "aes128gcm"
    assert (headers["TTL"], headers["Urgency"], headers["Topic"]) == (str(LATE_HOURS * 3600), "normal", "today")


@pytest.mark.parametrize(
    ("language", "units", "title", "said"),
    [
        ("de", "metric", "Kammer 1 beladen", ("Lärche", "Beginn am")),
        ("sv", "metric", "Lasta Kammer 1", ("Lärk", "startar")),
        ("en", "imperial", "Load Kammer 1", ("European larch", "bd\u00a0ft", "to start on")),
    ],
)
def test_it_is_in_its_persons_language_and_units(user, served, language, units, title, said):
    stack = later_stack()
    stack.species.name = "European larch"
    stack.species.save()
    charge_of(stack, start_on=days_from_today(0), kiln=KilnFactory(place=KilnPlaceFactory(name="Kammer 1")))
    choose(language=language, units=units, by=user)
    _device, browser = wanted_by(user)
    remind(at=at(HOUR, 1))
    told = browser.opened(served.sent[0][2])
    assert told["title"] == title
    assert [words for words in said if words not in told["body"]] == [], told["body"]


@pytest.mark.parametrize(("units", "unit"), [("metric", "°C"), ("imperial", "°F")])
def test_what_brooks_no_delay_is_told_in_its_persons_units(user, served, units, unit):
    charge = hot_run()
    choose(language="de", units=units, by=user)
    _device, browser = wanted_by(user)
    remind(at=at(3))
    told = browser.opened(served.sent[0][2])
    seen = charge.kiln.max_temperature_c + 8
    assert told["title"] == f"{charge.kiln} ist zu heiß"
    assert told["body"].startswith(f"{seen * 1.8 + 32 if unit == '°F' else seen:.0f}\u202f{unit}")


def test_it_is_signed_as_this_yards_for_that_service(user, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    remind(at=at(HOUR, 1))
    [(_path, headers, _body)] = served.sent
    claims, key = signed_claims(headers["Authorization"])
    assert key == public_key()
    assert (claims["aud"], claims["sub"]) == (f"https://{HOST}", "https://yard.example")
    left = claims["exp"] - timezone.now().timestamp()
    assert 0 < left <= 86400, "RFC 8292, 2: a day at most"


def test_several_things_are_counted_and_named(user, served):
    charges = [charge_of(start_on=days_from_today(0)) for _ in range(8)]
    _device, browser = wanted_by(user)
    remind(at=at(HOUR, 1))
    told = browser.opened(served.sent[0][2])
    assert told["title"] == "9 things are due today"
    assert f"Load {charges[0].kiln}" in told["body"]
    assert told["body"].endswith("and 3 more")


def test_when_nothing_is_due_nothing_comes(user, served):
    charge_of(later_stack(), start_on=days_from_today(3))
    wanted_by(user)
    assert remind(at=at(HOUR, 1)) == 0
    assert served.sent == []


def test_it_comes_once_a_day_at_the_hour_that_was_chosen(user, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    set_hours(by=user, hour=16, alarms=False)
    counts = [remind(at=at(hour)) for hour in (0, 7, 15, 16, 17, 21)]
    assert counts == [0, 0, 0, 1, 0, 0]
    assert remind(at=at(16) + timedelta(days=1)) == 1


def test_where_no_worker_ran_it_comes_some_hours_late_or_not_at_all(user, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    assert remind(at=at(HOUR + LATE_HOURS)) == 0
    assert remind(at=at(HOUR + LATE_HOURS - 1, 59)) == 1


def test_a_device_that_was_just_added_waits_for_the_next_hour(user, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    PushDevice.objects.update(made_at=at(HOUR, 30))
    assert remind(at=at(HOUR, 31)) == 0
    assert remind(at=at(HOUR) + timedelta(days=1)) == 1


def hot_run():
    charge = running(ago=2)
    RunRecord.objects.create(charge=charge, at=at(2, 50), dry_bulb_c=charge.kiln.max_temperature_c + 8)
    return charge


def test_a_run_that_needs_somebody_is_told_at_once_at_night_and_once(user, served):
    charge = hot_run()
    _device, browser = wanted_by(user)
    assert [remind(at=at(3, minute)) for minute in (0, 1, 2)] == [1, 0, 0]
    [(_path, headers, body)] = served.sent
    assert browser.opened(body)["title"] == f"{charge.kiln} is too hot"
    assert (headers["Urgency"], headers["Topic"]) == ("high", f"hot-{charge.pk}")


def test_what_flickers_is_not_told_again_the_same_day_but_the_next(user, served):
    charge = hot_run()
    wanted_by(user)
    remind(at=at(3))
    remind(at=at(4))  # not seen any more
    RunRecord.objects.create(charge=charge, at=at(5), dry_bulb_c=charge.kiln.max_temperature_c + 8)
    assert remind(at=at(5, 1)) == 0
    remind(at=at(6) + timedelta(days=1))  # long past, forgotten
    RunRecord.objects.create(
        charge=charge, at=at(6, 30) + timedelta(days=1), dry_bulb_c=charge.kiln.max_temperature_c + 8
    )
    assert remind(at=at(6, 31) + timedelta(days=1)) == 1


@pytest.mark.parametrize("status", [404, 410])
def test_a_device_that_is_gone_is_dropped(user, served, status):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    served.answers = [(status, {})]
    assert remind(at=at(HOUR, 1)) == 0
    assert not PushDevice.objects.exists()


def test_one_that_cannot_be_reached_rests_ever_longer_and_then_hears_it(user, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    served.answers = [(500, {}), (503, {})]
    counts = [remind(at=at(HOUR, minute)) for minute in (1, 1, 2, 3, 4, 5)]
    assert counts == [0, 0, 0, 0, 1, 0]
    assert len(served.sent) == 3
    device = PushDevice.objects.get()
    assert (device.failed, device.rest_until) == (0, None)


def test_a_service_that_asks_to_wait_is_left_alone_so_long(user, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    served.answers = [(429, {"Retry-After": "600"})]
    remind(at=at(HOUR, 1))
    assert PushDevice.objects.get().rest_until == at(HOUR, 11)


def test_what_is_urgent_is_tried_again_after_a_failure(user, served):
    hot_run()
    wanted_by(user)
    served.answers = [(500, {})]
    assert [remind(at=at(3, minute)) for minute in (0, 1, 2)] == [0, 1, 0]


def test_a_service_that_does_not_answer_is_told_in_the_log_and_not_dropped(user, served, monkeypatch, caplog):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    monkeypatch.setattr(endpoint, "HTTPS_PORT", 9)  # discard: nobody listens
    assert remind(at=at(HOUR, 1)) == 0
    assert "does not answer" in caplog.text
    assert PushDevice.objects.get().failed == 1


def test_a_device_whose_address_leads_into_our_network_is_dropped_unasked(user, served, monkeypatch):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)

    def resolved(host):
        raise endpoint.EndpointError("no public host")

    monkeypatch.setattr(endpoint, "resolved", resolved)
    assert remind(at=at(HOUR, 1)) == 0
    assert served.sent == [] and not PushDevice.objects.exists()


def test_a_failing_device_keeps_none_from_the_others(user, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user, Browser("/one"))
    other = Browser("/two")
    wanted_by(UserFactory(), other)
    served.answers = [(500, {})]
    assert remind(at=at(HOUR, 1)) == 1
    assert other.opened(served.sent[1][2])["tag"] == "today"


def test_whoever_is_shut_out_is_told_nothing(user, owner, served):
    charge_of(start_on=days_from_today(0))
    wanted_by(user)
    set_admitted(person=user, admitted=False, by=owner)
    assert remind(at=at(HOUR, 1)) == 0
    assert served.sent == []


def test_a_long_text_still_fits_into_a_push(user, served):
    for number in range(40):
        ready_stack(place=PlaceFactory(name=f"{number} " + "木" * 57))
    _device, browser = wanted_by(user)
    remind(at=at(HOUR, 1))
    body = served.sent[0][2]
    assert len(body) <= 4096, "RFC 8030, 7.2: what every service takes"
    assert len(browser.opened(body)["body"]) <= MOST_CHARACTERS


def test_without_devices_the_job_asks_one_question(django_assert_num_queries):
    ready_stack()
    with django_assert_num_queries(1):
        assert remind(at=at(HOUR, 1)) == 0


def test_a_browser_belongs_to_whoever_asked_last_and_one_ends_only_ones_own(user):
    other, browser = UserFactory(), Browser()
    wanted_by(user, browser)
    device, _ = wanted_by(other, browser)
    assert list(PushDevice.objects.values_list("person", flat=True)) == [other.pk]
    end_device(pk=device.pk, by=user)
    assert PushDevice.objects.count() == 1
    end_device(pk=device.pk, by=other)
    assert not PushDevice.objects.exists()


def test_the_oldest_of_many_devices_makes_room(user):
    for number in range(MOST_DEVICES + 2):
        wanted_by(user, Browser(f"/{number}"))
    kept = PushDevice.objects.values_list("endpoint", flat=True)
    assert len(kept) == MOST_DEVICES
    assert f"https://{HOST}/0" not in kept
