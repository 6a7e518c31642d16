"""Loads of undivided stacks where there are too many of them to see every set: priced in parts, then picked whole."""

from collections.abc import Sequence

import numpy as np

from drying.planner.book import LITTLE, Batch, make_batch
from drying.planner.parts import Parts
from drying.planner.task import Task
from drying.planner.wholes import Fitting
from drying.planner.windows import Window


class Picks(Parts):
    """The windows of one kiln that takes whole stacks alone. What `price` says is an estimate from above."""

    def __init__(self, task: Task, kiln: int, offered: Sequence[Window]) -> None:
        super().__init__(task, kiln, offered)
        self.fits = Fitting(task, kiln)

    def picked(self, row: int, order: Sequence[int], left: np.ndarray) -> Batch | None:
        """Whole stacks in this order, as many as fit together; None if that is not full enough."""
        chosen: list[int] = []
        for stack in order:
            if left[stack] >= 1 - LITTLE and self.fits([*chosen, stack]):
                chosen.append(stack)
        window = self.windows[row]
        made = make_batch(self.task, self.kiln, window.start, dict.fromkeys(chosen, 1.0), window.stacks)
        return made if made and made.days <= window.days else None

    def batch(self, row: int, shares: np.ndarray) -> Batch | None:
        """The load as priced, made of whole stacks: those that were taken whole first, then what still fits."""
        wanted = {
            int(stack): float(share) for stack, share in zip(self.stacks[row], shares[row], strict=True) if share > 0
        }
        one = self.windows[row]
        members = np.array(one.stacks)
        gain = self.task.gain(self.kiln, members, np.array(one.start), np.array(one.days))
        density = dict(zip(one.stacks, (gain / self.task.need.share[self.kiln, members]).tolist(), strict=True))
        order = sorted(one.stacks, key=lambda stack: (-wanted.get(stack, 0.0), -density[stack], stack))
        return self.picked(row, order, np.ones(len(self.task.lumber)))
