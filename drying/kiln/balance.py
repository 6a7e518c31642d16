"""Heat and water balance of kiln chambers over one time step: which air they can really hold, and what that costs.

Quasi-steady air: in a step the vapour the wood gives off leaves by leak and vents, and the heater's energy goes into
evaporation, sorption, vent air, walls and warming. The dry bulb has first call on the heater; the humidity is then the
lowest that is not below the schedule's and that vents and heater can bear. Arrays are per run [X]; boards [boards, X].
"""

from dataclasses import dataclass

import numpy as np

from drying import air, diffusion
from drying.kiln.chamber import Load, Plant
from drying.kiln.kilnair import DAMPEST_PCT, DRIEST_PCT, KilnAir
from drying.ranges import FloatArray
from drying.wood import SORPTION_FALL, SORPTION_J_KG, heat_capacity_j_kg_k

STRUCTURE_J_K = 60e3  # trolley, linings and air of a small chamber: our choice


@dataclass(frozen=True, slots=True)
class Settled:
    """A step's outcome, [X]: air, wood, evaporation and air exchange kg/s, heater and heat flows W by term.

    `humidity_pct` stood through the step; `temperature_c` is what the heat balance leaves at its end.
    """

    temperature_c: FloatArray
    humidity_pct: FloatArray
    state: diffusion.State
    evaporation_kg_s: FloatArray
    exchange_kg_s: FloatArray
    heater_w: FloatArray
    flows_w: dict[str, FloatArray]


@dataclass(slots=True)
class _Trial:
    state: diffusion.State
    evaporation: FloatArray
    sorption: FloatArray
    gain: FloatArray
    least_exchange: FloatArray
    exchange: FloatArray
    need: FloatArray


def settle(
    plant: Plant,
    load: Load,
    state: diffusion.State,
    temperature_c: FloatArray,
    humidity_pct: FloatArray,
    wanted_c: FloatArray,
    wanted_pct: FloatArray,
    seconds: FloatArray,
) -> Settled:
    """One step of the chambers from air (temperature_c, humidity_pct) towards the wanted air, drying method §8.

    Every kWh is accounted for: heater + fans = evaporation + sorption + vents + walls + warming + humidifying.
    """
    step = _Step(plant, load, state, temperature_c, humidity_pct, wanted_c, wanted_pct, seconds)
    humidity, trial = _root(step, wanted_pct, humidity_pct)
    steam = np.where(plant.humidifies, np.maximum(trial.exchange * trial.gain - trial.evaporation, 0), 0)
    steam = np.where(humidity >= wanted_pct - 1e-9, steam, 0) * step.latent
    need = trial.need + steam
    heater = np.clip(need, 0, plant.power_w)
    through = trial.exchange * plant.air_j_kg_k
    reached = step.temperature + (heater - need) / (step.capacity + plant.wall_w_k + through)
    flows = {
        "evaporation": trial.evaporation * step.latent,
        "sorption": trial.sorption,
        "vents": through * (reached - plant.outdoor_c),
        "walls": plant.wall_w_k * (reached - plant.outdoor_c),
        "warming": step.capacity * (reached - temperature_c),
        "humidifying": steam,
    }
    return Settled(reached, humidity, trial.state, trial.evaporation, trial.exchange, heater, flows)


