"""Steps as a charge or a kiln keeps them: rows in, rows out; what an operator wrote, and how hard it is."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from drying.air import pressure_pa
from drying.operating import wet_bulb_at
from drying.ownschedule import harder_than, in_order, step_air, step_of
from drying.schedules import Schedule, Step
from kilnruns.models import Kiln

OWN = "own"
Row = Mapping[str, Any]


def rows(steps: Iterable[Step], altitude_m: float) -> list[dict[str, Any]]:
    """From which moisture (None: from the start), °C, the wet bulb as it shows at the kiln's height, % humidity, EMC.
    The height stays with them: rows without one are of the height of the sea."""
    pressure = float(pressure_pa(altitude_m))
    return [
        {
            "from_pct": step.from_moisture_pct,
            "dry_bulb_c": round(step.dry_bulb_c, 1),
            "wet_bulb_c": round(wet_bulb_at(step, pressure), 1),
            "humidity_pct": round(step.relative_humidity_pct),
            "emc_pct": round(step.equilibrium_moisture_pct, 1),
            "altitude_m": altitude_m,
        }
        for step in steps
    ]


def steps_of(kept: Iterable[Row]) -> tuple[Step, ...]:
    return tuple(
        step_of(row["from_pct"], row["dry_bulb_c"], row["wet_bulb_c"], float(pressure_pa(row.get("altitude_m", 0.0))))
        for row in kept
    )


def own_schedule(kept: Iterable[Row], kiln: Kiln) -> Schedule:
    """Steps that people wrote, as the core runs them."""
    notes = () if kiln.humidifies else ("no_humidifying",)
    return Schedule(OWN, steps_of(kept), "", from_memory=False, notes=notes)


def serves(kept: Iterable[Row], kiln: Kiln, target_pct: float) -> bool:
    """Whether the kiln still bears these steps and they dry to this target."""
    steps = steps_of(kept)
    is_borne = all(step.dry_bulb_c <= kiln.max_temperature_c for step in steps)
    return is_borne and steps[-1].equilibrium_moisture_pct < target_pct


def air_of(dry_bulb_c: float, *, altitude_m: float, **one: float) -> dict[str, float]:
    """The air of a step from its dry bulb and one of wet_bulb_c, humidity_pct, emc_pct; ValueError where none is."""
    found = step_air(dry_bulb_c, **one, pressure_pa=float(pressure_pa(altitude_m)))
    return {
        "dry_bulb_c": round(found.dry_bulb_c, 1),
        "wet_bulb_c": round(found.wet_bulb_c, 1),
        "humidity_pct": round(found.humidity_pct),
        "emc_pct": round(found.emc_pct, 1),
        "altitude_m": altitude_m,
    }


def out_of_order(kept: Sequence[Row]) -> Sequence[int]:
    """Indices of rows that begin at no lower moisture than the one before."""
    return in_order(steps_of(kept))


def harder(kept: Iterable[Row], proposed: Iterable[Row]) -> list[dict[str, Any]]:
    """Where these steps ask more of the wood than the proposed ones: from which moisture, K warmer, points drier."""
    mine, book = (Schedule(OWN, steps_of(one), "", from_memory=False) for one in (kept, proposed))
    return [
        {"from_pct": one.from_moisture_pct, "warmer_k": round(one.warmer_k, 1), "drier_pct": round(one.drier_pct, 1)}
        for one in harder_than(mine, book)
    ]
