"""Signing in: as people do, by the form, or as they come back, by the cookie that they have."""

from typing import Any

from playwright.sync_api import BrowserContext, Page

from tests.factories import PASSWORD

BACKEND = "django.contrib.auth.backends.ModelBackend"


def sign_in(page: Page, user: Any) -> None:
    """From the sign-in page to Today."""
    page.goto("/sign-in/")
    page.get_by_label("Username").fill(user.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")


def keep_signed_in(context: BrowserContext, user: Any, client: Any, site: str) -> None:
    """As if the user had signed in on this browser before; the client is then the same session."""
    client.force_login(user, backend=BACKEND)
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": site}])
