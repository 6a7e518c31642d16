"""Kiln chambers as physics sees them: walls, heater, air exchange, and the load of wood inside."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike

from drying import air, diffusion
from drying.ranges import FloatArray, within

DRY_AIR_J_KG_K, VAPOUR_J_KG_K = 1006.0, 1860.0


@dataclass(frozen=True, slots=True)
class Chamber:
    """A kiln: inner sizes, insulation, heater and air exchange. Defaults fit a small insulated chamber: our choice.

    `rate_factor` is what this kiln's finished runs have taught: it multiplies every drying rate in it. `humidifies`:
    it can add vapour (its heat counted), otherwise damp air comes from the wood alone. `heater_steps`: in how many
    equal steps the heater is switched, 1..24 (None: without steps). ValueError for figures that no kiln has.
    """

    length_m: float
    width_m: float
    height_m: float
    heater_kw: float
    max_temperature_c: float
    wall_u_w_m2k: float = 0.5
    fan_kw: float = 0.25
    vent_max_kg_s: float = 0.12
    leak_per_h: float = 0.3
    humidifies: bool = False
    altitude_m: float = 0.0
    rate_factor: float = 1.0
    heater_steps: int | None = None

    def __post_init__(self) -> None:
        for name in ("length_m", "width_m", "height_m"):
            within(name, getattr(self, name), 0.3, 100, "m")
        within("heater_kw", self.heater_kw, 0.1, 10_000, "kW")
        within("wall_u_w_m2k", self.wall_u_w_m2k, 0.05, 10, "W/m²K")
        within("fan_kw", self.fan_kw, 0, 1000, "kW")
        within("vent_max_kg_s", self.vent_max_kg_s, 0, 100, "kg/s")
        within("leak_per_h", self.leak_per_h, 0, 100, "air changes an hour")
        within("heater_steps", self.heater_steps or 1, 1, 24, "")
        within("altitude_m", self.altitude_m, -500, 5000, "m")
        within("max_temperature_c", self.max_temperature_c, 20, 100, "°C")
        within("rate_factor", self.rate_factor, 0.1, 10, "times")

    @property
    def volume_m3(self) -> float:
        return self.length_m * self.width_m * self.height_m

    @property
    def wall_w_k(self) -> float:
        """Heat lost through walls, floor and roof, W per K."""
        length, width, height = self.length_m, self.width_m, self.height_m
        return self.wall_u_w_m2k * 2 * (length * width + length * height + width * height)


@dataclass(frozen=True, slots=True)
class Plant:
    """Chambers with the air outside them, as arrays [X] for many runs at once; one air pressure for all."""

    power_w: FloatArray
    fan_w: FloatArray
    wall_w_k: FloatArray
    leak_kg_s: FloatArray
    vent_kg_s: FloatArray
    humidifies: np.ndarray
    outdoor_c: FloatArray
    outdoor_ratio: FloatArray
    pressure_pa: float

    @classmethod
    def of(
        cls, chambers: Sequence[Chamber], wood_m3: ArrayLike, outdoor_c: ArrayLike, outdoor_humidity_pct: ArrayLike
    ) -> "Plant":
        """Plant of one chamber per run, holding `wood_m3` of wood each; all at the first one's altitude."""
        pressure = float(air.pressure_pa(chambers[0].altitude_m))
        outdoor = np.broadcast_to(np.asarray(outdoor_c, float), len(chambers)).copy()
        volume = np.array([one.volume_m3 for one in chambers])
        free = np.maximum(volume - np.asarray(wood_m3, float), 0.2 * volume)
        leak = np.array([one.leak_per_h for one in chambers]) / 3600 * free * pressure / (287.05 * (outdoor + 273.15))
        return cls(
            power_w=1e3 * np.array([one.heater_kw for one in chambers]),
            fan_w=1e3 * np.array([one.fan_kw for one in chambers]),
            wall_w_k=np.array([one.wall_w_k for one in chambers]),
            leak_kg_s=leak,
            vent_kg_s=np.maximum(np.array([one.vent_max_kg_s for one in chambers]), leak),
            humidifies=np.array([one.humidifies for one in chambers]),
            outdoor_c=outdoor,
            outdoor_ratio=np.broadcast_to(air.humidity_ratio(outdoor, outdoor_humidity_pct, pressure), len(chambers)),
            pressure_pa=pressure,
        )

    def pick(self, keep: np.ndarray) -> "Plant":
        """The runs picked out by a mask or by indices."""
        kept = {one.name: getattr(self, one.name)[keep] for one in fields(self) if one.name != "pressure_pa"}
        return replace(self, **kept)

    @property
    def air_j_kg_k(self) -> FloatArray:
        """Heat to warm incoming air, J per K and kg of dry air."""
        return DRY_AIR_J_KG_K + VAPOUR_J_KG_K * self.outdoor_ratio


@dataclass(frozen=True, slots=True)
class Load:
    """Wood in the chambers: boards and dry mass, kg, [parcels, X]."""

    boards: diffusion.Boards
    dry_kg: FloatArray
