"""The same view answers page and fragment; the middleware sees to the rest."""

from collections.abc import Callable

import pytest
from django.contrib.messages import info
from django.contrib.messages.storage.cookie import CookieStorage
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.test import RequestFactory
from django_htmx.middleware import HtmxMiddleware as AddHtmx

from config.middleware.htmx import HtmxMiddleware

View = Callable[[HttpRequest], HttpResponse]


def answer(view: View, *, htmx: bool, page: str = "http://testserver/stacks/7/") -> HttpResponse:
    headers = {"HX-Request": "true", "HX-Current-URL": page} if htmx else {}
    request = RequestFactory().get("/stacks/7/preview/", headers=headers)
    request._messages = CookieStorage(request)  # type: ignore[attr-defined]
    result = AddHtmx(HtmxMiddleware(view))(request)
    assert isinstance(result, HttpResponse)
    return result


def fragment(request: HttpRequest) -> HttpResponse:
    return HttpResponse("<p>2.3</p>")


def kept(request: HttpRequest) -> HttpResponse:
    info(request, "Reading <kept>")
    return fragment(request)


@pytest.mark.parametrize("htmx", [True, False])
def test_html_varies_on_what_htmx_asks_for(htmx: bool) -> None:
    assert {"HX-Request", "HX-Target"} <= set(answer(fragment, htmx=htmx)["Vary"].split(", "))


def test_other_answers_are_left_alone() -> None:
    assert "Vary" not in answer(lambda request: JsonResponse({}), htmx=True)


def test_a_message_comes_along_with_the_fragment_escaped() -> None:
    body = answer(kept, htmx=True).content.decode()
    assert body.startswith("<p>2.3</p>")
    assert 'hx-swap-oob="beforeend"' in body
    assert "Reading &lt;kept&gt;" in body


def test_a_page_shows_its_messages_itself() -> None:
    assert answer(kept, htmx=False).content == b"<p>2.3</p>"


@pytest.mark.parametrize("status", [204, 404, 500])
def test_a_message_waits_where_htmx_swaps_nothing_in(status: int) -> None:
    def view(request: HttpRequest) -> HttpResponse:
        info(request, "wait")
        return HttpResponse("", status=status)

    assert answer(view, htmx=True).content == b""


def test_a_redirect_becomes_one_that_htmx_follows() -> None:
    def view(request: HttpRequest) -> HttpResponse:
        response = HttpResponseRedirect("/stacks/8/")
        response.set_cookie("kept", "yes")
        return response

    seen = answer(view, htmx=True)
    assert (seen.status_code, seen["HX-Redirect"], seen.content) == (200, "/stacks/8/", b"")
    assert "Location" not in seen
    assert seen.cookies["kept"].value == "yes"
    assert answer(view, htmx=False)["Location"] == "/stacks/8/"


def test_signing_in_leads_back_to_the_page_not_the_fragment() -> None:
    def view(request: HttpRequest) -> HttpResponse:
        return HttpResponseRedirect("/sign-in/?next=/stacks/7/preview/")

    assert answer(view, htmx=True)["HX-Redirect"] == "/sign-in/?next=%2Fstacks%2F7%2F"


def test_signing_in_never_leads_to_another_site() -> None:
    def view(request: HttpRequest) -> HttpResponse:
        return HttpResponseRedirect("/sign-in/?next=/stacks/7/preview/")

    seen = answer(view, htmx=True, page="https://elsewhere.example/x")
    assert seen["HX-Redirect"] == "/sign-in/?next=/stacks/7/preview/"