class _Step:
    """What stays the same while a step's humidity is sought: the dry bulb it can have, and all that hangs on it."""

    def __init__(
        self,
        plant: Plant,
        load: Load,
        state: diffusion.State,
        before_c: FloatArray,
        before_pct: FloatArray,
        wanted_c: FloatArray,
        wanted_pct: FloatArray,
        seconds: FloatArray,
    ) -> None:
        self.plant, self.load, self.state, self.seconds = plant, load, state, seconds
        self.before_c, self.wanted_pct = before_c, wanted_pct
        self.scale = plant.power_w / 2.4e6  # what the heater could evaporate, kg/s, near enough
        wet = 1 + state.average
        per_dry_kg = wet * heat_capacity_j_kg_k(np.clip(before_c, 7, 100), np.clip(100 * state.average, 0, 400))
        self.capacity = ((load.dry_kg * per_dry_kg).sum(0) + STRUCTURE_J_K) / seconds
        self.latent = air.latent_heat_j_kg(before_c)
        self.sorbed = self._sorbed(state)
        self.temperature = self._reachable(before_pct, wanted_c)
        rise = self.temperature - plant.outdoor_c
        self.per_exchange = plant.air_j_kg_k * rise  # below 0 where the kiln is colder than outdoors
        self.holding = plant.wall_w_k * rise + self.capacity * (self.temperature - before_c) - plant.fan_w
        self.kiln_air = KilnAir(self.temperature, plant.pressure_pa)
        climate, _ = self.kiln_air.at(wanted_pct)
        self.inside = diffusion.Inside(state, load.boards, climate, seconds)  # the same at every humidity tried

    def _reachable(self, before_pct: FloatArray, wanted_c: FloatArray) -> FloatArray:
        """Dry bulb at the step's end: as wanted, if a full heater with vents shut or open vents alone can bring it."""
        plant = self.plant
        inside = air.humidity_ratio(np.clip(self.before_c, -40, 90), before_pct, plant.pressure_pa)
        damp = plant.leak_kg_s * np.maximum(inside - plant.outdoor_ratio, 0) * self.latent

        def left_alone(exchange_kg_s: FloatArray, heat_w: FloatArray) -> FloatArray:
            lost = plant.wall_w_k + exchange_kg_s * plant.air_j_kg_k
            heat = self.capacity * self.before_c + plant.fan_w + heat_w + lost * plant.outdoor_c
            return heat / (self.capacity + lost)

        hottest = left_alone(plant.leak_kg_s, np.maximum(plant.power_w - damp, 0))
        coolest = np.minimum(left_alone(plant.vent_kg_s, np.zeros_like(damp)), hottest)
        return np.clip(wanted_c, coolest, hottest)

    def _sorbed(self, state: diffusion.State) -> FloatArray:
        """`wood.sorption_heat_j_kg` of the boards, cell by cell, without its guards."""
        heat = SORPTION_J_KG * np.exp(-SORPTION_FALL * state.profile)
        return diffusion.average(heat, self.load.boards.widths)

    def trial(self, humidity_pct: FloatArray) -> _Trial:
        """What happens in this step if the air stands at this humidity."""
        plant, load = self.plant, self.load
        climate, ratio = self.kiln_air.at(humidity_pct)
        after = self.inside.at(climate)
        lost = load.dry_kg * (self.state.average - after.average) / self.seconds
        sorption = (load.dry_kg * (self._sorbed(after) - self.sorbed)).sum(0) / self.seconds
        evaporation, gain = lost.sum(0), ratio - plant.outdoor_ratio
        need = evaporation * self.latent + sorption + self.holding
        # Where fans give more heat than is lost, vents open for coolness and the air gets drier than wanted; a
        # humidifier's water takes up that heat first.
        mist = np.maximum(plant.leak_kg_s * gain - evaporation, 0) * self.latent
        need_moist = need + np.where(plant.humidifies & (humidity_pct <= self.wanted_pct + 1e-9), mist, 0)
        least = np.clip(-need_moist / np.maximum(self.per_exchange, 1.0), plant.leak_kg_s, plant.vent_kg_s)
        exchange = np.clip(evaporation / np.maximum(gain, 1e-9), least, plant.vent_kg_s)
        return _Trial(after, evaporation, sorption, gain, least, exchange, need + exchange * self.per_exchange)

    def residual(self, humidity_pct: FloatArray, trial: _Trial) -> FloatArray:
        """Rises through zero at the humidity that rules, kg/s.

        Damp enough is where the least air exchange carries off more than the wood gives, or where the air is no drier
        than wanted and both vents and heater bear the evaporation.
        """
        plant = self.plant
        leak = trial.least_exchange * trial.gain - trial.evaporation
        # A humidifier makes good what the leak takes, up to the wanted humidity.
        leak = np.where(plant.humidifies & (humidity_pct <= self.wanted_pct), -np.inf, leak)
        vents = plant.vent_kg_s * trial.gain - trial.evaporation
        heat = (plant.power_w - trial.need) / self.latent
        wanted = (humidity_pct - self.wanted_pct) * (self.scale / 10)
        return np.maximum(leak, np.minimum(np.minimum(vents, heat), wanted))


def _root(step: _Step, first: FloatArray, second: FloatArray) -> tuple[FloatArray, _Trial]:
    """Humidity where the residual crosses zero within the limits, and the trial there: the Illinois method.

    Starts from the wanted humidity, which most often holds, then the one before. At most 16 trials; good to 0.1 % of
    the heater's evaporation or 0.05 % humidity.
    """
    tiny = 1e-3 * step.scale
    x = np.clip(first, DRIEST_PCT, DAMPEST_PCT)
    trial = step.trial(x)
    fx = step.residual(x, trial)
    settled = np.abs(fx) <= tiny
    # a is the end nearer to `first`, b the other once the signs differ; until then x walks to the limit.
    a, fa, b, fb = x, fx, x, fx
    limit = np.where(fx < 0, DAMPEST_PCT, DRIEST_PCT)
    between = np.zeros(x.shape, bool)
    x = np.where(settled, x, np.where((second - x) * (limit - x) > 0, np.clip(second, DRIEST_PCT, DAMPEST_PCT), limit))
    for _ in range(15):
        if settled.all():
            break
        trial = step.trial(x)
        fx = step.residual(x, trial)
        opposite = fx * np.where(between, fb, fa) < 0
        fa = np.where(between, np.where(opposite, fb, fa / 2), np.where(opposite, fa, fx))
        a = np.where(between, np.where(opposite, b, a), np.where(opposite, a, x))
        b, fb = x, fx
        between |= opposite
        settled |= (np.abs(fx) <= tiny) | (between & (np.abs(b - a) < 0.05)) | (~between & (x == limit))
        guess = b - fb * (b - a) / np.where(fb == fa, np.inf, fb - fa)
        x = np.where(settled, x, np.where(between, guess, limit))
    return x, trial
