"""Background sync in a real browser: what was recorded without reception arrives with no page of ours open."""

import uuid
from contextlib import suppress
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.db import OperationalError

from tests.factories import PlaceFactory, StackFactory
from tests.pwa.conftest import until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TAG = "drystack-outbox"
LEFT = "async (user) => (await (await import('/static/js/outbox.js')).waiting(user)).length"
KEEP = """async ([record, user]) => {
  const { keep } = await import("/static/js/outbox.js");
  await keep({ ...record, user });
}"""


@pytest.fixture
def worker_domain(phone: Any) -> Any:
    """The browser's own view of workers, from a page that is none of ours; and the registrations it tells of."""
    page = phone.new_page()
    session = phone.new_cdp_session(page)
    registrations: list[dict[str, Any]] = []
    session.on("ServiceWorker.workerRegistrationUpdated", lambda told: registrations.extend(told["registrations"]))
    session.send("ServiceWorker.enable")
    return page, session, registrations


def stands_at(stack: Any, place: Any) -> bool:
    with suppress(OperationalError):  # the test's database in memory lets nobody read while the server writes
        stack.refresh_from_db()
    return bool(stack.place == place)


def test_what_was_kept_arrives_by_background_sync_with_every_page_closed(
    installed: Any, worker_domain: Any, live_server: Any
) -> None:
    stack, place = StackFactory(), PlaceFactory()
    person = get_user_model().objects.get(username="orla")
    record = {
        "key": str(uuid.uuid4()),
        "path": f"/stacks/{stack.code}/move/",
        "fields": [["place", str(place.pk)]],
        "subject": stack.code,
        "title": "Move",
        "about": "",
        "page": "",
        "words": [["Place", str(place)]],
    }
    installed.evaluate(KEEP, [record, str(person.pk)])
    installed.close()
    assert not stands_at(stack, place)

    watcher, session, registrations = worker_domain
    [registration] = {each["registrationId"] for each in registrations if live_server.url in each["scopeURL"]}
    session.send("ServiceWorker.stopAllWorkers")
    sync = {"origin": f"{live_server.url}/", "registrationId": registration, "tag": TAG, "lastChance": False}
    session.send("ServiceWorker.dispatchSyncEvent", sync)
    for _ in range(100):
        watcher.wait_for_timeout(100)
        if stands_at(stack, place):
            break
    else:
        pytest.fail("nothing arrived")
    watcher.goto("/offline")
    until(watcher, f"async (user) => (await ({LEFT})(user)) === 0", str(person.pk))
