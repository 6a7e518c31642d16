"""The planner's door: rows to the core's plain data, its answer back to plain figures with dates."""

from kilnruns.planning.answer import Draft, DraftCharge, DraftReason
from kilnruns.planning.propose import propose

__all__ = ["Draft", "DraftCharge", "DraftReason", "propose"]
