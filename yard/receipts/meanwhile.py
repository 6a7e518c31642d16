"""What became of a thing between the phone's seeing it and the form's arrival."""

from uuid import UUID

from django.http import Http404, HttpRequest

from yard.receipts.sent import OUTBOX_HEADER

SEEN_HEADER = "X-Drystack-Seen"
SEEN_FIELD = "seen"


class UnplacedError(Http404):
    """The yard can't say where a form belongs; `why` is one of yard.models.Why, `told` says more of it to people.

    From the outbox it is kept for a person to sort out. At a live page it is a page not found, like any other.
    """

    def __init__(self, why: str, words: str = "", told: str = "") -> None:
        super().__init__(words or told or why)
        self.why, self.told = why, told


def is_from_outbox(request: HttpRequest) -> bool:
    """Whether it was kept on a phone and nobody waits at a page for the answer."""
    return request.headers.get(OUTBOX_HEADER) == "1" and not is_settling(request)


def is_settling(request: HttpRequest) -> bool:
    """Whether a person has looked at both sides and said that it shall be so."""
    return getattr(request, "settled_receipt", None) is not None


def form_key(request: HttpRequest) -> UUID | None:
    """The key that the form came under, now or when it was first sent; None without one."""
    settled = getattr(request, "settled_receipt", None)
    found = settled.key if settled is not None else getattr(request, "receipt_key", None)
    return UUID(str(found)) if found else None


def seen(request: HttpRequest) -> int | None:
    """The version of the stack that the form was filled in against: its last event's key. None where not known."""
    if request.method != "POST":
        return None
    stated = request.POST.get(SEEN_FIELD) or request.headers.get(SEEN_HEADER, "")
    return int(stated) if stated.isdecimal() and len(stated) < 19 else None
