"""Charges that follow one another in one kiln: the chain of them that brings most."""

import numpy as np


class Chain:
    """Runs of one kiln by their first day and days; what of them lies behind the horizon counts no more."""

    def __init__(self, horizon: int, start: np.ndarray, days: np.ndarray) -> None:
        self.horizon = horizon
        self.end = np.minimum(start + days, horizon)
        self._order = np.argsort(start, kind="stable")
        self._edges = np.searchsorted(start[self._order], np.arange(horizon + 1))

    def best(self, profit: np.ndarray) -> tuple[float, list[int]]:
        """Most that the runs (EUR each) bring one after another, and which they are: dynamic programming over days."""
        best, choice = np.zeros(self.horizon + 1), np.full(self.horizon + 1, -1)
        for day in range(self.horizon - 1, -1, -1):
            best[day] = best[day + 1]
            rows = self._order[self._edges[day] : self._edges[day + 1]]
            if len(rows):
                values = profit[rows] + best[self.end[rows]]
                top = int(values.argmax())
                if values[top] > best[day]:
                    best[day], choice[day] = values[top], rows[top]
        return float(best[0]), self._followed(choice)

    def _followed(self, choice: np.ndarray) -> list[int]:
        chain, day = [], 0
        while day < self.horizon:
            row = int(choice[day])
            chain += [row] if row >= 0 else []
            day = int(self.end[row]) if row >= 0 else day + 1
        return chain
