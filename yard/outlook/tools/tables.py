"""What the phone needs to compute as the core does: the woods' figures, the meters' curves and chart."""

from collections.abc import Iterable
from typing import Any

from drying.meters import CHART, CHART_TOP_TRUE_PCT, CURVES, TEMPERATURE_RULES_PER_K
from drying.species import SPECIES
from yard.models import Species
from yard.outlook.corrections import curve_key
from yard.outlook.tools.sizes import SHRINKAGES, is_recalled


def phone_tables(species: Iterable[Species]) -> dict[str, Any]:
    """`woods` by key; `scales`: each packaged wood's curve, where there is one (1 for a double log, a, b, °C, from and
    to %); `temperatures` (°C) with their lines in `chart`: indicated moistures (%), points to add to each."""
    return {
        "woods": {one.key: _wood(one) for one in species},
        "scales": {one.key: _curve(CURVES[one.meter_key]) for one in SPECIES.values() if one.meter_key in CURVES},
        "temperatures": list(CHART),
        "chart": [[indicated.tolist(), points.tolist()] for indicated, points in CHART.values()],
        "rules": list(TEMPERATURE_RULES_PER_K),
        "chartTop": CHART_TOP_TRUE_PCT,
    }


def _wood(one: Species) -> dict[str, Any]:
    """`meter`: the packaged wood whose curve it shares; `lacks`: why there is no curve; `recalled`: of its figures,
    1 the density, 2 the shrinkage, added."""
    meter = curve_key(one)
    packaged = SPECIES.get(meter or "")
    lacks = "species_not_given" if packaged is None else "" if packaged.meter_key in CURVES else "no_species_curve"
    row = {
        "name": one.name,
        "density": one.basic_density_kg_m3,
        "radial": one.shrinkage_radial_pct,
        "tangential": one.shrinkage_tangential_pct,
        "meter": meter,
        "lacks": lacks,
        "recalled": is_recalled(one, "basic_density_kg_m3") + 2 * is_recalled(one, *SHRINKAGES),
    }
    return {name: value for name, value in row.items() if value not in (None, "")}


def _curve(curve: Any) -> list[float]:
    form = int(curve.form == "double_log")
    return [form, curve.a, curve.b, curve.temperature_c, curve.lowest_pct, curve.highest_pct]
