"""Many stacks walked through time together, each with its own dates, places and step lengths."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from drying.climate import EFFECTS, YEAR_DAYS, air_of_year, day_of_year
from drying.diffusion import Air, Boards, State, step
from drying.forecasting.stacks import StackInput
from drying.ranges import FloatArray
from drying.weather import LONGEST_STEP_DAYS, observed_air

DAY_S = 86400.0
Many = TypeVar("Many", Air, Boards, State)
FRESH_DAYS, YOUNG_DAYS = 3.0, 15.0  # short steps while the moisture falls fast
STEP_LOSS, LONGEST_DAYS = 0.01, 7.0


def stride_days(age_days: FloatArray, loss_per_day: FloatArray) -> FloatArray:
    """Step length: a quarter of a day for 3 days, a day up to day 15, then what loses 1 % moisture, 1 to 7 days."""
    even = np.clip(STEP_LOSS / np.maximum(loss_per_day, 1e-6), 1.0, LONGEST_DAYS)
    return np.where(age_days < FRESH_DAYS, 0.25, np.where(age_days < YOUNG_DAYS, 1.0, even))


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where S stacks stand and when they move: `places` [S, stays], `moves` [S, stays - 1] (ordinals, never: inf).

    `air` has a year of each of the P places, then the observed stretches of those with a weather log; `logs` [P, 3] are
    these' first row, first day and number of days, `share` [rows] is how much of a row was observed.
    """

    air: Air
    surface: np.ndarray
    places: np.ndarray
    moves: FloatArray
    first_day: int
    days: np.ndarray
    logs: np.ndarray
    share: FloatArray

    @classmethod
    def of(cls, stacks: Sequence[StackInput], horizon_days: int) -> "Whereabouts":
        """Gather the stacks' stays; the air is shared between stacks of the same climate, exposure and weather log."""
        known: dict[tuple, int] = {}
        most = max(len(stack.stays) for stack in stacks)
        places = np.zeros((len(stacks), most), dtype=np.intp)
        moves = np.full((len(stacks), most), np.inf)
        for i, stack in enumerate(stacks):
            for j, stay in enumerate(stack.stays):
                places[i, j:] = known.setdefault((stay.climate, stay.exposure, stay.log), len(known))
                moves[i, j] = stay.start.toordinal()
        air, logs, share = _tables(list(known))
        surface = np.array([EFFECTS[exposure].surface for _, exposure, _ in known], dtype=np.float32)
        first = min(stack.start.toordinal() for stack in stacks)
        last = max(stack.as_of.toordinal() for stack in stacks) + horizon_days + 40
        days = day_of_year(np.arange(first, last))
        return cls(air, surface, places, moves[:, 1:], first, days, logs, share)

    def place(self, ids: np.ndarray, day: FloatArray) -> np.ndarray:
        """Index of the place where these stacks stand on these days."""
        return self.places[ids, (self.moves[ids] <= day[:, None]).sum(1)]

    def rows(self, ids: np.ndarray, day: FloatArray, stride: FloatArray | float = 0.0) -> np.ndarray:
        """Their rows in `air` for the `stride` days from `day` on: the mean of what was observed, else mid-way."""
        middle = day + stride / 2
        place = self.place(ids, middle)
        rows = place * YEAR_DAYS + self.days[np.floor(middle).astype(np.intp) - self.first_day]
        if not self.has_logs:
            return rows
        row, first, count = self.logs[place].T
        begin = np.floor(day).astype(np.intp)
        length = np.clip(np.ceil(day + stride - 1e-6).astype(np.intp) - begin, 1, LONGEST_STEP_DAYS)
        begin = begin - first
        return np.where((begin >= 0) & (begin < count), row + (length - 1) * count + begin, rows)

    @property
    def has_logs(self) -> bool:
        """Whether any of the places has a weather log."""
        return len(self.share) > len(self.logs) * YEAR_DAYS

    @property
    def years(self) -> FloatArray:
        """Equilibrium moisture of the places' usual years, [P, 365]."""
        return self.air.equilibrium[: len(self.logs) * YEAR_DAYS].reshape(-1, YEAR_DAYS)


