"""One reason, with its figures, for every stack (or rest of one) that no charge takes: the first that applies."""

from collections.abc import Mapping, Sequence

import numpy as np

from drying import proposal
from drying.planner.book import LITTLE, Batch, taken
from drying.planner.columns import Selection
from drying.planner.fill import Offer
from drying.planner.places import Places
from drying.planner.task import NEVER, Task
from drying.planner.wholes import Wholes
from drying.planner.windows import Window
from drying.proposal import Figures, Reason


class Reasons:
    """Needs the finished plan and the prices that the linear program set on space and stacks."""

    def __init__(
        self,
        task: Task,
        offered: Mapping[int, Sequence[Window]],
        offers: Sequence[Offer],
        selection: Selection,
        plan: Sequence[Batch],
    ) -> None:
        self.task, self.selection, self.plan = task, selection, plan
        self.offers = offers
        reach = {offer.kiln: offer.reach for offer in offers if isinstance(offer, Wholes)}
        self.places = {kiln: Places(task, kiln, some, reach.get(kiln)) for kiln, some in offered.items()}
        self.shares = dict.fromkeys(range(len(task.lumber)), 0.0)
        for batch in plan:
            for stack, share in batch.shares:
                self.shares[stack] += share

    def all(self) -> tuple[Reason, ...]:
        return tuple(self._of(stack) for stack, share in self.shares.items() if share < 1 - LITTLE)

    def _of(self, stack: int) -> Reason:
        rules = (
            self._held, self._part_only, self._too_long, self._too_large, self._too_wet, self._no_kiln, self._calendar,
            self._no_partners, self._wait_for_due,
        )  # fmt: skip
        for rule in rules:
            found = rule(stack)
            if found is not None:
                return Reason(self.task.lumber[stack].code, *found)
        return Reason(self.task.lumber[stack].code, *self._rent(stack))

    def _held(self, stack: int) -> tuple[str, Figures] | None:
        return (proposal.HELD, {}) if self.task.lumber[stack].must_wait else None

    def _part_only(self, stack: int) -> tuple[str, Figures] | None:
        share = self.shares[stack]
        if share <= LITTLE:
            return None
        batch = next(one for one in self.plan if any(member == stack for member, _ in one.shares))
        rest = (1 - share) * self.task.lumber[stack].volume_m3
        kiln = self.task.kilns[batch.kiln].code
        return proposal.PART_ONLY, {"share_in": share, "rest_m3": rest, "kiln": kiln, "day": batch.start}

    def _too_long(self, stack: int) -> tuple[str, Figures] | None:
        """No kiln it is meant for takes its longest board (or its pack)."""
        one = self.task.lumber[stack]
        longest = max((length for length, _, count in one.pieces if count > 0), default=0.0)
        tries = []
        for kiln in self.task.kilns:
            size = one.pack[0] if kiln.loading == "pack" and one.pack else longest
            if kiln.loading == "hand" or one.pack:
                tries.append((kiln.space.reach_mm, kiln.code, size))
        if not tries or any(size <= limit for limit, _, size in tries):
            return None
        limit, code, size = max(tries)
        return proposal.TOO_LONG, {"longest_mm": size, "limit_mm": limit, "kiln": code}

    def _too_large(self, stack: int) -> tuple[str, Figures] | None:
        """Too wide, too high, or more than a kiln that takes only whole stacks can hold."""
        share = self.task.need.share[:, stack]
        alone = [float(share[row]) <= 1 + LITTLE or kiln.divides for row, kiln in enumerate(self.task.kilns)]
        if any(fits and np.isfinite(one) for fits, one in zip(alone, share, strict=True)):
            return None
        row = int(np.argmin(share))
        needed = float(share[row]) if np.isfinite(share[row]) else None
        return proposal.TOO_LARGE, {"kiln": self.task.kilns[row].code, "needed": needed}

    def _too_wet(self, stack: int) -> tuple[str, Figures] | None:
        one = self.task.lumber[stack]
        if self.task.ready[stack] < self.task.horizon:
            return None
        return proposal.TOO_WET, {
            "ready_p10": one.ready_day_p10,
            "ready_p50": one.ready_day_p50,
            "ready_p90": one.ready_day_p90,
            "moisture_now_pct": float(one.moisture_p50_pct[0]),
            "target_pct": one.target_pct,
        }

    def _no_kiln(self, stack: int) -> tuple[str, Figures] | None:
        """No kiln that takes it is known to dry it to its target."""
        fits = np.isfinite(self.task.need.share[:, stack])
        if np.isfinite(self.task.days[fits, stack]).any():
            return None
        return proposal.NO_KILN, {"target_pct": self.task.lumber[stack].target_pct}

    def _calendar(self, stack: int) -> tuple[str, Figures] | None:
        """Ready, but on no day could a run of it begin."""
        if any(places.holds[:, stack].any() for places in self.places.values()):
            return None
        ready = int(self.task.ready[stack])
        for row, kiln in enumerate(self.task.kilns):
            hindering = [end for begin, end in kiln.blocked if end > ready]
            if hindering and np.isfinite(self.task.need.share[row, stack]):
                return proposal.KILN_BLOCKED, {"kiln": kiln.code, "until": max(hindering)}
        return proposal.NO_TIME_LEFT, {"ready": ready, "horizon": self.task.horizon}

    def _no_partners(self, stack: int) -> tuple[str, Figures] | None:
        """Not even with all that may go along is a kiln full enough on any day."""
        task = self.task
        best = max(float(places.fills(stack).max(initial=0.0)) for places in self.places.values())
        if best >= task.rules.smallest_fill - LITTLE:
            return None
        return proposal.NO_PARTNERS, {
            "fill": best,
            **self._together_m3(stack),
            "needed": task.rules.smallest_fill,
            "group": task.lumber[stack].group,
            "cut_by": self._cut_by(stack),
        }

    def _together_m3(self, stack: int) -> dict[str, float]:
        """What may go along where the kiln gets fullest, and what a charge would need there."""
        volume = np.array([one.volume_m3 for one in self.task.lumber])
        found = [(float(p.fills(stack).max()), p) for p in self.places.values() if len(p.rows(stack))]
        fill, places = max(found, key=lambda one: one[0])
        have = float(volume[places.holds[places.rows(stack)[int(places.fills(stack).argmax())]]].sum())
        return {"have_m3": have, "needed_m3": have * self.task.rules.smallest_fill / fill} if fill > 0 else {}

    def _cut_by(self, stack: int) -> str:
        """The rule without which there would be enough: thickness, then moisture; else volume is what lacks."""
        task = self.task
        alike = (task.groups == task.groups[stack]) & (task.ready < task.horizon)
        thickness, moisture = task.thickness, task.moisture
        near_thickness = np.minimum(thickness, thickness[stack]) >= task.rules.thinnest_to_thickest * np.maximum(
            thickness, thickness[stack]
        )
        day = min(int(p.start[p.rows(stack)].min()) for p in self.places.values() if p.holds[:, stack].any())
        near_moisture = np.abs(moisture[:, day] - moisture[stack, day]) <= task.rules.moisture_window_pct
        for name, others in (("thickness", alike & near_moisture), ("moisture", alike & near_thickness)):
            if self._best_fill(others) >= task.rules.smallest_fill:
                return name
        return "volume"

    def _best_fill(self, stacks: np.ndarray) -> float:
        share = self.task.need.share[:, stacks]
        return float(np.where(np.isfinite(share), share, 0.0).sum(axis=1).max())

    def _wait_for_due(self, stack: int) -> tuple[str, Figures] | None:
        """Its need is so late that a start after the horizon still serves it."""
        task, due = self.task, int(self.task.due[stack])
        if due >= NEVER or task.late_per_day[stack] <= 0:
            return None
        days = task.days[:, stack, task.horizon - 1]
        kiln = int(np.argmin(days))
        if not np.isfinite(days[kiln]) or due - days[kiln] < task.horizon:
            return None
        return proposal.WAIT_FOR_DUE, {
            "due": due, "latest_start": int(due - days[kiln]), "kiln": task.kilns[kiln].code,
        }  # fmt: skip

    def _rent(self, stack: int) -> tuple[str, Figures]:
        """What it brings at its best place against the rent of the space there."""
        best: tuple[float, float, float, int, int] | None = None
        for offer in self.offers:
            places = self.places[offer.kiln]
            if len(places.rows(stack)) and places.fills(stack).max() >= self.task.rules.smallest_fill - LITTLE:
                start, brings, rent = places.rents(offer, self.selection, stack)
                row = int(np.argmax(brings - rent))
                here = float(brings[row] - rent[row]), float(brings[row]), float(rent[row]), offer.kiln, int(start[row])
                best = here if best is None or here[0] > best[0] else best
        if best is None:
            raise ValueError("no window is full enough, yet the stack was not without partners")
        left, brings_eur, rent_eur, kiln, day = best
        figures: Figures = {"kiln": self.task.kilns[kiln].code, "day": day, "brings": brings_eur, "rent": rent_eur}
        if left < 0:
            return proposal.SPACE_WORTH_MORE, {**figures, "short": -left}
        return proposal.NARROWLY_OUT, {**figures, **self._nearest(stack)}

    def _nearest(self, stack: int) -> dict[str, float]:
        """How full the charges are that it could have joined."""
        joined = [taken(self.task, one.kiln, one.shares) for one in self.plan if stack in one.window]
        return {"space_taken": min(1.0, *joined)} if joined else {}
