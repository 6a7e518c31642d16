"""The planner's door: rows to the core's plain data, its answer back to plain figures with dates."""

from kilnruns.planning.answer import Draft, DraftCharge, DraftReason
from kilnruns.planning.budget import FIRST_ABOVE_SECONDS, FIRST_SECONDS, seconds_for
from kilnruns.planning.case import Case, case
from kilnruns.planning.moved import codes_of, moved
from kilnruns.planning.propose import PLAN_SECONDS, propose
from kilnruns.planning.stale import Since, since

__all__ = [
    "FIRST_ABOVE_SECONDS",
    "FIRST_SECONDS",
    "PLAN_SECONDS",
    "Case",
    "Draft",
    "DraftCharge",
    "DraftReason",
    "Since",
    "case",
    "codes_of",
    "moved",
    "propose",
    "seconds_for",
    "since",
]