def _tables(places: Sequence[tuple]) -> tuple[Air, np.ndarray, FloatArray]:
    """The places' years and observed stretches as one table of air, where each log's begins, and the share observed."""
    tables = [air_of_year(climate, exposure) for climate, exposure, _ in places]
    shares = [np.zeros(YEAR_DAYS * len(places))]
    logs = np.zeros((len(places), 3), dtype=np.intp)
    for i, (climate, exposure, log) in enumerate(places):
        if log is not None:
            seen = observed_air(climate, exposure, log)
            logs[i] = sum(map(len, shares)), seen.first_day, seen.count
            tables.append(seen.air)
            shares.append(seen.share)
    air = Air(*(np.concatenate([getattr(table, name) for table in tables]) for name in Air.__slots__))
    return _single(air), logs, np.concatenate(shares).astype(np.float32)


def _single(values: Many) -> Many:
    """The same with single-precision arrays: half the time, and rounding stays under a thousandth of a point."""
    arrays = {name: getattr(values, name) for name in values.__slots__}
    return replace(values, **{k: v.astype(np.float32) if v.dtype == np.float64 else v for k, v in arrays.items()})


def replaced(values: FloatArray, rows: np.ndarray, new: FloatArray) -> FloatArray:
    """A copy of `values` with some rows new."""
    values = values.copy()
    values[rows] = new
    return values


def _picked(boards: Boards, keep: np.ndarray) -> Boards:
    """The boards of some stacks only; arrays that are common to all stay."""
    names = ("half_thickness_m", "specific_gravity", "permeability", "rate", "transfer_m_s")
    return replace(boards, **{name: getattr(boards, name)[keep] for name in names})


class Walk:
    """S stacks with some trajectories each: state arrays are [S, trajectories]; `ids` are their rows in `where`.

    `middle` is the trajectory whose loss, `loss_per_day` [S], may set the length of the steps. `observed_days` [S]:
    how many days so far lay in a weather log; there ln(rate) is changed by `lean` [S, trajectories], if any.
    """

    def __init__(
        self,
        where: Whereabouts,
        ids: np.ndarray,
        boards: Boards,
        state: State,
        day: FloatArray,
        middle: int,
        lean: FloatArray | None = None,
    ) -> None:
        self.where, self.ids, self.day, self.middle = where, ids, day, middle
        self.lean = lean if where.has_logs else None
        self.observed_days = np.zeros(len(ids))
        self.boards, self.state = _single(boards), _single(state)
        self.loss_per_day = np.full(len(ids), np.inf)

    def advance(self, stride: FloatArray, stops: FloatArray) -> None:
        """Go `stride` days on, or to a stack's next move or next stop (`stops` [S, n], ordinals) if that is sooner."""
        breaks = np.concatenate([self.where.moves[self.ids], stops], axis=1)
        following = np.where(breaks > self.day[:, None], breaks, np.inf).min(1, initial=np.inf)
        after = np.minimum(self.day + stride, following)
        middle = (self.day + after) / 2
        length = after - self.day
        rows, place = self.where.rows(self.ids, self.day, length), self.where.place(self.ids, middle)
        boards, air = self._boards(place, rows), self.where.air[rows[:, None]]
        self.observed_days = self.observed_days + self.where.share[rows] * length
        before = self.state.average[:, self.middle]
        self.state = step(self.state, boards, air, length[:, None] * DAY_S)
        change = np.abs(before - self.state.average[:, self.middle])
        self.loss_per_day = np.where(length > 0, change / np.where(length > 0, length, 1), self.loss_per_day)
        self.day = after

    def _boards(self, place: np.ndarray, rows: np.ndarray) -> Boards:
        """The boards as they are in these places and rows of air."""
        transfer = self.boards.transfer_m_s * self.where.surface[place][:, None]
        if self.lean is None:
            return replace(self.boards, transfer_m_s=transfer)
        lean = self.lean[self.ids] * self.where.share[rows][:, None]
        return replace(self.boards, transfer_m_s=transfer, rate=self.boards.rate * np.exp(lean).astype(np.float32))

    def keep(self, mask: np.ndarray) -> None:
        """Go on with some of the stacks only."""
        state = self.state
        self.state = State(state.profile[:, mask], state.surface[mask], state.average[mask])
        self.boards, self.ids, self.day = _picked(self.boards, mask), self.ids[mask], self.day[mask]
        self.loss_per_day, self.observed_days = self.loss_per_day[mask], self.observed_days[mask]
