"""How long the planner has worked. Not a clock: it knows no date, and nothing but the work's extent hangs on it."""

import time


class Stopwatch:
    """Counts down from `seconds`; remembers whether anything was cut short."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self.cut = False
        self._begun = time.perf_counter()

    @property
    def spent(self) -> float:
        return time.perf_counter() - self._begun

    @property
    def left(self) -> float:
        return max(0.0, self.seconds - self.spent)

    def over(self, share: float = 1.0) -> bool:
        """Whether this share of the time is used up; noted as a cut."""
        if self.spent < share * self.seconds:
            return False
        self.cut = True
        return True
