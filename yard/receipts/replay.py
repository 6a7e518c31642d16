"""A form that was kept, sent once more by the one who sorts out, as if its sender had."""

from typing import Any
from urllib.parse import urlsplit

from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.urls import resolve, reverse

from yard.models import Receipt
from yard.receipts.answers import Said

PASSED_ON = ("HTTP_HOST", "SERVER_NAME", "SERVER_PORT")


def replayed(receipt: Receipt, code: str | None, by: HttpRequest, user: Any) -> tuple[HttpResponse, list[str]]:
    """The ordinary view's answer to the kept form, made out to `code` (None: as it was), and what it said.

    It is `user`'s and of the time when it was recorded; `by`: the request of who settles it. Raises what the view
    raises. Whether that user may do it is for the caller to ask: no middleware stands before the view here.
    """
    request = _request(receipt, code, by, user)
    view, args, kwargs = request.resolver_match  # type: ignore[misc]
    response = view(request, *args, **kwargs)
    return response, [str(message) for message in get_messages(request)]


def made_out_to(path: str, code: str) -> str:
    """The address with another tag's code in it, in its path or after `tag=`."""
    address = urlsplit(path)
    match = resolve(address.path)
    query = QueryDict(address.query, mutable=True)
    if "code" in match.kwargs:
        address = address._replace(path=reverse(match.view_name, kwargs={**match.kwargs, "code": code}))
    elif "tag" in query:
        query["tag"] = code
    return address._replace(query=query.urlencode()).geturl()


def address_name(path: str) -> str:
    """The name of an address, by which the table of roles knows it."""
    return str(resolve(urlsplit(path).path).url_name)


def code_in(path: str) -> str:
    """The code in an address; empty without one."""
    return str(resolve(urlsplit(path).path).kwargs.get("code", ""))


def _request(receipt: Receipt, code: str | None, by: HttpRequest, user: Any) -> HttpRequest:
    path = receipt.path if code is None else made_out_to(receipt.path, code)
    request, address = HttpRequest(), urlsplit(path)
    request.method, request.path, request.path_info = "POST", address.path, address.path
    request.META = {name: by.META[name] for name in PASSED_ON if name in by.META} | {"QUERY_STRING": address.query}
    request.GET = QueryDict(address.query)
    request.POST = _fields(receipt)  # type: ignore[assignment]
    request.user, request.session = user, by.session.__class__()
    request._messages = Said(request)  # type: ignore[attr-defined]
    request.settled_receipt = receipt  # type: ignore[attr-defined]
    request.resolver_match = resolve(address.path)
    return request


def _fields(receipt: Receipt) -> QueryDict:
    found = QueryDict("", mutable=True)
    for name, value in receipt.fields:
        found.appendlist(name, value)
    return found
