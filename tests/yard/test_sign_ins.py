"""Where somebody is signed in: each listed with its device, ended by a tap, gone with its session."""

from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from tests.factories import PASSWORD, UserFactory
from yard.actions.people import sign_out_everywhere
from yard.actions.signins import SEEN
from yard.models import SignIn
from yard.templatetags.signins import device_words, phone_kind

pytestmark = pytest.mark.django_db
IPHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 Version/18.5 Mobile Safari/604.1"
ANDROID = "Mozilla/5.0 (Linux; Android 14; SM-A556B) AppleWebKit/537.36 Chrome/138.0.0.0 Mobile Safari/537.36"
DESK = "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 Chrome/138.0.0.0 Safari/537.36 Edg/138.0.0.0"


def signed_in(person, agent=""):
    client = Client(headers={"User-Agent": agent})
    client.post("/sign-in/", {"username": person.get_username(), "password": PASSWORD})
    return client


def is_in(client):
    return client.get("/yard/").status_code == 200


@pytest.mark.parametrize(
    ("agent", "words", "kind"),
    [
        (IPHONE, "Safari on iPhone", "apple"),
        (ANDROID, "Chrome on Android", "android"),
        (DESK, "Edge on Windows", ""),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Linux", ""),
        ("curl/8", "an unknown device", ""),
    ],
)
def test_a_device_is_told_in_words(agent, words, kind):
    assert (device_words(agent), phone_kind(agent)) == (words, kind)


def test_each_is_listed_and_ended_by_a_tap():
    person = UserFactory()
    phone, desk = signed_in(person, IPHONE), signed_in(person, DESK)
    page = desk.get("/signed-in/").content.decode()
    assert page.index("Edge on Windows") < page.index("this one")
    assert "Safari on iPhone" in page
    ends = SignIn.objects.get(agent=IPHONE)
    assert f"/signed-in/{ends.pk}/end/" in page
    assert f"/signed-in/{SignIn.objects.get(agent=DESK).pk}/end/" not in page, "this one has Sign out"
    desk.post(f"/signed-in/{ends.pk}/end/")
    assert [is_in(phone), is_in(desk)] == [False, True]
    assert "iPhone" not in desk.get("/signed-in/").content.decode()


def test_nobody_ends_another_s_but_an_owner():
    person = UserFactory()
    phone, other, owner = signed_in(person), signed_in(UserFactory()), signed_in(UserFactory(is_staff=True))
    ends = SignIn.objects.get(user=person)
    assert other.post(f"/signed-in/{ends.pk}/end/").status_code == 403
    assert other.get(f"/people/{person.pk}/signed-in/").status_code == 403
    assert is_in(phone)
    assert f"/signed-in/{ends.pk}/end/" in owner.get(f"/people/{person.pk}/signed-in/").content.decode()
    assert owner.post(f"/signed-in/{ends.pk}/end/").url == f"/people/{person.pk}/signed-in/"
    assert not is_in(phone)


def test_it_goes_when_somebody_signs_out_or_the_session_runs_out():
    person = UserFactory()
    phone, desk, here = signed_in(person, IPHONE), signed_in(person, DESK), signed_in(person, ANDROID)
    phone.post("/sign-out/")
    key = desk.session.session_key
    Session.objects.filter(session_key=key).update(expire_date=timezone.now() - timedelta(minutes=1))
    rows = here.get("/signed-in/").context["rows"]
    assert [one.agent for one in rows] == [ANDROID]


def test_that_it_is_used_is_noted_once_an_hour():
    person = UserFactory()
    phone = signed_in(person, IPHONE)
    long_ago = timezone.now() - timedelta(days=3)
    SignIn.objects.update(seen_at=long_ago)
    phone.get("/yard/")
    assert SignIn.objects.get().seen_at == long_ago, "noted already, within the hour"
    session = phone.session
    session[SEEN] = long_ago.timestamp()
    session.save()
    phone.get("/yard/")
    assert SignIn.objects.get().seen_at > long_ago


def test_a_session_of_before_they_were_listed_is_noted_when_it_is_used():
    person = UserFactory()
    phone = signed_in(person, IPHONE)
    SignIn.objects.all().delete()
    session = phone.session
    del session[SEEN]
    session.save()
    phone.get("/yard/")
    assert SignIn.objects.get().user == person


def test_who_was_invited_is_told_how_to_install_in_the_words_of_their_phone():
    for agent, said, unsaid in ((IPHONE, "Add to Home Screen", "Android"), (ANDROID, "Install app", "iPhone and iPad")):
        page = signed_in(UserFactory(), agent).get("/begin/").content.decode()
        assert said in page
        assert unsaid not in page


def test_to_sign_somebody_out_no_session_of_others_is_looked_into(monkeypatch):
    looked = []
    real = Session.get_decoded
    monkeypatch.setattr(Session, "get_decoded", lambda self: looked.append(self.session_key) or real(self))
    bo, unlisted = UserFactory(), Client()
    for person in (bo, UserFactory()):
        signed_in(person)
    unlisted.force_login(bo)
    SignIn.objects.filter(session_key=unlisted.session.session_key).delete()
    looked.clear()
    assert sign_out_everywhere(person=bo, keep=None, by=None) == 2
    assert looked == [unlisted.session.session_key]
    assert Session.objects.count() == 1
