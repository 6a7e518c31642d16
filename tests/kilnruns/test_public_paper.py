"""The one page for strangers: opened by its link alone, and it shows that paper alone."""

import re

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone
from django.utils.html import escape

from kilnruns.actions.papers import end_link, open_link, withdraw
from kilnruns.templatetags.paper_words import told
from kilnruns.views.slowing import MOST_WRONG
from tests.factories import StackFactory
from tests.kilnruns.closed import finished
from tests.kilnruns.test_papers import dry_stack, issued
from tests.yard.queries import queries_of
from yard.models import Mill

pytestmark = pytest.mark.django_db


@pytest.fixture
def paper():
    Mill.objects.create(pk=1, name="Hollow mill")
    return issued(dry_stack(), note="Third load")


@pytest.fixture
def token(paper):
    return open_link(paper=paper, by=None, at=timezone.now()).token


def fetch(token, client=None, **more):
    return (client or Client()).get(f"/p/{token}", **more)


def links_in(page):
    return re.findall(r'\shref="([^"]+)"', page)


def test_it_shows_every_fact_of_the_print_without_signing_in(paper, token):
    page = fetch(token).content.decode()
    words = told(paper)
    wanted = [words.title, words.mill, words.issued, *words.to, *words.limits, words.note, words.mark]
    wanted += [section.heading for section in words.sections]
    wanted += [text for section in words.sections for line in section.lines for text in (line.label, line.value)]
    assert [text for text in wanted if escape(text) not in page] == []
    assert "Compare it with the paper" in page


def test_it_holds_nothing_else_of_the_yard(paper, token, signed_in):
    other = StackFactory()
    for client in (Client(), signed_in):
        page = fetch(token, client).content.decode()
        assert "<script" not in page and "<form" not in page and "<nav" not in page and "csrf" not in page
        assert all(href.startswith(("/static/", "?language=")) for href in links_in(page))
        assert other.code not in page and other.species.name not in page
    assert fetch(token, signed_in).content == fetch(token).content


def test_it_sets_no_cookie_and_starts_no_session(token):
    client = Client()
    for address in (token, "wrong"):
        response = fetch(address, client)
        assert response.cookies == {} and client.cookies == {}
    assert Session.objects.count() == 0


@pytest.mark.parametrize("which", ["open", "ended", "wrong", "slowed"])
def test_no_answer_is_kept_found_or_told_on(paper, token, which):
    if which == "ended":
        end_link(paper=paper, by=None, at=timezone.now())
    for _number in range(MOST_WRONG if which == "slowed" else 0):
        fetch("wrong")
    response = fetch(token if which in ("open", "ended") else "wrong")
    assert response.status_code == {"open": 200, "ended": 410, "wrong": 404, "slowed": 429}[which]
    assert response["Cache-Control"] == "no-store"
    assert "noindex" in response["X-Robots-Tag"]
    assert response["Referrer-Policy"] == "no-referrer"
    policy = response["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "script-src" not in policy and "unsafe" not in policy


def test_it_answers_to_capitals_as_the_symbol_holds_them_and_to_small_letters_as_people_type_them(token):
    for address in (f"/P/{token}", f"/p/{token.lower()}", f"/p/{token}/", f"/p/{token[:5]}%20{token[5:]}"):
        assert Client().get(address).status_code == 200


def test_no_form_is_taken(token):
    for method in ("post", "put", "delete"):
        assert getattr(Client(), method)(f"/p/{token}").status_code == 405


def test_without_a_link_no_guess_opens_it(paper):
    for guess in (paper.pk, paper.number, "A" * 30, "x", "é" * 30, "%00" * 30):
        assert fetch(guess).status_code == 404


def test_an_ended_link_says_so_and_nothing_of_the_paper_and_the_others_stay(paper, token):
    other = open_link(paper=issued(StackFactory(), kind="delivery_note"), by=None, at=timezone.now()).token
    end_link(paper=paper, by=None, at=timezone.now())
    response = fetch(token)
    page = response.content.decode()
    assert response.status_code == 410
    assert "no longer shown" in page
    for private in (paper.facts["items"][0]["code"], "joiner", "Hollow mill", "certificate"):
        assert private not in page
    assert fetch(other).status_code == 200


def test_after_withdrawing_it_says_so_without_the_reason(paper, token):
    withdraw(paper=paper, why="the buyer quarrelled", by=None, at=timezone.now())
    response = fetch(token)
    page = response.content.decode()
    assert response.status_code == 410
    assert "was withdrawn" in page
    for private in ("quarrelled", "joiner", "Hollow mill"):
        assert private not in page


def test_the_ended_link_stays_ended_when_another_is_made(paper, token):
    end_link(paper=paper, by=None, at=timezone.now())
    fresh = open_link(paper=paper, by=None, at=timezone.now()).token
    assert fetch(token).status_code == 410
    assert fetch(fresh).status_code == 200


def test_wrong_addresses_are_slowed_by_machine_and_a_right_one_is_not(token):
    for _number in range(MOST_WRONG):
        assert fetch("wrong").status_code == 404
    slowed = fetch("wrong")
    assert slowed.status_code == 429
    assert int(slowed["Retry-After"]) > 0
    assert fetch(token).status_code == 200
    assert fetch("wrong", REMOTE_ADDR="192.0.2.7").status_code == 404


def test_it_takes_one_query_whatever_is_on_it(token):
    eight = issued(*[item.stack for item in finished(stacks=8).stacks.all()])
    link = open_link(paper=eight, by=None, at=timezone.now())
    assert queries_of(Client(), f"/p/{token}") == queries_of(Client(), f"/p/{link.token}") == 1
