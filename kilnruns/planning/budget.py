"""How long the planner may think; all limits are choices."""

FIRST_SECONDS = 1.0
"""For a quick plan in the meantime, where none is in force and the real one takes longer than FIRST_ABOVE_SECONDS."""
FIRST_ABOVE_SECONDS = 5.0
BUDGETS = ((30, 5.0), (80, 10.0), (300, 60.0))
LARGE_SECONDS = 150.0


def seconds_for(stacks: int) -> float:
    """Seconds to plan so many stacks; the search ends by itself where it finds nothing more."""
    return next((seconds for most, seconds in BUDGETS if stacks <= most), LARGE_SECONDS)
