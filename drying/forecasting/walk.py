"""Many stacks walked through time together, each with its own dates, places and step lengths."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from drying.climate import EFFECTS, YEAR_DAYS, air_of_year, day_of_year
from drying.diffusion import Air, Boards, Inside, State
from drying.diffusivity import Fits, fit_position
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
    fits: tuple[np.ndarray, FloatArray]

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
        return cls(air, surface, places, moves[:, 1:], first, days, logs, share, fit_position(air.temperature_c))

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

    def fit_rows(self, rows: np.ndarray) -> tuple[np.ndarray, FloatArray]:
        """Where these rows of air stand among the temperatures of `diffusivity.Fits`."""
        return self.fits[0][rows], self.fits[1][rows]

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


def _across(boards: Boards) -> Boards:
    """Boards [S, trajectories] or [S, 1] as single [trajectories, S] or [S]: what is common to a stack's trajectories
    then goes along whole rows of them, which is what makes arrays fast."""
    kept = {name: getattr(boards, name).T for name in _BY_STACK}
    return _single(replace(boards, **{k: v[0] if len(v) == 1 else np.ascontiguousarray(v) for k, v in kept.items()}))


_BY_STACK = ("half_thickness_m", "specific_gravity", "permeability", "rate", "transfer_m_s")


class Walk:
    """S stacks with some trajectories each, [S, trajectories]; `ids` are their rows in `where`.

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
        self.lean = lean.T.astype(np.float32) if lean is not None and where.has_logs else None
        self.observed_days = np.zeros(len(ids))
        self._boards, self._fits = _across(boards), Fits.of(boards.specific_gravity[:, 0])
        profile = np.ascontiguousarray(state.profile.transpose(0, 2, 1))
        self._state = _single(State(profile, np.ascontiguousarray(state.surface.T), state.average.T.copy()))
        self.loss_per_day = np.full(len(ids), np.inf)

    @property
    def state(self) -> State:
        """Where the trajectories are now, [S, trajectories]."""
        now = self._state
        return State(now.profile.transpose(0, 2, 1), now.surface.T, now.average.T)

    def advance(self, stride: FloatArray, stops: FloatArray | None = None) -> None:
        """Go `stride` days on, or to a stack's next move or next stop (`stops` [S, n], ordinals) if that is sooner."""
        after = self.day + stride
        for breaks in (self.where.moves[self.ids], stops):
            if breaks is not None and breaks.size:
                after = np.minimum(after, np.where(breaks > self.day[:, None], breaks, np.inf).min(1))
        length = after - self.day
        rows = self.where.rows(self.ids, self.day, length)
        place = self.where.place(self.ids, (self.day + after) / 2)
        boards, air = self._placed(place, rows), self.where.air[rows]
        if self.where.has_logs:
            self.observed_days = self.observed_days + self.where.share[rows] * length
        before = self._state.average[self.middle]
        fit = self._fits.at(*self.where.fit_rows(rows))
        self._state = Inside(self._state, boards, air, length * DAY_S, fit).at(air)
        change = np.abs(before - self._state.average[self.middle])
        gone = length > 0
        self.loss_per_day = np.where(gone, change / np.where(gone, length, 1), self.loss_per_day)
        self.day = after

    def _placed(self, place: np.ndarray, rows: np.ndarray) -> Boards:
        """The boards as they are in these places and rows of air."""
        transfer = self._boards.transfer_m_s * self.where.surface[place]
        if self.lean is None:
            return replace(self._boards, transfer_m_s=transfer)
        lean = self.lean[:, self.ids] * self.where.share[rows]
        return replace(self._boards, transfer_m_s=transfer, rate=self._boards.rate * np.exp(lean))

    def keep(self, mask: np.ndarray) -> None:
        """Go on with some of the stacks only."""
        state, rows = self._state, np.flatnonzero(mask)
        self._state = State(*(getattr(state, name).take(rows, axis=-1) for name in State.__slots__))
        kept = {name: getattr(self._boards, name).take(rows, axis=-1) for name in _BY_STACK}
        self._boards, self._fits = replace(self._boards, **kept), self._fits.pick(rows)
        self.ids, self.day = self.ids[rows], self.day[rows]
        self.loss_per_day, self.observed_days = self.loss_per_day[rows], self.observed_days[rows]
