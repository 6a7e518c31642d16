"""Charges whose lengths go together: priced window by window with the lanes' own linear program (`mix`).

`Ceiling` bounds all windows at once by a few sets of weights; here the few windows that matter are counted exactly.
Both are upper bounds of what any load can bring, so the lower of them holds too.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from drying.planner.book import Batch, make_batch
from drying.planner.chain import Chain
from drying.planner.mix import Mixed, Mixer
from drying.planner.task import Task
from drying.planner.windows import Window

LOOKS = 400
"""Windows counted exactly for one bound of a kiln, at most."""

Stop = Callable[[], bool]
"""Whether no further window is to be counted."""


def never() -> bool:
    """Goes on."""
    return False


class Lengths:
    """The windows of one kiln loaded by hand, in parts."""

    def __init__(self, task: Task, kiln: int, offered: Sequence[Window]) -> None:
        self.task, self.kiln, self.windows = task, kiln, list(offered)
        self.mixer = Mixer(task, kiln)
        self.start = np.array([one.start for one in offered], dtype=int)
        self.days = np.array([one.days for one in offered], dtype=int)
        self._priced, self._met = b"", dict[int, Mixed]()
        self._past: list[np.ndarray] = []
        self._last, self._most = np.full(len(offered), -1), np.full(len(offered), np.inf)
        self._holds = np.zeros((len(offered), len(task.lumber)), dtype=np.float32)
        for row, one in enumerate(offered):
            self._holds[row, list(one.stacks)] = 1.0
        self.chain = Chain(task.horizon, self.start, self.days)

    def mix(self, row: int, prices: np.ndarray) -> Mixed:
        """The load of most profit beyond the prices of its items, from all boards of the window."""
        key = prices.tobytes()
        if self._priced != key:
            self._priced, self._met = key, {}
            self._past.append(prices)
        if row not in self._met:
            self._met[row] = self._mix(row, prices)
            self._last[row], self._most[row] = len(self._past) - 1, self._met[row].bound
        return self._met[row]

    def _mix(self, row: int, prices: np.ndarray) -> Mixed:
        one = self.windows[row]
        have = {stack: [count for *_, count in self.task.lumber[stack].pieces] for stack in one.stacks}
        return self.mixer.mix(one.start, one.days, have, prices)

    def batch(self, row: int, mixed: Mixed) -> Batch | None:
        """The mix as shares of its stacks, fractional as the linear program has them; None if too empty."""
        one, items, shares = self.windows[row], self.task.items, dict[int, float]()
        taken: dict[int, float] = {}
        for piece, number in zip(mixed.pieces, mixed.numbers, strict=True):
            if number > 1e-6:
                item = items.find(piece.stack, int(piece.kind[0]))
                taken[item] = taken.get(item, 0.0) + number * piece.kind[1] / float(items.width_mm[item])
                shares[piece.stack] = shares.get(piece.stack, 0.0) + number * piece.part
        kept = {stack: min(1.0, share) for stack, share in shares.items() if share > 1e-6}
        made = make_batch(self.task, self.kiln, one.start, kept, one.stacks)
        own = tuple(sorted((item, min(1.0, share)) for item, share in taken.items()))
        return made and Batch(self.kiln, one.start, one.days, made.shares, one.stacks, own)

    def lowered(self, prices: np.ndarray, profit: np.ndarray) -> np.ndarray:
        """Bounds of the windows by what they were counted to at other prices: no load gains more by the change than
        all that got cheaper."""
        lower = profit.copy()
        for number, past in enumerate(self._past):
            rows = np.flatnonzero(self._last == number)
            if len(rows):
                cheaper = self.task.items.by_stack(np.maximum(0.0, past - prices))
                lower[rows] = np.minimum(lower[rows], self._most[rows] + self._holds[rows] @ cheaper + 1e-9)
        return lower

    def paying(
        self, prices: np.ndarray, rents: np.ndarray, profit: np.ndarray, looks: int
    ) -> Iterator[tuple[float, Batch]]:
        """Columns above zero with what they bring beyond all prices, at most one a start and group; `profit` bounds
        each window from above at these prices, `rents` are the prices of its days. Of the windows that `most` counted
        at these prices, and so many others."""
        reduced = self.lowered(prices, profit) - rents
        best: dict[tuple[int, int], tuple[float, Batch]] = {}
        ranked = np.argsort(-reduced, kind="stable").tolist()
        met = self._met if self._priced == prices.tobytes() else {}
        first = sorted((row for row in met if reduced[row] > 1e-6), key=lambda row: (rents[row] - met[row].profit, row))
        for row in dict.fromkeys([*first, *ranked[:looks]]):
            key = (int(self.start[row]), int(self.task.groups[self.windows[row].stacks[0]]))
            if reduced[row] <= 1e-6:
                break
            if key in best and best[key][0] >= reduced[row]:
                continue
            mixed = self.mix(row, prices)
            gain = mixed.profit - float(rents[row])
            batch = self.batch(row, mixed) if gain > 1e-6 else None
            if batch is not None and (key not in best or gain > best[key][0]):
                best[key] = (gain, batch)
        yield from best.values()

    def most(self, prices: np.ndarray, profit: np.ndarray, looks: int = LOOKS, stop: Stop = never) -> float:
        """Most profit of charges that follow one another in the kiln; `profit` bounds each window from above. The
        windows of the best chain are counted exactly until it holds no other (or all looks are spent)."""
        exact = np.zeros(len(profit), dtype=bool)
        profit = self.lowered(prices, profit)
        while True:
            value, chain = self.chain.best(profit)
            doubtful = [row for row in chain if not exact[row]]
            if not doubtful or looks <= 0 or stop():
                return value
            for row in doubtful:
                profit[row] = min(profit[row], self.mix(row, prices).bound)
                exact[row] = True
            looks -= len(doubtful)
