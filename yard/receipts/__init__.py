"""Forms sent under a key are applied once: the answer is kept in the transaction of the effect.

The door for views: `moment` (when it was done, by the phone's clock put right), `right_day` and `clock_notes`; `seen`
(the version it was filled in against), `form_key`, `is_from_outbox`, `is_settling` and UnplacedError, for what a person
has to sort out.
The door for sorting it out: `replayed`, `address_name`, `code_in`, `refusals`.
"""

from yard.receipts.clock import clock_notes, moment, right_day
from yard.receipts.meanwhile import UnplacedError, form_key, is_from_outbox, is_settling, seen
from yard.receipts.refusals import refusals
from yard.receipts.replay import address_name, code_in, replayed

__all__ = [
    "UnplacedError",
    "address_name",
    "clock_notes",
    "code_in",
    "form_key",
    "is_from_outbox",
    "is_settling",
    "moment",
    "refusals",
    "replayed",
    "right_day",
    "seen",
]
