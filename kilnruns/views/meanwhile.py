"""Forms about a charge that is no longer what the phone saw when they were filled in."""

from django.core.exceptions import ValidationError
from django.http import HttpRequest

from yard.models import Why
from yard.receipts import UnplacedError, is_from_outbox


def keep_to_sort_out(request: HttpRequest, error: ValidationError, why: Why = Why.REFUSED) -> None:
    """From the outbox it is kept whole, for a person to sort out; at a live page the caller says it there."""
    if is_from_outbox(request):
        raise UnplacedError(why, told=" ".join(error.messages))
