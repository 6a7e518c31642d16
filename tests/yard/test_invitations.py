"""An invitation makes one person, once, in time; sessions are ended; roles are changed by owners."""

from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from tests.factories import UserFactory
from yard.actions.invitations import LASTS, invite
from yard.actions.people import set_admitted, set_role
from yard.actions.roles import role_of
from yard.models import Invitation, Role

pytestmark = pytest.mark.django_db
PASSWORD = "larch ladder lamp"


@pytest.fixture
def as_owner(client):
    client.force_login(UserFactory(username="owner", is_staff=True))
    return client


def take(token, name="Runa", password=PASSWORD, client=None):
    return (client or Client()).post(f"/invitation/{token}/", {"name": name, "password": password})


def token_of(as_owner, role="hand"):
    answer = as_owner.post("/people/invite/", {"role": role})
    assert answer.status_code == 200
    address = answer.context["link"]["address"]
    assert address in answer.content.decode()
    return address.rstrip("/").rpartition("/")[2]


def test_a_phone_scans_it_and_is_signed_in_at_once(as_owner):
    token, phone = token_of(as_owner), Client()
    assert "yard hand" in phone.get(f"/invitation/{token}/").content.decode()
    assert take(token, client=phone).url == "/begin/"
    assert phone.get("/yard/").status_code == 200
    runa = get_user_model().objects.get(username="Runa")
    assert role_of(runa) == Role.HAND
    assert not runa.is_staff
    made = Invitation.objects.get()
    assert (made.used_by, made.made_by.username) == (runa, "owner")


def test_it_makes_one_person_only(as_owner):
    token = token_of(as_owner)
    take(token)
    assert take(token, name="Second").status_code == 410
    assert not get_user_model().objects.filter(username="Second").exists()


def test_it_ends_after_its_days():
    token = invite(role=Role.GUEST, by=None, at=timezone.now() - LASTS - timedelta(minutes=1))
    assert take(token).status_code == 410
    assert Client().get(f"/invitation/{token}/").status_code == 410


def test_withdrawn_it_is_over(as_owner):
    token = token_of(as_owner)
    as_owner.post(f"/invitations/{Invitation.objects.get().pk}/withdraw/")
    assert take(token).status_code == 410


def test_its_token_is_kept_nowhere(as_owner):
    token = token_of(as_owner)
    assert token not in str(Invitation.objects.values().get())


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"name": "owner"}, "name"),
        ({"name": ""}, "name"),
        ({"password": "short"}, "password"),
        ({"name": "a b"}, "name"),
    ],
)
def test_a_name_or_password_that_will_not_do_is_told_at_its_field_and_kept(as_owner, given, field):
    token = token_of(as_owner)
    answer = take(token, **given)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert take(token).status_code == 302, "it can still be taken"


def test_no_owner_is_made_by_a_link(as_owner):
    assert as_owner.post("/people/invite/", {"role": "owner"}).status_code == 422 or not Invitation.objects.exists()
    assert not Invitation.objects.exists()


def test_strangers_see_that_it_is_over_and_nothing_else():
    page = Client().get("/invitation/nonsense/")
    assert page.status_code == 410
    assert page["Referrer-Policy"] == "same-origin"


def test_an_owner_signs_somebody_out_everywhere_and_oneself_everywhere_else(as_owner):
    person = UserFactory()
    phone, tablet, mine = Client(), Client(), Client()
    for one in (phone, tablet):
        one.force_login(person)
    mine.force_login(get_user_model().objects.get(username="owner"))
    as_owner.post(f"/people/{person.pk}/sessions/")
    assert [one.get("/yard/").status_code for one in (phone, tablet, as_owner, mine)] == [302, 302, 200, 200]
    as_owner.post(f"/people/{get_user_model().objects.get(username='owner').pk}/sessions/")
    assert [one.get("/yard/").status_code for one in (as_owner, mine)] == [200, 302]


def test_an_owner_changes_what_somebody_does_but_not_the_own_role(as_owner):
    person, owner = UserFactory(), get_user_model().objects.get(username="owner")
    as_owner.post(f"/people/{person.pk}/role/", {"role": "guest"})
    assert role_of(get_user_model().objects.get(pk=person.pk)) == Role.GUEST
    as_owner.post(f"/people/{person.pk}/role/", {"role": "owner"})
    assert get_user_model().objects.get(pk=person.pk).is_staff
    as_owner.post(f"/people/{owner.pk}/role/", {"role": "guest"})
    assert get_user_model().objects.get(pk=owner.pk).is_staff


def test_others_invite_nobody(client):
    client.force_login(UserFactory())
    assert client.post("/people/invite/", {"role": "hand"}).status_code == 403


def test_who_has_no_role_yet_is_shown_as_what_they_are_and_made_no_owner_by_a_tap(as_owner):
    person = UserFactory()
    page = as_owner.get("/people/").content.decode()
    form = page.split(f"/people/{person.pk}/role/", 1)[1].split("</form>", 1)[0]
    assert '<option value="operator" selected>' in form
    assert form.count(" selected") == 1


@pytest.mark.parametrize("how", ["shut out", "no owner any more"])
def test_what_a_former_owner_gave_out_lets_nobody_in(as_owner, how):
    other = UserFactory(is_staff=True)
    token = invite(role=Role.OPERATOR, by=other, at=timezone.now())
    if how == "shut out":
        as_owner.post(f"/people/{other.pk}/admission/", {"admitted": "no"})
    else:
        as_owner.post(f"/people/{other.pk}/role/", {"role": "hand"})
    assert take(token).status_code == 410


def test_a_password_that_is_the_name_is_refused(as_owner):
    answer = take(token_of(as_owner), name="larchladder", password="larchladder1")
    assert "too similar" in str(answer.context["form"].errors["password"])


def test_two_who_take_the_same_name_at_the_same_moment_are_both_answered(as_owner, monkeypatch):
    """The second one's look at the names comes before the first one's name is written."""
    token = token_of(as_owner)
    UserFactory(username="Runa")
    monkeypatch.setattr("yard.actions.people.is_taken", lambda name: False)
    monkeypatch.setattr("yard.forms.person.is_taken", lambda name: False)
    answer = take(token)
    assert answer.status_code == 422
    assert "choose another" in str(answer.context["form"].errors["name"])
    assert take(token, name="Runa2").status_code == 302, "it can still be taken"


@pytest.mark.parametrize("how", ["role", "admission"])
def test_two_owners_who_end_each_other_leave_one(how):
    """Each request read its person before the other one's was written."""
    first, second = UserFactory(is_staff=True), UserFactory(is_staff=True)
    stale = get_user_model().objects.get(pk=second.pk)

    def end(person, by):
        if how == "role":
            set_role(person=person, role=Role.HAND, by=by)
        else:
            set_admitted(person=person, admitted=False, by=by)

    end(second, first)
    with pytest.raises(ValidationError, match="no owner any more"):
        end(first, stale)
    with pytest.raises(ValidationError, match="the only owner"):
        end(first, None)
    assert get_user_model().objects.filter(is_staff=True, is_active=True).get() == first


def test_an_owner_who_was_one_until_now_is_told_so_on_the_page(as_owner, monkeypatch):
    person = UserFactory()
    monkeypatch.setattr("yard.actions.people._owners", lambda: get_user_model().objects.filter(pk=person.pk))
    answer = as_owner.post(f"/people/{person.pk}/role/", {"role": "guest"}, follow=True)
    assert "You are no owner any more" in answer.content.decode()
    assert role_of(get_user_model().objects.get(pk=person.pk)) == Role.OPERATOR
