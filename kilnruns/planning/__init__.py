"""The planner's door: rows to the core's plain data, its answer back to plain figures with dates."""

from kilnruns.planning.answer import Draft, DraftCharge, DraftReason
from kilnruns.planning.propose import PLAN_SECONDS, propose

__all__ = ["PLAN_SECONDS", "Draft", "DraftCharge", "DraftReason", "propose"]
