"""The course of kiln runs from start to target, many runs at once: schedule, chamber balance and wood, step by step.

Boards of a parcel differ, and a kiln follows its wettest and driest boards, not the mean (Wengert, sample boards): each
parcel is run as three kinds of board, fast, usual and slow, in their shares. Axis 0 is parcel x kind, kinds innermost.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from functools import lru_cache

import numpy as np

from drying import diffusion, wood
from drying.air import saturation_pressure_pa
from drying.kiln.balance import Settled, settle
from drying.kiln.called import Called
from drying.kiln.chamber import Chamber, Load, Plant
from drying.ranges import FloatArray
from drying.schedules import Schedule, finish

# Wood dries in kilns this much faster than its yard rate says. Softwood: 0.50 where spruce in the yard has 0.35, fitted
# to practice in small kilns (drying method §6). Hardwood: fitted to attainable averages of two oaks (Wengert); it then
# meets the red oak time constant of Simpson & Tschernitz 1979 too (tests/drying/test_heat.py).
KILN_FACTOR = {"softwood": 0.50 / 0.35, "hardwood": 1.25}
# Spread of ln rate among boards of a parcel (our choice, drying method §10), and three boards that stand for it: the
# fast and the slow tenth's bounds and the median, weighted to keep the spread.
BOARD_LOG_SD = 0.25
SPEEDS = np.exp(BOARD_LOG_SD * np.array([1.2816, 0.0, -1.2816]))
SHARES = np.array([0.304, 0.392, 0.304])
USUAL = 1
# Schedules are led by the wetter half of the sample boards (AH-188 ch. 6, recalled): all slow ones, half the usual.
LEADERS = np.array([0.0, 0.392, 0.608])
# To this target and below a run ends when its slow boards are there (equalising rule, Wengert); else when the mean is.
KILN_DRY_PCT = 12.0
LIMITS = ("schedule", "heating_up", "heater", "vents", "leak")
LONGEST_RUN_H = 300 * 24.0
# A run has come to rest short of its target when it has not come nearer by this much (fraction) within this many hours
# or this share of its time, whichever is longer.
REST_GAIN, REST_H, REST_SHARE = 5e-4, 96.0, 0.15


def kiln_rate(species: diffusion.Wood, chamber: Chamber) -> float:
    """Rate of a wood in this chamber: the yard's, its class's kiln factor, and what the kiln's runs have taught."""
    return species.rate * KILN_FACTOR[species.wood_class] * chamber.rate_factor


def load_of(
    woods: Sequence[Sequence[diffusion.Wood]],
    thickness_mm: FloatArray,
    volume_m3: FloatArray,
    chambers: Sequence[Chamber],
) -> Load:
    """Boards and dry mass [parcels x kinds, X] of woods[parcel][run], thicknesses and green volumes [parcels, X]."""

    def each(value: str) -> FloatArray:
        return np.array([[getattr(one, value) for one in row] for row in woods], float)

    def kinds(values: FloatArray, factors: FloatArray) -> FloatArray:
        return (np.asarray(values, float)[:, None, :] * factors[:, None]).reshape(-1, len(chambers))

    thick = np.asarray(thickness_mm, float)
    rates = [[kiln_rate(one, chamber) for one, chamber in zip(row, chambers, strict=True)] for row in woods]
    ones, density = np.ones(len(SPEEDS)), each("basic_density_kg_m3")
    boards = diffusion.Boards(
        half_thickness_m=kinds(thick / 2000, ones),
        specific_gravity=kinds(density / 1000, ones),
        permeability=kinds(each("permeability"), ones),
        rate=kinds(np.array(rates), SPEEDS),
        transfer_m_s=kinds(np.full(thick.shape, diffusion.KILN_TRANSFER_M_S), ones),
        widths=diffusion.EIGHT_CELLS if thick.max() > diffusion.THICK_MM else diffusion.SIX_CELLS,
    )
    return Load(boards, kinds(density * volume_m3, SHARES))


@dataclass(frozen=True, slots=True)
class Moment:
    """A single run's state at the end of a step of `hours`; the last one is cut at the target. `wanted_c`, `wanted_pct`
    is the air that was called for; `equalising`: whether that was the equalising air."""

    hours: float
    step: int
    temperature_c: float
    humidity_pct: float
    moisture: FloatArray
    profile: FloatArray
    surface: FloatArray
    limit: str
    wanted_c: float
    wanted_pct: float
    equalising: bool
    heater_kw: float


