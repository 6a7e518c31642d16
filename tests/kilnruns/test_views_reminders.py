"""The page of a person's reminders: off unless wanted, the address shown once, devices ended where they stand."""

import json
import re

import pytest
from django.test import Client
from django.utils import timezone

from kilnruns.actions.reminding import add_device
from kilnruns.models import PushDevice, Reminders
from kilnruns.reminding.vapid import public_key
from tests.factories import UserFactory
from tests.kilnruns.conftest import browser_of
from tests.kilnruns.push_server import Browser, service, stand_in, text_of

pytestmark = pytest.mark.django_db
PAGE = "/reminders/"


@pytest.fixture(autouse=True)
def _own_key(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def words(response):
    return " ".join(response.content.decode().split())


def send(browser, subscription):
    text = subscription if isinstance(subscription, str) else json.dumps(subscription)
    return browser.post("/reminders/devices/", {"subscription": text}, headers={"User-Agent": "An Android Mobile"})


def test_all_is_off_at_first_and_the_page_says_how_to_begin(signed_in, user):
    text = words(signed_in.get(PAGE))
    assert "Make an address for it" in text
    assert "This browser can't take such messages here" in text
    assert f'data-push="{public_key()}"' in text
    assert not Reminders.objects.exists() and not PushDevice.objects.exists()


def test_setup_leads_there(signed_in):
    assert PAGE in words(signed_in.get("/setup/"))


def test_the_address_is_shown_once_and_works(signed_in):
    response = signed_in.post("/reminders/calendar/")
    assert response.status_code == 200
    assert "no-store" in response["Cache-Control"]
    [address] = re.findall(r"http://testserver(/calendar/\S+\.ics)", words(response))
    assert Client().get(address).status_code == 200
    again = words(signed_in.get(PAGE))
    assert address not in again
    assert "On. The address was made on" in again


def test_the_calendar_is_ended_on_the_page(signed_in):
    signed_in.post("/reminders/calendar/")
    assert signed_in.post("/reminders/calendar/end/", follow=True).status_code == 200
    assert "Make an address for it" in words(signed_in.get(PAGE))
    assert not Reminders.objects.exclude(calendar_hash="").exists()


def test_the_hour_is_kept(signed_in, user):
    signed_in.post(PAGE, {"hour": "16", "alarms": "on"})
    kept = Reminders.objects.get(person=user)
    assert (kept.hour, kept.alarms) == (16, True)
    assert "Once a day at 16:00" in words(signed_in.get(PAGE))


def test_an_hour_that_no_day_has_is_refused_at_its_field(signed_in):
    response = signed_in.post(PAGE, {"hour": "24"})
    assert response.status_code == 422
    assert "24" in words(response)
    assert not Reminders.objects.exists()


def test_a_device_is_kept_with_its_keys_and_named_on_the_page(signed_in, user):
    browser = Browser()
    assert send(signed_in, browser.subscription).status_code == 302
    device = PushDevice.objects.get()
    assert (device.person, device.endpoint, device.is_phone) == (user, browser.endpoint, True)
    assert device.auth == text_of(browser.secret)
    assert device.site == "http://testserver"
    text = words(signed_in.get(PAGE))
    assert "A phone" in text and "this one" in text
    assert "this one" not in words(browser_of(user).get(PAGE)), "elsewhere it is another"


BAD = {
    "no json": "{",
    "a list": [],
    "nothing": {},
    "no keys": {"endpoint": "https://push.example/"},
    "http": {**Browser().subscription, "endpoint": "http://push.example/"},
    "our own network": {**Browser().subscription, "endpoint": "https://192.168.0.1/"},
    "a number": {**Browser().subscription, "endpoint": 7},
    "no point": {
        **Browser().subscription,
        "keys": {"p256dh": text_of(b"\x04" + b"x" * 64), "auth": text_of(b"x" * 16)},
    },
    "short secret": Browser(secret=b"short").subscription,
    "garbled key": {**Browser().subscription, "keys": {"p256dh": "!" * 87, "auth": text_of(b"x" * 16)}},
    "other letters": {**Browser().subscription, "keys": {"p256dh": "ä" * 87, "auth": text_of(b"x" * 16)}},
}


@pytest.mark.parametrize("given", BAD.values(), ids=BAD)
def test_what_no_reminder_can_be_sent_to_is_refused_in_words(signed_in, given):
    response = send(signed_in, given)
    assert response.status_code == 422
    assert 'class="form-errors"' in words(response)
    assert not PushDevice.objects.exists()


def device_of(person):
    given = Browser().subscription
    keys = given["keys"]
    return add_device(by=person, at=timezone.now(), endpoint=given["endpoint"], site="", is_phone=False, **keys)


def test_a_device_is_ended_by_its_own_person_alone(signed_in, user):
    own = device_of(user)
    browser_of(UserFactory()).post(f"/reminders/devices/{own.pk}/end/")
    assert PushDevice.objects.exists()
    signed_in.post(f"/reminders/devices/{own.pk}/end/")
    assert not PushDevice.objects.exists()


def test_signing_out_ends_this_device_and_no_other(signed_in, user):
    other = device_of(user)
    browser = Browser("/here")
    send(signed_in, browser.subscription)
    signed_in.post("/sign-out/")
    assert list(PushDevice.objects.all()) == [other]


def test_the_page_asks_as_often_for_eight_devices_as_for_one(signed_in, user, django_assert_max_num_queries):
    def queries():
        with django_assert_max_num_queries(30) as counted:
            signed_in.get(PAGE)
        return len(counted)

    device_of(user)
    few = queries()
    for number in range(7):
        given = Browser(f"/{number}").subscription
        add_device(by=user, at=timezone.now(), endpoint=given["endpoint"], site="", is_phone=False, **given["keys"])
    assert queries() == few


@pytest.mark.parametrize(
    ("answers", "said", "left"),
    [([], "Sent.", 1), ([(500, {})], "did not get through", 1), ([(410, {})], "takes no reminders any more", 0)],
)
def test_one_is_sent_at_once_to_try_it(signed_in, tmp_path, monkeypatch, answers, said, left):
    browser = Browser()
    send(signed_in, browser.subscription)
    pk = PushDevice.objects.get().pk
    with service(tmp_path) as served:
        stand_in(monkeypatch, served)
        served.answers = answers
        assert said in words(signed_in.post(f"/reminders/devices/{pk}/try/", follow=True))
    assert browser.opened(served.sent[0][2])["title"] == "Drystack reminds you here"
    assert PushDevice.objects.count() == left


def test_nobody_tries_out_the_device_of_another(signed_in, owner):
    assert signed_in.post(f"/reminders/devices/{device_of(owner).pk}/try/").status_code == 404
