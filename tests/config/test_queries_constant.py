"""No page's number of queries grows with the yard: every address that a screen has, in a yard with more of everything.

Whatever is new in the list of addresses or among the tables is in it by itself.
"""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from config.demo import in_hand, stacks
from tests.browser.test_every_screen import EVERY, calculators, finds, furnish, histories, papers, screens, ways
from tests.config.growing import Again
from yard.models import Tag

MORE = ("/yard/?first=due", "/yard/?due=on", "/yard/?state=ready", "/yard/?q=a", "/copy/")


@pytest.mark.django_db
def test_no_page_asks_more_of_a_larger_yard(
    monkeypatch: pytest.MonkeyPatch, client: Client, django_user_model: Any
) -> None:
    rows = stacks.rows()
    monkeypatch.setattr(stacks, "rows", lambda: rows[::EVERY])
    monkeypatch.setattr(in_hand, "begin", lambda *_given: None)
    furnish()
    owner = django_user_model.objects.get(username="owner")
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    addresses = [*screens(), *calculators(), *ways(), *finds(), *papers(), *histories(), *MORE]
    addresses.append(f"/stacks/new/?tag={Tag.objects.blank()[0].code}")
    Again().grow()  # where there were none or one, a page may ask less
    before = {address: asked(client, address) for address in addresses}
    grown = Again()
    grown.grow()
    assert min(grown.made[name] for name in ("yard.Stack", "yard.Reading", "yard.Need", "kilnruns.Charge")) > 2
    after = {address: asked(client, address) for address in addresses}
    more = {one: what for one in addresses if (what := told(before[one], after[one]))}
    assert more == {}
    assert len(addresses) > 100


def asked(client: Client, address: str) -> list[str]:
    with CaptureQueriesContext(connection) as caught:
        response = client.get(address)
    assert response.status_code in (200, 302), (address, response.status_code)
    return [one["sql"] for one in caught.captured_queries]


def told(before: list[str], after: list[str]) -> str:
    """How many more, with the statement that most of them begin with."""
    if len(after) <= len(before):
        return ""
    starts = [one[:160] for one in after]
    most = max(set(starts), key=starts.count)
    return f"{len(before)} became {len(after)}; {starts.count(most)} times: {most}"
