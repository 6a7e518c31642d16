"""Stress in the wood of a kiln so far, from the air that it really had; and a day ahead in the air that it has now.

The yard's diffusion model in that air (drying method §5), at the rate at which the wood was measured to dry; the index
is that of `watch.stress_index`, judgement: common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drying import diffusion, watch, wood
from drying.heat import CHECKS_ABOVE_PCT
from drying.kiln.kilncourse import KILN_FACTOR
from drying.ranges import FloatArray, within

STEP_H, AHEAD_H = 2.0, 24.0
# How much faster or slower than the model wood may be, and the rates tried in between: our choice.
RATES = np.array([0.4, 0.63, 1.0, 1.58, 2.5])


@dataclass(frozen=True, slots=True)
class WoodInside:
    """Wood in the kiln: green thickness mm, mean moisture % at the start, and what it was measured at last: hours from
    the start and mean %, None where it was not. `factor`: how much faster the kiln dries than the model, 0.1..10."""

    wood: diffusion.Wood
    thickness_mm: float
    moisture_pct: float
    drying_group: str
    measured: tuple[float, float] | None = None
    factor: float = 1.0

    def __post_init__(self) -> None:
        within("thickness", self.thickness_mm, 5, 200, "mm")
        within("moisture", self.moisture_pct, 1, 250, "%")
        within("factor of the kiln", self.factor, 0.1, 10, "times")
        if self.drying_group not in watch.GROUP_SAFE_EMC_PCT:
            raise ValueError(f"drying group {self.drying_group!r} is not one of {', '.join(watch.GROUP_SAFE_EMC_PCT)}")
        if self.measured is not None:
            within("hours to the measurement", self.measured[0], 0, 1e5, "h")
            within("measured moisture", self.measured[1], 0, 400, "%")


@dataclass(frozen=True, slots=True)
class StressSoFar:
    """The index now, its worst so far with the hour of it, and its worst in the next day if the air stays as it is;
    0 once the wood is too dry to check. `rate`: times the model's, as measured, None without a measurement."""

    index: float
    worst: float
    worst_at_h: float
    ahead: float
    mean_pct: float
    rate: float | None


def stress_so_far(
    inside: Sequence[WoodInside], hours: ArrayLike, temperature_c: ArrayLike, humidity_pct: ArrayLike, until_h: float
) -> list[StressSoFar]:
    """For each wood, from the air noted at `hours` since the start (ascending; °C -20..100, % 0..100), read straight
    between the notes and held after the last, up to `until_h` (0.1..2400 h). ValueError outside, and without any air.
    Model and index as above (drying method §5, §9).
    """
    when = within("hour of the air", hours, 0, 1e5, "h").ravel()
    warm = within("temperature", temperature_c, -20, 100, "°C").ravel()
    damp = within("humidity", humidity_pct, 0, 100, "%").ravel()
    last = float(within("hours since the start", until_h, 0.1, 2400, "h"))
    if not when.size or not when.size == warm.size == damp.size:
        raise ValueError(f"{when.size} hours, {warm.size} temperatures and {damp.size} humidities; one each, and some")
    if np.any(np.diff(when) < 0):
        raise ValueError("the hours of the air are out of order; they must ascend")
    if not inside:
        return []
    ends = np.append(np.arange(STEP_H, last, STEP_H), last)
    ends = np.append(ends, last + np.arange(STEP_H, AHEAD_H + 0.1, STEP_H))
    middles = ends - np.diff(ends, prepend=0.0) / 2
    air = diffusion.Air.of(np.interp(middles, when, warm), np.interp(middles, when, damp))
    means, indices = _followed(inside, air, np.diff(ends, prepend=0.0) * 3600)
    return [_told(one, means[:, at], indices[:, at], ends, last) for at, one in enumerate(inside)]


def _followed(inside: Sequence[WoodInside], air: diffusion.Air, seconds: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean moisture, %, and stress index after each step, [steps, woods, rates]."""
    boards = _boards(inside)
    first = np.array([[one.moisture_pct] * len(RATES) for one in inside])
    safe = np.array([watch.GROUP_SAFE_EMC_PCT[one.drying_group] for one in inside])[:, None]
    state, means, indices = diffusion.start(boards, first / 100), [], []
    for at, lasted in enumerate(seconds):
        state = diffusion.step(state, boards, air[at], lasted)
        saturation = float(wood.equilibrium_moisture_pct(max(float(air.temperature_c[at]), 0.0), 100))
        index = watch.stress_index(
            100 * state.profile.reshape(len(state.profile), -1),
            boards.widths,
            100 * state.surface.ravel(),
            saturation,
            np.minimum(np.broadcast_to(safe, first.shape).ravel(), saturation - 5),
        ).reshape(first.shape)
        mean = 100 * state.average
        checks = mean > np.maximum(saturation, np.minimum(CHECKS_ABOVE_PCT, first * 2 / 3))
        means.append(mean)
        indices.append(np.where(checks, index, 0.0))
    return np.array(means), np.array(indices)


def _boards(inside: Sequence[WoodInside]) -> diffusion.Boards:
    """All woods at all rates, [woods, rates]."""

    def column(values: list[float]) -> FloatArray:
        return np.repeat(np.array(values, float)[:, None], len(RATES), axis=1)

    thick = column([one.thickness_mm for one in inside])
    rate = column([one.wood.rate * KILN_FACTOR[one.wood.wood_class] * one.factor for one in inside])
    return diffusion.Boards(
        half_thickness_m=thick / 2000,
        specific_gravity=column([one.wood.basic_density_kg_m3 / 1000 for one in inside]),
        permeability=column([one.wood.permeability for one in inside]),
        rate=rate * RATES,
        transfer_m_s=np.full(thick.shape, diffusion.KILN_TRANSFER_M_S),
        widths=diffusion.EIGHT_CELLS if thick.max() > diffusion.THICK_MM else diffusion.SIX_CELLS,
    )


def _told(one: WoodInside, means: FloatArray, indices: FloatArray, ends: FloatArray, last: float) -> StressSoFar:
    rate = None if one.measured is None else _rate_of(one, means, ends)
    logs, at = np.log(RATES), np.log(rate or 1.0)
    index = np.array([np.interp(at, logs, row) for row in indices])
    mean = np.array([np.interp(at, logs, row) for row in means])
    past = ends <= last + 1e-9
    worst = int(np.argmax(index[past]))
    now = int(np.flatnonzero(past)[-1])
    return StressSoFar(
        index=float(index[now]),
        worst=float(index[past][worst]),
        worst_at_h=float(ends[worst]),
        ahead=float(index[now:].max()),
        mean_pct=float(mean[now]),
        rate=rate,
    )


def _rate_of(one: WoodInside, means: FloatArray, ends: FloatArray) -> float | None:
    """The rate at which the model has the measured moisture at its hour, within RATES; None before it has dried."""
    assert one.measured is not None
    hour, measured = one.measured
    at = np.array([np.interp(hour, np.append(0.0, ends), np.append(one.moisture_pct, row)) for row in means.T])
    if np.ptp(at) < 0.2:  # nothing has moved yet that could tell rates apart
        return None
    order = np.argsort(at)
    return float(np.exp(np.interp(measured, at[order], np.log(RATES)[order])))