@dataclass(slots=True)
class Course:
    """What many runs came to, [X]: hours (infinite: never reached), energy by term, kWh, water, kg, mean-step peak, kW.

    `fans` and `heater` are the energy put in; the other terms add up to their sum.
    """

    hours: FloatArray
    water_kg: FloatArray
    peak_kw: FloatArray
    energy_kwh: dict[str, FloatArray]
    moments: list[Moment] = field(default_factory=list)


@dataclass(slots=True)
class Runs:
    """Runs under way: plant, wood, air, what schedules call for, targets (fraction), and how they come on; all [X]."""

    plant: Plant
    load: Load
    state: diffusion.State
    temperature_c: FloatArray
    humidity_pct: FloatArray
    called: Called
    most_c: FloatArray
    target: FloatArray
    hours: FloatArray
    equalising: np.ndarray
    nearest: FloatArray
    nearest_at: FloatArray

    @classmethod
    def begin(
        cls,
        chambers: Sequence[Chamber],
        plant: Plant,
        load: Load,
        moisture: FloatArray,
        schedules: Sequence[Schedule],
        target: FloatArray,
    ) -> "Runs":
        """Cold runs of even moisture (fraction, [parcels, X])."""
        cold = air_at_start(plant)
        state = diffusion.start(load.boards, np.repeat(moisture, len(SPEEDS), axis=0))
        most = np.array([one.max_temperature_c for one in chambers])
        count = len(chambers)
        rest = (np.zeros(count), np.zeros(count, bool), np.full(count, np.inf), np.zeros(count))
        return cls(plant, load, state, *cold, Called.by(schedules), most, target, *rest)

    def pick(self, keep: np.ndarray) -> "Runs":
        """The runs of a mask."""
        boards, state = self.load.boards, self.state
        kept = {one.name: getattr(boards, one.name)[:, keep] for one in fields(boards) if one.name != "widths"}
        return Runs(
            self.plant.pick(keep),
            Load(replace(boards, **kept), self.load.dry_kg[:, keep]),
            diffusion.State(state.profile[..., keep], state.surface[:, keep], state.average[:, keep]),
            self.temperature_c[keep],
            self.humidity_pct[keep],
            self.called.pick(keep),
            self.most_c[keep],
            self.target[keep],
            self.hours[keep],
            self.equalising[keep],
            self.nearest[keep],
            self.nearest_at[keep],
        )

    def to_go(self, state: diffusion.State) -> FloatArray:
        """How far the runs are above their end, fraction: the slowest boards, or the wettest parcel's mean."""
        mean = weighted(state.average, SHARES).max(0)
        return np.where(self.kiln_dry, state.average.max(0), mean) - self.target

    @property
    def kiln_dry(self) -> np.ndarray:
        """Which runs end by their slow boards, and equalise."""
        return self.target <= KILN_DRY_PCT / 100 + 1e-9

    def wanted(self) -> tuple[FloatArray, FloatArray]:
        """Air called for now: led by the wettest parcel's wetter half, eased once the driest are two points under."""
        lead, driest = weighted(self.state.average, LEADERS).max(0), self.state.average.min(0)
        temperature, humidity = self.called.air(lead)
        temperature = np.minimum(temperature, self.most_c)
        self.equalising |= (driest <= self.target - 0.02) & self.kiln_dry
        if (now := self.equalising).any():
            gentle = [_gentle_pct(*one) for one in zip(temperature[now], self.target[now], strict=True)]
            humidity[now] = np.maximum(humidity[now], gentle)
        return temperature, humidity

    def resting(self, to_go: FloatArray) -> np.ndarray:
        """Runs that come no nearer: their air will never bring them there."""
        nearer = to_go < self.nearest - REST_GAIN
        self.nearest = np.where(nearer, to_go, self.nearest)
        self.nearest_at = np.where(nearer, self.hours, self.nearest_at)
        return self.hours - self.nearest_at > np.maximum(REST_H, REST_SHARE * self.hours)


@lru_cache(maxsize=4096)
def _gentle_pct(temperature_c: float, target: float) -> float:
    """Humidity, %, that equalises to a target (fraction): the same through many steps, and slow to seek."""
    floor = finish(100 * target, "hardwood").equalise_pct
    return float(wood.humidity_for_moisture_pct(temperature_c, max(floor, 1.0)))


