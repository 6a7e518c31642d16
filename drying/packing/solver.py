"""Linear and integer programs on HiGHS: one thread, silent, bounded by nodes: the same input, the same answer."""

from collections.abc import Callable, Sequence
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray

from drying.packing.asking import question_asked, still_wanted

INFINITY = float(highspy.kHighsInf)


class Program:
    """A minimisation that grows column by column over rows fixed at the start.

    `lower` and `upper` bound the rows. Columns are continuous unless `whole`.
    """

    def __init__(self, lower: Sequence[float], upper: Sequence[float]) -> None:
        self._highs: Any = highspy.Highs()
        for option, setting in {"output_flag": False, "threads": 1, "random_seed": 7}.items():
            self._highs.setOptionValue(option, setting)
        self._broken_off: list[BaseException] = []
        if question := question_asked():
            self._highs.cbMipInterrupt += _asking_on(question, self._broken_off)
        none, empty = np.zeros(0, dtype=np.int32), np.zeros(0)
        rows = len(lower)
        starts = np.zeros(rows, dtype=np.int32)
        self._highs.addRows(rows, np.array(lower, float), np.array(upper, float), 0, starts, none, empty)
        self.columns = 0

    def add(
        self, cost: float, rows: Sequence[int], values: Sequence[float], upper: float = INFINITY, whole: bool = False
    ) -> int:
        """One more column, from 0 to `upper`; returns its index."""
        index, value = np.array(rows, dtype=np.int32), np.array(values, float)
        self._highs.addCol(float(cost), 0.0, float(upper), len(index), index, value)
        if whole:
            self._highs.changeColIntegrality(self.columns, highspy.HighsVarType.kInteger)
        self.columns += 1
        return self.columns - 1

    def add_free(self, columns: Sequence[tuple[Sequence[int], Sequence[float]]]) -> None:
        """Further columns (rows, values) that cost nothing, all at once: much faster than one by one."""
        number, sizes = len(columns), [len(rows) for rows, _ in columns]
        starts = np.cumsum([0, *sizes[:-1]]).astype(np.int32)
        index = np.array([row for rows, _ in columns for row in rows], dtype=np.int32)
        value = np.array([one for _, values in columns for one in values], float)
        zeros, upper = np.zeros(number), np.full(number, INFINITY)
        self._highs.addCols(number, zeros, zeros, upper, len(index), starts, index, value)
        self.columns += number

    def add_many(self, costs: Sequence[float], rows: NDArray[np.int32], uppers: Sequence[float]) -> None:
        """Further continuous columns, each with a 1 in its rows, of which all have as many: much faster than `add`."""
        number, each = rows.shape
        starts = np.arange(0, number * each, each, dtype=np.int32)
        cost, upper, index = np.array(costs, float), np.array(uppers, float), np.ascontiguousarray(rows.ravel())
        ones = np.ones(number * each)
        self._highs.addCols(number, cost, np.zeros(number), upper, number * each, starts, index, ones)
        self.columns += number

    def limit(self, column: int, upper: float) -> None:
        """From now on the column goes to `upper` at most."""
        self._highs.changeColBounds(column, 0.0, float(upper))

    def fix(self, column: int, value: float) -> None:
        """From now on the column is this much."""
        self._highs.changeColBounds(column, float(value), float(value))

    def start_from(self, values: Sequence[float]) -> None:
        """A feasible assignment to begin with."""
        solution = highspy.HighsSolution()
        solution.col_value = [float(value) for value in values]
        self._highs.setSolution(solution)

    def solve(self, *, nodes: int = 200, gap: float = 1e-4, seconds: float = 30.0) -> bool:
        """True when there is an assignment to read. `seconds` is a safety net behind the node limit."""
        still_wanted()
        options = {
            "mip_max_nodes": nodes,
            "mip_rel_gap": gap,
            "time_limit": self._highs.getRunTime() + max(seconds, 0.01),
        }
        for option, setting in options.items():
            self._highs.setOptionValue(option, setting)
        self._highs.run()
        if self._broken_off:
            raise self._broken_off[0]
        return bool(self._highs.getInfo().primal_solution_status == 2)

    @property
    def out_of_time(self) -> bool:
        return bool(self._highs.getModelStatus() == highspy.HighsModelStatus.kTimeLimit)

    @property
    def objective(self) -> float:
        return float(self._highs.getInfo().objective_function_value)

    @property
    def bound(self) -> float:
        """Proven lower bound of an integer program."""
        return float(self._highs.getInfo().mip_dual_bound)

    @property
    def values(self) -> list[float]:
        return list(self._highs.getSolution().col_value)

    @property
    def duals(self) -> np.ndarray:
        return np.array(self._highs.getSolution().row_dual)


def _asking_on(question: Callable[[], object], broken_off: list[BaseException]) -> Callable[[Any], None]:
    """What HiGHS calls between the nodes of an integer program. Nothing may be raised through it: it is kept."""

    def ask(event: Any) -> None:
        try:
            question()
        except Exception as reason:
            broken_off.append(reason)
            event.interrupt()

    return ask
