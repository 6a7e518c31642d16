"""Who changed what, when, and what stood there before: one row for each act of a person, kept for good.

Our own, since an act writes several rows, many of them at once (`bulk_create`, `update`), and is taken back as one:
django-auditlog and django-simple-history keep a line a row by signals, which such writes do not send, with one more
query for each row and no act that holds them together. Here rows are read before and after the act, a table a query.

The door: `kept` round what an action writes, `Watched` and `rows_of_stacks` to say whose rows; `begun`, `written` for
the middleware.
"""

from yard.changes.kinds import Kind, kind_of, register
from yard.changes.recording import MILL, PEOPLE, Act, Watched, begun, keeps, kept, rows_of_stacks, unkept, written

__all__ = [
    "MILL",
    "PEOPLE",
    "Act",
    "Kind",
    "Watched",
    "begun",
    "keeps",
    "kept",
    "kind_of",
    "register",
    "rows_of_stacks",
    "unkept",
    "written",
]