def air_at_start(plant: Plant) -> tuple[FloatArray, FloatArray]:
    """The kiln is cold and full of outdoor air: °C and %."""
    vapour = plant.outdoor_ratio / (0.621945 + plant.outdoor_ratio) * plant.pressure_pa
    return plant.outdoor_c.copy(), 100 * vapour / saturation_pressure_pa(plant.outdoor_c)


def weighted(average: FloatArray, weights: FloatArray) -> FloatArray:
    """Of [parcels x kinds, X], the weighted mean of the kinds: [parcels, X]."""
    return weights @ average.reshape(-1, len(weights), average.shape[-1])


def follow(runs: Runs, *, longest_step_h: float, record: bool = False) -> Course:
    """Run every run to its end. Steps are a 20th of the hours run, from one hour up to `longest_step_h`.

    The last step is cut where the end is crossed, in a straight line. `record` keeps the moments of a single run.
    """
    count = len(runs.target)
    wet = runs.to_go(runs.state) > 0
    course = Course(np.where(wet, np.inf, 0.0), np.zeros(count), np.zeros(count), {})
    left, runs = np.flatnonzero(wet), runs.pick(wet)
    while left.size:
        step_h = np.clip(runs.hours / 20, 1.0, longest_step_h)
        wanted = runs.wanted()
        air = (runs.temperature_c, runs.humidity_pct, *wanted)
        settled = settle(runs.plant, runs.load, runs.state, *air, 3600 * step_h)
        before, after = runs.to_go(runs.state), runs.to_go(settled.state)
        share = np.where(after <= 0, before / np.maximum(before - after, 1e-12), 1.0)
        _book(course, left, settled, runs.plant, step_h * share)
        if record:
            course.moments.append(_moment(runs, settled, wanted, step_h * share, share))
        runs.state, runs.hours = settled.state, runs.hours + step_h * share
        runs.temperature_c, runs.humidity_pct = settled.temperature_c, settled.humidity_pct
        course.hours[left[after <= 0]] = runs.hours[after <= 0]
        over = (after <= 0) | runs.resting(after) | (runs.hours > LONGEST_RUN_H)
        if over.any():
            left, runs = left[~over], runs.pick(~over)
    return course


def _book(course: Course, left: np.ndarray, settled: Settled, plant: Plant, hours: FloatArray) -> None:
    for name, flow in (*settled.flows_w.items(), ("heater", settled.heater_w), ("fans", plant.fan_w)):
        course.energy_kwh.setdefault(name, np.zeros(len(course.hours)))[left] += flow * hours / 1000
    course.water_kg[left] += settled.evaporation_kg_s * 3600 * hours
    course.peak_kw[left] = np.maximum(course.peak_kw[left], (settled.heater_w + plant.fan_w) / 1000)


def _moment(
    runs: Runs, settled: Settled, wanted: tuple[FloatArray, FloatArray], hours: FloatArray, share: FloatArray
) -> Moment:
    def cut(old: FloatArray, new: FloatArray) -> FloatArray:
        return (old + share * (new - old))[..., 0]

    old, new = runs.state, settled.state
    return Moment(
        hours=float(hours[0]),
        step=int(runs.called.step(weighted(old.average, LEADERS).max(0))[0]),
        temperature_c=float(settled.temperature_c[0]),
        humidity_pct=float(settled.humidity_pct[0]),
        moisture=cut(old.average, new.average),
        profile=cut(old.profile, new.profile),
        surface=cut(old.surface, new.surface),
        limit=_limit(runs, settled, float(wanted[0][0]), float(wanted[1][0])),
        wanted_c=float(wanted[0][0]),
        wanted_pct=float(wanted[1][0]),
        equalising=bool(runs.equalising[0]),
        heater_kw=float(settled.heater_w[0]) / 1000,
    )


def _limit(runs: Runs, settled: Settled, wanted_c: float, wanted_pct: float) -> str:
    temperature, humidity = float(settled.temperature_c[0]), float(settled.humidity_pct[0])
    if temperature < wanted_c - 0.5:
        return "heating_up" if temperature > runs.temperature_c[0] + 0.05 else "heater"
    if humidity > wanted_pct + 0.5:
        return "heater" if settled.heater_w[0] > 0.98 * runs.plant.power_w[0] else "vents"
    return "leak" if humidity < wanted_pct - 0.5 else "schedule"
