"""Who asks, behind a proxy: the last address that was written, and no other."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from config.middleware.client_address import ClientAddressMiddleware


@pytest.mark.parametrize(
    ("told", "found"),
    [
        ("203.0.113.5", "203.0.113.5"),
        ("10.0.0.1, 203.0.113.5", "203.0.113.5"),
        ("127.0.0.1,203.0.113.5", "203.0.113.5"),
        ("2001:DB8::1", "2001:db8::1"),
        ("203.0.113.5, unknown", "127.0.0.1"),
        ("203.0.113.5, ' OR 1=1", "127.0.0.1"),
        ("", "127.0.0.1"),
    ],
)
def test_only_what_our_own_proxy_wrote_counts(told, found):
    request = RequestFactory().get("/", headers={"X-Forwarded-For": told})
    ClientAddressMiddleware(lambda _request: HttpResponse())(request)
    assert request.META["REMOTE_ADDR"] == found


def test_without_the_setting_nobody_is_believed(settings):
    assert not settings.BEHIND_PROXY
    assert not any("proxied" in name for name in settings.MIDDLEWARE)
