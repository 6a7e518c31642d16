"""How dry wood shall be for what it is made into: from the climate it will live in, or from handbooks."""

from dataclasses import dataclass

from drying.ranges import within
from drying.wood import equilibrium_moisture_pct


@dataclass(frozen=True, slots=True)
class Aim:
    """A usual moisture for a use, % of oven-dry mass, with its source."""

    target_pct: float
    source: str


_DELIVERY = "Svenskt Trä guidance, delivery targets (TräGuiden table 3)"
AIMS: dict[str, Aim] = {
    "furniture": Aim(8.0, f"as for heated indoor floors: {_DELIVERY}"),
    "floor": Aim(8.0, f"heated indoor floors: {_DELIVERY}"),
    "joinery": Aim(12.0, f"indoor cladding and mouldings: {_DELIVERY}"),
    "outdoor": Aim(16.0, f"exterior cladding: {_DELIVERY}"),
    "framing": Aim(16.0, f"structural timber: {_DELIVERY}"),
}


def usual_target_pct(use: str) -> Aim:
    """The moisture for a use (a key of AIMS), % MC, and its source, none of them recalled; ValueError for another."""
    if use not in AIMS:
        raise ValueError(f"use {use!r} is not one of {', '.join(AIMS)}")
    return AIMS[use]


def room_target_pct(temperature_c: float, relative_humidity_pct: float) -> float:
    """What wood comes to in a room's air, % MC: its equilibrium (WH eq. (4-5), as `drying.wood`).

    Temperature 5..35 °C, humidity 15..90 %: a room that people use, our own range. ValueError outside.
    """
    temperature = within("room temperature", temperature_c, 5, 35, "°C")
    humidity = within("room humidity", relative_humidity_pct, 15, 90, "%")
    return float(equilibrium_moisture_pct(temperature, humidity))
