"""Who was let in, out and allowed what, by whom: kept whole but for secrets, and seen by owners alone."""

import json

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.factories import PASSWORD, UserFactory
from tests.yard.test_invitations import take, token_of
from yard.actions.second_factor import end, renew_codes
from yard.models import Change, SignIn

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_owner(client):
    client.force_login(UserFactory(username="Ada", is_staff=True))
    return client


def kinds():
    return list(Change.objects.filter(about__what="people").order_by("pk").values_list("kind", "by__username"))


def page(client):
    return " ".join(client.get("/people/history/").content.decode().split())


def test_each_thing_that_is_done_with_people_is_told_with_who_did_it(as_owner):
    token = token_of(as_owner)
    take(token)
    runa = get_user_model().objects.get(username="Runa")
    as_owner.post(f"/people/{runa.pk}/role/", {"role": "guest"})
    as_owner.post(f"/people/{runa.pk}/password/")
    Client().post("/sign-in/", {"username": "Runa", "password": PASSWORD})
    as_owner.post(f"/people/{runa.pk}/sessions/")
    as_owner.post(f"/people/{runa.pk}/admission/", {"admitted": "no"})
    as_owner.post(f"/people/{runa.pk}/admission/", {"admitted": "yes"})
    as_owner.post("/people/", {"name": "bo", "role": "operator"})
    expected = ["invited", "invitation_used", "role_set", "password_renewed", "signed_out", "shut_out", "let_in"]
    done = kinds()
    assert [kind for kind, _who in done] == [*expected, "person_added"]
    assert [who for _kind, who in done] == ["Ada", "Runa", *["Ada"] * 6]
    said = page(as_owner)
    assert "Runa: role: yard hand: records, tags, moves, loads → guest: looks, changes nothing" in said
    assert "Runa: may sign in: yes → no" in said
    assert "What they do: new, name bo, role kiln operator" in said
    assert "New password made</b><br>Runa" in said


def test_nothing_secret_is_kept(as_owner):
    token = token_of(as_owner)
    take(token)
    runa = get_user_model().objects.get(username="Runa")
    as_owner.post(f"/people/{runa.pk}/password/")
    codes = renew_codes(person=runa, by=runa)
    kept = json.dumps(list(Change.objects.values_list("rows", flat=True)))
    runa.refresh_from_db()
    for secret in (runa.password, "md5$", "token_hash", "password", token, codes[0], codes[0].replace("-", "")):
        assert secret not in kept


def test_a_sign_in_and_a_second_factor_that_end_are_told(as_owner):
    person = UserFactory(username="Bo")
    Client().post("/sign-in/", {"username": "Bo", "password": PASSWORD})
    as_owner.post(f"/signed-in/{SignIn.objects.get(user=person).pk}/end/")
    renew_codes(person=person, by=person)
    end(person=person, by=None)
    assert kinds() == [("signed_out", "Ada"), ("codes_renewed", "Bo"), ("factor_ended", None)]


def test_no_tap_takes_it_back_and_no_other_role_sees_it(as_owner, client):
    person = UserFactory()
    as_owner.post(f"/people/{person.pk}/role/", {"role": "guest"})
    change = Change.objects.get(kind="role_set")
    answer = as_owner.post(f"/undo/{change.pk}/", follow=True)
    assert "can&#x27;t be undone with one tap" in answer.content.decode()
    assert "Undo" not in page(as_owner)
    assert as_owner.get("/history/people/1/").status_code == 404
    operator = Client()
    operator.force_login(UserFactory())
    assert operator.get("/people/history/").status_code == 403


def test_the_page_asks_as_often_for_much_as_for_little(as_owner):
    asked = []
    for number in range(13):
        as_owner.post("/people/", {"name": f"bo{number}", "role": "hand"})
        if number in (0, 12):
            with CaptureQueriesContext(connection) as queries:
                as_owner.get("/people/history/")
            asked.append([query["sql"][:150] for query in queries])
    assert len(asked[0]) == len(asked[1]), "\n".join(asked[1])
