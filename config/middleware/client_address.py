"""Behind a proxy: who really asks, so that counts of wrong passwords and tries are of people and not of the proxy."""

from collections.abc import Callable
from contextlib import suppress
from ipaddress import ip_address

from django.http import HttpRequest, HttpResponse


class ClientAddressMiddleware:
    """REMOTE_ADDR becomes the last address of X-Forwarded-For: the one that our own proxy saw and wrote. Those before
    it came from outside, where anything can be written."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        told = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
        with suppress(ValueError):  # not by the proxy, or it tells nothing: the connection's own address stays
            request.META["REMOTE_ADDR"] = str(ip_address(told))
        return self.get_response(request)
