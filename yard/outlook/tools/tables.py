"""What the phone needs to compute as the core does: the woods' figures, the meters' curves and chart."""

from collections.abc import Iterable
from typing import Any

from drying.meters import CHART, CHART_TOP_TRUE_PCT, CURVES, TEMPERATURE_RULES_PER_K
from drying.species import SPECIES
from yard.models import Species
from yard.outlook.corrections import curve_key
from yard.outlook.tools.sizes import SHRINKAGES, is_recalled


def phone_tables(species: Iterable[Species]) -> dict[str, Any]:
    """`woods`: key, name, basic density, radial and tangential shrinkage, key of the meter's wood, what is recalled
    (1 density, 2 shrinkage, added). `scales`: each packaged wood's curve. `curves`: form, a, b, °C, from, to %.
    `chart`: wood temperature, indicated moistures, points to add to each."""
    return {
        "woods": [_wood(one) for one in species],
        "scales": {one.key: one.meter_key for one in SPECIES.values() if one.meter_key},
        "curves": {key: [c.form, c.a, c.b, c.temperature_c, c.lowest_pct, c.highest_pct] for key, c in CURVES.items()},
        "chart": [[t, indicated.tolist(), points.tolist()] for t, (indicated, points) in CHART.items()],
        "rules": list(TEMPERATURE_RULES_PER_K),
        "chartTop": CHART_TOP_TRUE_PCT,
    }


def _wood(one: Species) -> list[Any]:
    recalled = is_recalled(one, "basic_density_kg_m3") + 2 * is_recalled(one, *SHRINKAGES)
    shrinkage = one.shrinkage_radial_pct, one.shrinkage_tangential_pct
    return [one.key, one.name, one.basic_density_kg_m3, *shrinkage, curve_key(one), recalled]
