"""Kiln schedules: dry bulb and wet-bulb depression by moisture step, assembled from published tables, fitted to kilns.

Hardwoods: Simpson (ed.), Dry Kiln Operator's Manual, USDA Agriculture Handbook 188 (1991), ch. 7, general schedules,
and Boone et al., FPL-GTR-57 (1988). All of it recalled, not re-read: guidance that an owner may change. Softwoods have
no published table here; `SMALL_SOFTWOOD` is our own for small warm kilns: common practice, no source. ValueError for
figures out of range, KeyError for codes and species in no table.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drying import air, wood
from drying.ranges import within
from drying.tables import rows

SMALL_SOFTWOOD = "small-warm-softwood"
# FPL-GTR-57 keeps the wet bulb at 90 °F or above where a kiln cannot hold a lower one (recalled).
LOWEST_WET_BULB_C = 32.2
# How far below the target the air may go, and must go in the last step to bring the slow boards there: common practice,
# no source.
DRIEST_BELOW_TARGET_PCT = {"hardwood": 4.0, "softwood": 2.0}
LAST_STEP_BELOW_TARGET_PCT = 1.0
# 6/4 still takes the 4/4 code, but not in oak (note in the index); beyond 8/4 the tables end.
THICKEST_FOR_25MM_CODE_MM, THICKEST_OAK_FOR_25MM_CODE_MM, THICKEST_IN_TABLES_MM = 39.0, 32.0, 57.0
# The mildest listed code of each group stands in for a species without its own: our choice.
GROUP_CODES = {
    "slow_hardwood": ("T4-C2", "T3-C1"),
    "medium_hardwood": ("T8-C2", "T5-C1"),
    "light_hardwood": ("T11-D4", "T10-D3"),
    "softwood": (SMALL_SOFTWOOD, SMALL_SOFTWOOD),
}


@dataclass(frozen=True, slots=True)
class Step:
    """One step: from this charge moisture (None: from green) down to the next step's, dry bulb °C, depression K.

    Dry bulb 10..110 °C, depression 0..70 K, moisture 0..400 %; ValueError outside.
    """

    from_moisture_pct: float | None
    dry_bulb_c: float
    wet_bulb_depression_k: float

    def __post_init__(self) -> None:
        within("moisture where the step begins", self.from_moisture_pct or 0, 0, 400, "%")
        within("dry bulb", self.dry_bulb_c, 10, 110, "°C")
        within("wet-bulb depression", self.wet_bulb_depression_k, 0, 70, "K")

    @property
    def wet_bulb_c(self) -> float:
        return self.dry_bulb_c - self.wet_bulb_depression_k

    @property
    def relative_humidity_pct(self) -> float:
        """At 101.325 kPa, as the published tables are."""
        return float(air.relative_humidity_pct(self.dry_bulb_c, self.wet_bulb_c))

    @property
    def equilibrium_moisture_pct(self) -> float:
        return float(wood.equilibrium_moisture_pct(self.dry_bulb_c, self.relative_humidity_pct))


@dataclass(frozen=True, slots=True)
class Schedule:
    """Steps from green to dry, their source, and `notes`: codes of what was changed or cannot be held (`for_wood`)."""

    code: str
    steps: tuple[Step, ...]
    source: str
    from_memory: bool
    notes: tuple[str, ...] = ()

    def step_index(self, moisture_pct: ArrayLike) -> NDArray[np.int64]:
        """Index of the step in force at each moisture, % (0..400): a step begins when the charge has come down to its
        moisture. ValueError outside."""
        moisture = within("moisture content", moisture_pct, 0, wood.WETTEST_PCT, "%")
        starts = np.array([step.from_moisture_pct for step in self.steps[1:]], dtype=float)
        return np.sum(moisture[..., None] <= starts, axis=-1)

    def conditions(self, moisture_pct: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Dry bulb °C and relative humidity % called for at each moisture."""
        index = self.step_index(moisture_pct)
        dry = np.array([step.dry_bulb_c for step in self.steps])
        humidity = np.array([step.relative_humidity_pct for step in self.steps])
        return dry[index], humidity[index]


@dataclass(frozen=True, slots=True)
class Finish:
    """End of a run, % moisture: equalise in air of `equalise_pct` from when the driest board has come down to
    `driest_pct` until the wettest is at `wettest_pct`; then condition in air of `condition_pct`."""

    driest_pct: float
    equalise_pct: float
    wettest_pct: float
    condition_pct: float


