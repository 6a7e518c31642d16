"""Reminders in a real browser: asked for by a tap alone, shown by the worker, and words where there is no push."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from kilnruns.models import PushDevice
from tests.chromium import launched
from tests.kilnruns.push_server import Browser
from tests.pwa.conftest import CONTROLLED, until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NO_PUSH = "This browser can't take such messages here"
ASK = "Remind me on this device"
# A browser here has no push service to subscribe at: what it would be given is given in its stead.
SUBSCRIBED = """
  window.asked = [];
  PushManager.prototype.subscribe = async function (options) { window.asked.push(options); return %s; };
"""
REFUSED = """
  PushManager.prototype.subscribe = async function () { throw new DOMException("denied", "NotAllowedError"); };
"""


@pytest.fixture(scope="module")
def chromium(django_db_setup: None) -> Iterator[Any]:
    """One that shows notifications."""
    with launched(whole=True) as browser:
        yield browser


@pytest.fixture(autouse=True)
def _own_key(settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path


def opened(phone: Any, sign_in: Callable[[], Any], script: str) -> Any:
    sign_in()
    phone.add_init_script(script)
    page = phone.new_page()
    page.goto("/reminders/")
    page.evaluate(CONTROLLED)
    return page


def test_where_there_is_no_push_the_page_says_so_and_offers_nothing(phone: Any, sign_in: Callable[[], Any]) -> None:
    page = opened(phone, sign_in, "delete window.PushManager;")
    assert page.get_by_text(NO_PUSH).is_visible()
    assert not page.get_by_role("button", name=ASK).is_visible()


def test_a_tap_asks_and_the_device_is_kept(phone: Any, sign_in: Callable[[], Any]) -> None:
    browser = Browser()
    page = opened(phone, sign_in, SUBSCRIBED % json.dumps(browser.subscription))
    button = page.get_by_role("button", name=ASK)
    button.wait_for()
    assert not page.get_by_text(NO_PUSH).is_visible()
    assert page.evaluate("window.asked.length") == 0, "nothing is asked for without a tap"
    button.click()
    page.get_by_text("This device will remind you.").wait_for()
    assert PushDevice.objects.get().endpoint == browser.endpoint
    page.get_by_role("button", name="End", exact=True).click()
    page.get_by_text("that device reminds you no more").wait_for()
    assert not PushDevice.objects.exists()


def test_a_refusal_is_told_with_the_way_out(phone: Any, sign_in: Callable[[], Any]) -> None:
    page = opened(phone, sign_in, REFUSED)
    page.get_by_role("button", name=ASK).click()
    page.get_by_role("alert").get_by_text("Allow notifications for Drystack").wait_for()
    assert not PushDevice.objects.exists()


@pytest.fixture
def worker(installed: Any, phone: Any) -> Any:
    [found] = phone.service_workers
    return found


def pushed(installed: Any, phone: Any, live_server: Any, message: dict[str, str]) -> None:
    """As a push service would, through the browser, until it is shown: like any service it tries again, for a worker
    just being started loses what is handed to it. The same tag is shown once."""
    session = phone.new_cdp_session(installed)
    told: list[dict[str, Any]] = []
    session.on("ServiceWorker.workerRegistrationUpdated", lambda one: told.extend(one["registrations"]))
    session.send("ServiceWorker.enable")
    until(installed, "() => true")
    [registration] = {one["registrationId"] for one in told if live_server.url in one["scopeURL"]}
    given = {"origin": f"{live_server.url}/", "registrationId": registration, "data": json.dumps(message)}
    for _ in range(10):
        session.send("ServiceWorker.deliverPushMessage", given)
        for _ in range(50):
            if any(one["title"] == message["title"] for one in installed.evaluate(SHOWN)):
                return
            installed.wait_for_timeout(100)
    pytest.fail(f"never shown: {message}")


SHOWN = """async () => (await (await navigator.serviceWorker.ready).getNotifications())
  .map(({ title, body, tag }) => ({ title, body, tag }))"""


def test_the_worker_shows_what_was_pushed_and_of_two_the_later(
    installed: Any, phone: Any, live_server: Any, worker: Any
) -> None:
    phone.grant_permissions(["notifications"], origin=live_server.url)
    first = {"title": "Load the small kiln", "body": "Ash 32 mm", "tag": "today"}
    pushed(installed, phone, live_server, first)
    assert installed.evaluate(SHOWN) == [first]
    pushed(installed, phone, live_server, {**first, "title": "3 things are due today"})
    assert len(installed.evaluate(SHOWN)) == 1


def test_tapped_it_closes_and_opens_today_beside_what_is_half_typed(
    installed: Any, phone: Any, live_server: Any, worker: Any
) -> None:
    phone.grant_permissions(["notifications"], origin=live_server.url)
    pushed(installed, phone, live_server, {"title": "Load the small kiln", "body": "", "tag": "today"})
    before = installed.url
    opened = worker.evaluate("""async () => {
      const asked = [];
      Clients.prototype.openWindow = async (address) => asked.push(address);
      const [notification] = await self.registration.getNotifications();
      self.dispatchEvent(new NotificationEvent("notificationclick", { notification }));
      return asked;
    }""")
    assert opened == ["/"]
    until(installed, f"async () => (await ({SHOWN})()).length === 0")
    assert installed.url == before
