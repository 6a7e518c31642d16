"""Owners add people, renew passwords and shut people out."""

from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

from tests.factories import PASSWORD, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> Any:
    return UserFactory(username="owner", is_staff=True)


@pytest.fixture
def as_owner(client: Client, owner: Any) -> Client:
    client.force_login(owner)
    return client


def sign_in(name: str, password: str) -> Any:
    return Client().post(reverse("login"), {"username": name, "password": password})


def test_a_person_is_added_and_can_sign_in_with_the_password_shown(as_owner: Client) -> None:
    response = as_owner.post(reverse("people"), {"name": "bo", "role": "hand"})
    given = response.context["given"]
    assert given["password"] in response.content.decode()
    assert sign_in("bo", given["password"]).status_code == 302
    assert not get_user_model().objects.get(username="bo").is_staff


def test_a_name_that_is_taken_is_refused_at_the_field_and_kept(as_owner: Client) -> None:
    UserFactory(username="Bo")
    response = as_owner.post(reverse("people"), {"name": "bo", "role": "hand"})
    assert response.status_code == 422
    assert "choose another" in response.context["form"].errors["name"][0]
    assert 'value="bo"' in response.content.decode()


def test_a_new_password_ends_the_old_one(as_owner: Client) -> None:
    person = UserFactory(username="bo")
    response = as_owner.post(reverse("person_password", args=[person.pk]))
    assert sign_in("bo", PASSWORD).status_code == 200
    assert sign_in("bo", response.context["given"]["password"]).status_code == 302


def test_someone_shut_out_is_signed_out_at_once_and_cannot_come_back(as_owner: Client) -> None:
    person = UserFactory(username="bo")
    phone = Client()
    phone.force_login(person)
    assert phone.get(reverse("yard")).status_code == 200
    as_owner.post(reverse("person_admission", args=[person.pk]), {"admitted": "no"})
    assert phone.get(reverse("yard")).status_code == 302
    assert sign_in("bo", PASSWORD).status_code == 200
    as_owner.post(reverse("person_admission", args=[person.pk]), {"admitted": "yes"})
    assert sign_in("bo", PASSWORD).status_code == 302


def test_nobody_shuts_themselves_out(as_owner: Client, owner: Any) -> None:
    as_owner.post(reverse("person_admission", args=[owner.pk]), {"admitted": "no"})
    owner.refresh_from_db()
    assert owner.is_active


def test_a_yard_hand_may_not_see_or_add_people(client: Client) -> None:
    client.force_login(UserFactory())
    assert client.get(reverse("people")).status_code == 403
    assert client.post(reverse("people"), {"name": "bo"}).status_code == 403
    assert not get_user_model().objects.filter(username="bo").exists()