def finish(target_pct: float, wood_class: str) -> Finish:
    """Equalising and conditioning for a target (Wengert, equalizing and conditioning; AH-188 ch. 7 and 9, conditioning
    recalled): equalise at target - 2, condition at target + 3 (softwood) or + 4 (hardwood); target 3..60 %."""
    within("target moisture content", target_pct, 3, 60, "%")
    if wood_class not in ("hardwood", "softwood"):
        raise ValueError(f"wood class {wood_class!r} is not one of hardwood, softwood")
    below = target_pct - 2
    return Finish(below, below, target_pct, target_pct + (3 if wood_class == "softwood" else 4))


@cache
def schedule(code: str) -> Schedule:
    """Schedule (°C, K, %) of a code such as "T4-D2" (temperature schedule, moisture class, depression schedule) or
    SMALL_SOFTWOOD.

    A new step begins wherever the temperature or the depression table has one. KeyError for a code in neither table.
    """
    if code == SMALL_SOFTWOOD:
        return _read(code, rows("kiln_small_softwood"))
    temperature, _, rest = code.partition("-")
    dry = {_start(row): _kelvin(row["dry_bulb_f"], 32) for row in _of("kiln_temperatures", "schedule", temperature)}
    by_step = {row["step"]: row for row in _of("kiln_depressions", "schedule", rest[1:])}
    classes = _of("kiln_moisture_classes", "moisture_class", rest[:1])
    if not (dry and by_step and classes):
        raise KeyError(f"{code!r} is no general schedule; codes run T1 to T14, A to F, 1 to 8, as in T4-D2")
    wet = {_start(row): _kelvin(by_step[row["step"]]["wet_bulb_depression_f"]) for row in classes}
    starts = sorted(dry.keys() | wet.keys(), reverse=True)
    steps = tuple(Step(None if start == np.inf else start, _last(dry, start), _last(wet, start)) for start in starts)
    source = next(iter(by_step.values()))["source"]
    return Schedule(code, steps, source, from_memory=True)


def index_code(species: str, thickness_mm: float) -> str:
    """Published code for a species by its name in the index (FPL-GTR-57, recalled) and green thickness, 5..200 mm.

    KeyError when the index has none for that species and thickness.
    """
    for row in _of("kiln_index", "species", species):
        code = code_for_thickness(row["code_25mm"], row["code_50mm"] or None, thickness_mm, oak="oak" in species)
        if code:
            return code
    raise KeyError(f"the schedule index has no code for {species!r} of {thickness_mm} mm")


def code_for_thickness(
    code_25mm: str | None, code_50mm: str | None, thickness_mm: float, *, oak: bool = False
) -> str | None:
    """The code of a species' two that a green thickness (5..200 mm) takes: 4/4 to 6/4, or 8/4 (oak: 8/4 from 6/4 on;
    FPL-GTR-57, recalled)."""
    within("thickness", thickness_mm, 5, 200, "mm")
    limit = THICKEST_OAK_FOR_25MM_CODE_MM if oak else THICKEST_FOR_25MM_CODE_MM
    return code_25mm if thickness_mm <= limit else code_50mm


@lru_cache(maxsize=2000)
def for_wood(
    drying_group: str,
    code: str | None,
    thickness_mm: float,
    max_temperature_c: float,
    *,
    target_pct: float = 8.0,
    lowest_wet_bulb_c: float = LOWEST_WET_BULB_C,
    humidifies: bool = False,
) -> Schedule:
    """The schedule of `code` (None: the drying group's) as a given kiln can run it.

    A dry bulb above `max_temperature_c` is brought down to it. The air keeps the step's EMC, for that is what the wood
    feels, but no EMC is drier than the target less DRIEST_BELOW_TARGET_PCT, and the wet bulb is at least
    `lowest_wet_bulb_c` unless that would stop the air above target - 2. The last step is at least
    LAST_STEP_BELOW_TARGET_PCT under the target. Equal neighbouring steps become one.
    Notes: "capped", "drier_air_withheld", "wet_bulb_raised", "group_schedule", "thicker_than_table", "no_humidifying"
    (first steps are as damp as the wood itself makes them; no conditioning). Thickness 5..200 mm, kiln's maximum
    20..110 °C, target 3..60 %, wet bulb 0..60 °C; ValueError outside, KeyError for a code in no table.
    """
    for quantity, value, low, high, unit in (
        ("thickness", thickness_mm, 5, 200, "mm"),
        ("kiln's highest temperature", max_temperature_c, 20, 110, "°C"),
        ("target moisture content", target_pct, 3, 60, "%"),
        ("lowest wet bulb", lowest_wet_bulb_c, 0, 60, "°C"),
    ):
        within(quantity, value, low, high, unit)
    if drying_group not in GROUP_CODES:
        raise ValueError(f"drying group {drying_group!r} is not one of {', '.join(GROUP_CODES)}")
    wood_class = "softwood" if drying_group == "softwood" else "hardwood"
    group = GROUP_CODES[drying_group]
    base = schedule(code or (group[0] if thickness_mm <= THICKEST_FOR_25MM_CODE_MM else group[1]))
    driest = target_pct - DRIEST_BELOW_TARGET_PCT[wood_class]
    steps = (*base.steps[:-1], _dry_enough(base.steps[-1], target_pct - LAST_STEP_BELOW_TARGET_PCT))
    fitted = [_fit(step, max_temperature_c, driest, target_pct - 2, lowest_wet_bulb_c) for step in steps]
    notes = {note for _, found in fitted for note in found}
    notes |= {
        name
        for name, true in (
            ("group_schedule", code is None and wood_class == "hardwood"),
            ("thicker_than_table", thickness_mm > THICKEST_IN_TABLES_MM),
            ("no_humidifying", not humidifies),
        )
        if true
    }
    return replace(base, steps=_merged(step for step, _ in fitted), notes=tuple(sorted(notes)))


