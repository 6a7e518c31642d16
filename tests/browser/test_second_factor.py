"""A second factor as its owner meets it: set up by typing, printed, asked for; every page of it fit for a phone."""

import re

from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from tests.factories import PASSWORD
from yard.actions.second_factor import has_factor


def code_of(user):
    """What the app shows now, as if it had not been typed yet."""
    TOTPDevice.objects.filter(user=user).update(last_t=-1)
    device = TOTPDevice.objects.get(user=user)
    return f"{TOTP(device.bin_key, drift=device.drift).token():06d}"


def test_from_setting_it_up_to_signing_in_with_it(signed_in, owner, accessible):
    page = signed_in
    owner.is_staff = True
    owner.save()
    for address in ("/people/", "/people/history/", "/signed-in/", "/begin/", "/second-factor/"):
        page.goto(address)
        accessible(page)
    page.get_by_label("Code from the app").fill(code_of(owner))
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Ask for a code from now on").click()
    page.get_by_text("Print these or write them down now").wait_for()
    accessible(page)
    codes = re.findall(r"[a-z2-7]{4}-[a-z2-7]{4}", page.locator("ul.plain-list").inner_text())
    assert len(codes) == 10 and has_factor(owner)
    page.get_by_role("link", name="I have them").click()
    page.get_by_role("link", name="Second factor").click()
    accessible(page)
    page.locator("details.who > summary").click()
    page.locator("details.who").get_by_role("button", name="Sign out").click()
    page.get_by_label("Username").fill(owner.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/sign-in/code/")
    accessible(page)
    page.get_by_role("link", name="use a recovery code").click()
    accessible(page)
    page.get_by_label("Recovery code").fill(codes[0].upper())
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)
    page.goto("/yard/")
    assert "/sign-in/" not in page.url
