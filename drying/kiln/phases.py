"""What a run's schedule called for, phase by phase, and what air its kiln really held."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from drying.kiln.kilncourse import Moment
from drying.ranges import FloatArray
from drying.wood import equilibrium_moisture_pct

# What counts as not held: more than this many points of EMC off, for more than this share of the time. Our choice.
OFF_PCT, OFF_SHARE = 1.0, 0.1
# By how much the mean dry bulb may stay below the one called for. Our choice.
COOLER_K = 2.0


@dataclass(frozen=True, slots=True)
class Phase:
    """A part of a run: kind ("warming_up", "step", "equalising"), the schedule's step (0 first), hours, and the means
    over them: dry bulb called for and held, °C; EMC called for and held, %. `drier_hours`, `damper_hours`: how long the
    EMC held was more than a point below, or above, the one called for."""

    kind: str
    step: int
    hours: float
    called_c: float
    held_c: float
    called_emc_pct: float
    held_emc_pct: float
    drier_hours: float
    damper_hours: float

    @property
    def is_held(self) -> bool:
        """Whether the kiln's air was as called for: by EMC for all but a tenth of the hours, and so warm but for 2 K
        (our choices). Warming up counts as held: nothing else is to be had then."""
        long = OFF_SHARE * self.hours
        as_damp = self.drier_hours <= long and self.damper_hours <= long
        return self.kind == "warming_up" or (as_damp and self.held_c >= self.called_c - COOLER_K)


def _kind(moment: Moment) -> tuple[str, int]:
    if moment.equalising:
        return "equalising", moment.step
    return "warming_up" if moment.limit == "heating_up" else "step", moment.step


def phases_of(moments: Sequence[Moment]) -> tuple[Phase, ...]:
    """A recorded run's phases in order of time; warming up is all the time the dry bulb is still rising to its step."""
    return tuple(_phase(*key, list(some)) for key, some in groupby(moments, key=_kind))


def _phase(kind: str, step: int, moments: Sequence[Moment]) -> Phase:
    hours = np.array([one.hours for one in moments])
    called_c, called_pct = np.array([(one.wanted_c, one.wanted_pct) for one in moments]).T
    held_c, held_pct = np.array([(one.temperature_c, one.humidity_pct) for one in moments]).T
    called = equilibrium_moisture_pct(called_c, called_pct)
    held = equilibrium_moisture_pct(held_c, held_pct, clamped=True)

    def mean(values: FloatArray) -> float:
        return float(np.average(values, weights=hours))

    return Phase(
        kind=kind,
        step=step,
        hours=float(hours.sum()),
        called_c=mean(called_c),
        held_c=mean(held_c),
        called_emc_pct=mean(called),
        held_emc_pct=mean(held),
        drier_hours=float(hours[held < called - OFF_PCT].sum()),
        damper_hours=float(hours[held > called + OFF_PCT].sum()),
    )


def notes_of(phases: Sequence[Phase]) -> tuple[str, ...]:
    """Codes of what the kiln could not hold, after the warming up."""
    counted = [one for one in phases if one.kind != "warming_up"]
    hours = sum(one.hours for one in counted)
    off = {
        "drier_than_called": sum(one.drier_hours for one in counted),
        "damper_than_called": sum(one.damper_hours for one in counted),
    }
    return tuple(code for code, long in off.items() if long > OFF_SHARE * hours)
