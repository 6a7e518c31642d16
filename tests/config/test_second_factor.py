"""Signing in with a code beside the password: set up, asked for, used once, slowed, recovered, ended."""

import re
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from tests.factories import PASSWORD, UserFactory
from yard.actions.second_factor import codes_left, confirm, has_factor, is_code_of, offered

pytestmark = pytest.mark.django_db


def code_of(person):
    """What the app shows now; let it count once more, as if half a minute had gone by."""
    TOTPDevice.objects.filter(user=person).update(last_t=-1, throttling_failure_count=0)
    device = TOTPDevice.objects.get(user=person)
    return f"{TOTP(device.bin_key, drift=device.drift).token():06d}"


def wrong(person):
    right = code_of(person)
    return f"{(int(right) + 500_000) % 1_000_000:06d}"


@pytest.fixture
def person():
    return UserFactory(username="Ada", is_staff=True)


@pytest.fixture
def recovery(person):
    offered(person)
    return confirm(person=person, code=code_of(person), by=person)


def sign_in(client, follow="/"):
    return client.post(f"/sign-in/?next={follow}", {"username": "Ada", "password": PASSWORD, "next": follow})


def is_in(client):
    return client.get("/yard/").status_code == 200


def test_it_is_set_up_with_the_password_and_the_first_code(client, person):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get("/second-factor/").content.decode()
    assert "otpauth://totp/Drystack%3AAda" in page
    assert "<path" in page
    assert not has_factor(person)
    for given, field in (
        ({"code": wrong(person), "password": PASSWORD}, "code"),
        ({"code": code_of(person), "password": "no"}, "password"),
    ):
        answer = client.post("/second-factor/", given)
        assert answer.status_code == 422
        assert field in answer.context["form"].errors
    codes = client.post("/second-factor/", {"code": code_of(person), "password": PASSWORD}).content.decode()
    assert len(re.findall(r'<li class="figure code">[a-z2-7]{4}-[a-z2-7]{4}<', codes)) == 10
    assert has_factor(person)
    assert "10 recovery codes are left" in client.get("/second-factor/").content.decode()


def test_the_password_alone_does_not_sign_in(client, person, recovery):
    answer = sign_in(client, "/needs/")
    assert answer.url == "/sign-in/code/"
    assert not is_in(client)
    assert client.post("/sign-in/code/", {"code": wrong(person)}).status_code == 422
    assert not is_in(client)
    assert client.post("/sign-in/code/", {"code": code_of(person)}).url == "/needs/"
    assert is_in(client)


def test_who_has_none_is_asked_for_none(client, person):
    assert sign_in(client).url == "/"
    assert is_in(client)


def test_a_code_works_once(client, person, recovery):
    code = code_of(person)
    sign_in(client)
    client.post("/sign-in/code/", {"code": code})
    other = Client()
    sign_in(other)
    assert other.post("/sign-in/code/", {"code": code}).status_code == 422


def test_a_recovery_code_works_once_however_it_is_typed(client, person, recovery):
    sign_in(client)
    typed = recovery[0].upper().replace("-", " ")
    assert client.post("/sign-in/code/?recovery=1", {"code": typed}).status_code == 302
    assert is_in(client)
    other = Client()
    sign_in(other)
    assert other.post("/sign-in/code/?recovery=1", {"code": recovery[0]}).status_code == 422
    assert codes_left(person) == 9


def test_nobody_gets_to_the_second_step_without_the_first(client, person, recovery):
    assert client.get("/sign-in/code/").url == "/sign-in/"
    assert client.post("/sign-in/code/", {"code": code_of(person)}).url == "/sign-in/"
    assert not is_in(client)


def test_the_second_step_waits_five_minutes(client, person, recovery, monkeypatch):
    sign_in(client)
    later = timezone.now() + timedelta(minutes=6)
    monkeypatch.setattr("config.second_factor.timezone.now", lambda: later)
    assert client.post("/sign-in/code/", {"code": code_of(person)}).url == "/sign-in/"
    monkeypatch.undo()
    assert not is_in(client)


def test_who_is_shut_out_meanwhile_stays_out(client, person, recovery):
    sign_in(client)
    person.is_active = False
    person.save()
    client.post("/sign-in/code/", {"code": code_of(person)})
    assert not is_in(client)


def test_five_wrong_codes_close_the_sign_in_for_this_name(client, person, recovery):
    sign_in(client)
    tried = [client.post("/sign-in/code/", {"code": wrong(person)}).status_code for _try in range(5)]
    assert tried == [422, 422, 422, 422, 429]
    assert client.post("/sign-in/code/", {"code": code_of(person)}).status_code == 429
    assert sign_in(Client()).status_code == 429


def test_a_wrong_code_makes_the_next_one_wait(person, recovery):
    code = code_of(person)
    assert not is_code_of(person, f"{(int(code) + 1) % 1_000_000:06d}")
    assert not is_code_of(person, code), "too soon after a wrong one"
    assert is_code_of(person, code_of(person))


def test_new_recovery_codes_and_the_end_want_a_code_first(client, person, recovery):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    for way in ("codes", "end"):
        assert client.post(f"/second-factor/{way}/", {"code": wrong(person)}).status_code == 422
    assert client.post("/second-factor/codes/", {"code": code_of(person)}).status_code == 200
    assert not StaticToken.objects.filter(token=recovery[0].replace("-", "")).exists()
    assert client.post("/second-factor/end/", {"code": code_of(person)}).status_code == 302
    assert not has_factor(person)
    assert codes_left(person) == 0


def test_another_owner_ends_it_for_who_lost_the_phone(client, person, recovery):
    owner = UserFactory(is_staff=True)
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    assert f"/people/{person.pk}/second-factor/end/" in client.get("/people/").content.decode()
    assert client.post(f"/people/{owner.pk}/second-factor/end/").url == "/second-factor/"
    client.post(f"/people/{person.pk}/second-factor/end/")
    assert not has_factor(person)
    assert f"/people/{person.pk}/second-factor/end/" not in client.get("/people/").content.decode()


def test_the_only_owner_ends_it_at_the_machine(person, recovery):
    call_command("end_second_factor", "Ada", verbosity=0)
    assert not has_factor(person)
    with pytest.raises(CommandError, match="nobody signs in"):
        call_command("end_second_factor", "Bob")
