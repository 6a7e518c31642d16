"""Kiln days for the planner: many tables in one batch, and how near they come to single runs."""

from collections.abc import Iterator
from dataclasses import replace
from time import process_time

from drying import heat, schedules
from drying.diffusion import Wood
from drying.species import SPECIES
from tests.bench.figure import Figure

HAND = heat.Chamber(7.2, 1.8, 1.6, heater_kw=6, max_temperature_c=60)
PACK = heat.Chamber(6, 2.6, 2.6, heater_kw=18, max_temperature_c=70, vent_max_kg_s=0.3, fan_kw=1.5)
MADE_UP_YARD = (
    "norway_spruce", "scots_pine", "european_larch", "european_oak", "european_beech", "european_ash", "sycamore_maple",
    "wild_cherry",
)  # fmt: skip


def request(key: str, thickness_mm: float, chamber: heat.Chamber) -> heat.RunRequest:
    species = SPECIES[key]
    wood = Wood(
        species.basic_density_kg_m3, species.permeability, species.rate, species.rate_log_sd, species.wood_class
    )
    codes = species.schedule_25mm, species.schedule_50mm
    code = schedules.code_for_thickness(*codes, thickness_mm, oak="oak" in species.name)
    schedule = schedules.for_wood(species.drying_group, code, thickness_mm, chamber.max_temperature_c)
    return heat.RunRequest(chamber, wood, thickness_mm, 8.0, schedule, 10, 75)


def figures() -> Iterator[Figure]:
    """Sixty stacks of eight species and two thicknesses in two kilns: sixteen kinds, so 32 tables."""
    stacks = [(MADE_UP_YARD[i % 8], (27.0, 40.0)[i // 8 % 2]) for i in range(60)]
    requests = [request(*stack, chamber) for stack in stacks for chamber in (HAND, PACK)]
    heat.run_tables([replace(requests[0], volume_m3=1.0)])
    begun = process_time()
    tables = heat.run_tables(requests)
    seconds = process_time() - begun
    yield Figure("tables of kiln days, 60 stacks x 2 kilns", seconds, "s of processor", "2 s or less", seconds <= 2)
    begun, worst = process_time(), 0.0
    for one, table in list(zip(requests, tables, strict=True))[:8:2]:
        parcel = heat.Parcel(one.wood, one.thickness_mm, one.load_m3, 22)
        single = heat.kiln_run(one.chamber, [parcel], one.schedule, 8, 10, 75)
        worst = max(worst, abs(float(table.days(22)) / single.days - 1))
    took = (process_time() - begun) / 4
    yield Figure("single kiln run", took, "s of processor", "0.5 s or less on an idle core", took <= 0.5)
    yield Figure("tables of kiln days against single runs, worst", 100 * worst, "%", "4 % or less", worst <= 0.04)
