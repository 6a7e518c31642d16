"""Very many forecasts' curves at once: what each says of a day, and on which day each comes down to a moisture."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np

NO_DAY = 0
"""Where a curve never comes down to a moisture: no day has this number."""


class Curves:
    """Read out of their texts as the database gives them, all figures in one go: a text at a time takes thrice as
    long. `ends` gives P50 and P90."""

    def __init__(self, texts: Sequence[str]) -> None:
        days = [_list(text, '"day"') for text in texts]
        self.sizes = np.array([one.count(",") + 1 for one in days], dtype=np.int64)
        self.starts = np.concatenate([[0], np.cumsum(self.sizes)[:-1]]).astype(np.int64) if texts else np.zeros(0, int)
        self.days = _numbers(days)
        self.p50, self.p90 = (_numbers([_list(text, f'"{name}"') for text in texts]) for name in ("p50", "p90"))
        self._first: dict[float, tuple[Any, Any]] = {}

    def p50_on(self, day: date) -> Any:
        """As `Outlook.moisture_on` has it: straight between points, the ends held."""
        if not len(self.starts):
            return np.zeros(0)
        last = self.starts + self.sizes - 1
        at = np.clip(float(day.toordinal()), self.days[self.starts], self.days[last])
        before = np.add.reduceat((self.days < np.repeat(at, self.sizes)).astype(np.int64), self.starts)
        after = self.starts + before
        low = np.maximum(after - 1, self.starts)
        span = self.days[after] - self.days[low]
        part = np.divide(at - self.days[low], span, out=np.zeros_like(at), where=span != 0)
        return self.p50[low] + part * (self.p50[after] - self.p50[low])

    def first_days(self, at_most: float) -> tuple[Any, Any]:
        """The first days on which the middle and the late curve are at or below it; both NO_DAY where either never
        is."""
        if at_most not in self._first:
            middle, late = (self._first_day(one, at_most) for one in (self.p50, self.p90))
            never = (middle == NO_DAY) | (late == NO_DAY)
            self._first[at_most] = np.where(never, NO_DAY, middle), np.where(never, NO_DAY, late)
        return self._first[at_most]

    def _first_day(self, values: Any, at_most: float) -> Any:
        if not len(self.starts):
            return np.zeros(0, np.int64)
        none = len(values)
        places = np.where(values <= at_most, np.arange(none), none)
        first = np.minimum.reduceat(places, self.starts)
        return np.append(self.days, NO_DAY)[first].astype(np.int64)


def _list(text: str, name: str) -> str:
    """The figures between a list's brackets."""
    begin = text.index("[", text.index(name)) + 1
    return text[begin : text.index("]", begin)]


def _numbers(lists: Sequence[str]) -> Any:
    return np.fromstring(",".join(lists), sep=",") if lists else np.zeros(0)