def mildest(schedules: Sequence[Schedule]) -> Schedule:
    """One schedule for a mixed charge: at each moisture the lowest dry bulb (°C) and the highest EMC (%) of them all
    (common practice, no source). ValueError for none."""
    if not schedules:
        raise ValueError("no schedule given: a charge takes the mildest of one or more")
    if len(schedules) == 1:
        return schedules[0]
    starts = {step.from_moisture_pct for one in schedules for step in one.steps} - {None}
    steps = []
    for start in [None, *sorted((s for s in starts if s is not None), reverse=True)]:
        called = [one.steps[int(one.step_index(wood.WETTEST_PCT if start is None else start))] for one in schedules]
        dry_bulb = min(step.dry_bulb_c for step in called)
        moisture = max(step.equilibrium_moisture_pct for step in called)
        steps.append(Step(start, dry_bulb, _depression(dry_bulb, moisture)))
    return Schedule(
        " + ".join(dict.fromkeys(one.code for one in schedules)),
        _merged(steps),
        "; ".join(dict.fromkeys(one.source for one in schedules if one.source)),
        any(one.from_memory for one in schedules),
        tuple(sorted({note for one in schedules for note in one.notes})),
    )


def _fit(step: Step, most_c: float, driest_pct: float, enough_pct: float, lowest_c: float) -> tuple[Step, set[str]]:
    notes, dry_bulb, moisture = set(), min(step.dry_bulb_c, most_c), step.equilibrium_moisture_pct
    depression = step.wet_bulb_depression_k
    if dry_bulb < step.dry_bulb_c:
        notes.add("capped")
        depression = _depression(dry_bulb, moisture)
    if moisture < driest_pct:
        notes.add("drier_air_withheld")
        depression = _depression(dry_bulb, driest_pct)
    if dry_bulb - depression < lowest_c:
        raised = max(dry_bulb - lowest_c, min(depression, _depression(dry_bulb, enough_pct)))
        if raised < depression:
            notes.add("wet_bulb_raised")
            depression = raised
    return Step(step.from_moisture_pct, dry_bulb, depression), notes


def _dry_enough(last: Step, most_pct: float) -> Step:
    if last.equilibrium_moisture_pct <= most_pct:
        return last
    return replace(last, wet_bulb_depression_k=_depression(last.dry_bulb_c, most_pct))


def _depression(dry_bulb_c: float, moisture_pct: float) -> float:
    humidity = wood.humidity_for_moisture_pct(dry_bulb_c, moisture_pct)
    return dry_bulb_c - float(air.wet_bulb_c(dry_bulb_c, humidity))


def _merged(steps: Iterable[Step]) -> tuple[Step, ...]:
    kept: list[Step] = []
    for step in steps:
        if not kept or (step.dry_bulb_c, step.wet_bulb_depression_k) != (
            kept[-1].dry_bulb_c,
            kept[-1].wet_bulb_depression_k,
        ):
            kept.append(step)
    return tuple(kept)


def _read(code: str, table: Iterable[dict[str, str]]) -> Schedule:
    table = list(table)
    steps = tuple(
        Step(
            float(row["from_moisture_pct"]) if row["from_moisture_pct"] else None,
            float(row["dry_bulb_c"]),
            float(row["wet_bulb_depression_k"]),
        )
        for row in table
    )
    return Schedule(code, steps, table[0]["source"], from_memory=table[0]["from_memory"] == "yes")


def _of(table: str, column: str, value: str) -> list[dict[str, str]]:
    return [row for row in rows(table) if row[column] == value]


def _start(row: dict[str, str]) -> float:
    return float(row["from_moisture_pct"] or np.inf)


def _kelvin(fahrenheit: str, zero: float = 0.0) -> float:
    return (float(fahrenheit) - zero) / 1.8


def _last(table: dict[float, float], start: float) -> float:
    return table[min(known for known in table if known >= start)]
