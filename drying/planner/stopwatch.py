"""How long the planner has worked. Not a clock: it knows no date, and nothing but the work's extent hangs on it."""

import math
import time
from collections.abc import Callable

Progress = Callable[[float, float, float], bool]
"""Share of the time spent, value of the best plan so far, proven bound so far; False asks to stop."""
TELLING = 0.02
"""Seconds by the wall between two tellings: a processor's clock takes its time to be read."""


class Stopwatch:
    """Counts down from `seconds`, tells `progress` when it is asked, and remembers whether anything was cut short.

    `clock` counts seconds: the wall's, or the processor's where others use the machine too.
    """

    def __init__(
        self, seconds: float, progress: Progress | None = None, clock: Callable[[], float] = time.perf_counter
    ) -> None:
        self.seconds = seconds
        self.progress = progress
        self.cut = self.stopped = False
        self._value, self._bound = 0.0, math.inf
        self.clock, self._begun, self._wall_begun = clock, clock(), time.perf_counter()
        self._told = -math.inf

    @property
    def spent(self) -> float:
        return self.clock() - self._begun

    @property
    def left(self) -> float:
        return 0.0 if self.stopped else max(0.0, self.seconds - self.spent)

    def keep_back(self, seconds: float) -> None:
        """Ends so much earlier: what follows the end takes its time too."""
        self.seconds = max(0.0, self.seconds - seconds)

    def left_on_wall(self, share: float) -> float:
        """Seconds that a share of what is left lasts by the wall, at the pace so far: solvers count by that."""
        pace = (time.perf_counter() - self._wall_begun) / max(self.spent, 1e-3)
        return share * self.left * max(1.0, pace)

    def found(self, value: float, bound: float = math.inf) -> None:
        """Notes how good the best plan is by now, and what none can exceed."""
        self._value, self._bound = max(self._value, value), min(self._bound, bound)

    def look(self) -> None:
        """Tells `progress` between two looks at the time, not more often than anybody could follow: what that raises
        breaks the planning off."""
        now = time.perf_counter()
        if self.progress and not self.stopped and now - self._told >= TELLING:
            self._told = now
            done = min(1.0, self.spent / self.seconds) if self.seconds > 0 else 1.0
            self.stopped = self.progress(done, self._value, self._bound) is False

    def over(self, share: float = 1.0) -> bool:
        """Whether this share of the time is used up, or nobody wants more; noted as a cut."""
        spent = self.spent
        self.look()
        if spent < share * self.seconds and not self.stopped:
            return False
        self.cut = True
        return True
