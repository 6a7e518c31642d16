"""What identifies a form that was sent: its key and its content."""

import hashlib
import json
from typing import Any
from uuid import UUID, uuid5

from django.http import HttpRequest

KEY_HEADER = "Idempotency-Key"
KEY_FIELD = "key"
OUTBOX_HEADER = "X-Drystack-Outbox"
"""`1` from the outbox; `live` from a page that waits for the answer and shows the messages itself."""
USER_HEADER = "X-Drystack-User"
WORDS_FIELD = "outbox_words"
"""The same as typed, with the fields' labels, for people: [[label, value], ...] as JSON."""
NOT_CONTENT = frozenset({KEY_FIELD, WORDS_FIELD, "csrfmiddlewaretoken"})


class BadKeyError(ValueError):
    """A header that is no UUID."""


def key_of(request: HttpRequest, content: str) -> UUID | None:
    """The key a form came under; None without one.

    A page's hidden field bears one key however often the page is sent. It stops a double tap, but after going back
    and typing something else it must be another form: so its content counts too.
    """
    stated = request.headers.get(KEY_HEADER)
    if stated is not None:
        return _uuid(stated)
    try:
        return uuid5(_uuid(request.POST.get(KEY_FIELD, "")), request.path + content)
    except BadKeyError:
        return None


def digest(request: HttpRequest) -> str:
    """SHA-256 of address, fields and files; the same for the same form, whatever the token."""
    files = {name: [_file(file) for file in request.FILES.getlist(name)] for name in request.FILES}
    content = [request.get_full_path(), sorted(fields(request)), sorted(files.items())]
    return hashlib.sha256(json.dumps(content).encode()).hexdigest()


def fields(request: HttpRequest) -> list[list[str]]:
    """The fields as [name, value] pairs, without key, token and words."""
    return [[name, value] for name, values in request.POST.lists() if name not in NOT_CONTENT for value in values]


def is_of_another(request: HttpRequest) -> bool:
    """Whether the phone recorded it for someone who is not the one signed in now."""
    stated = request.headers.get(USER_HEADER)
    return stated is not None and stated != str(request.user.pk)


def _file(file: Any) -> list[Any]:
    found = hashlib.sha256()
    for chunk in file.chunks():
        found.update(chunk)
    file.seek(0)
    return [file.size, found.hexdigest()]


def _uuid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise BadKeyError(text) from error
