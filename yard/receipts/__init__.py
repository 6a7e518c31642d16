"""Forms sent under a key are applied once: the answer is kept in the transaction of the effect.

The door for views: `moment` (when it was done, by the phone's clock put right) and `clock_notes`.
"""

from yard.receipts.clock import clock_notes, moment

__all__ = ["clock_notes", "moment"]
