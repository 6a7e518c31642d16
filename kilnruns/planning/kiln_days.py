"""How long wood that is yet to be sawn will take in the kiln: for the yard's sawing list, which knows no kilns."""

from collections.abc import Sequence
from math import ceil, floor

import numpy as np

from kilnruns.models import Kiln
from kilnruns.planning.chambers import TURNAROUND_DAYS
from kilnruns.planning.durations import SPREAD, season, tables_by_season
from kilnruns.planning.groups import Groups
from yard.models import Place, Stack
from yard.outlook import KilnAsk


def kiln_days(asked: Sequence[KilnAsk]) -> list[tuple[int, int, int] | None]:
    """For each, the days by P10, P50 and P90 in the kiln that is quickest with it, the day between two charges with
    them; None where none brings it there. Waiting for a free kiln is not in it. A fixed number of
    queries."""
    kilns = list(Kiln.objects.filter(retired=False).select_related("place")) if asked else []
    if not kilns:
        return [None for _ in asked]
    places, groups = list(Place.objects.outdoors()), Groups.read()
    wood = [
        (Stack(species=one.species, thickness_mm=one.thickness_mm, target_pct=one.to_pct), season(places, one.about))
        for one in asked
    ]
    found = tables_by_season(wood, kilns, groups)
    quickest = [min(float(table.days(one.from_pct)) for table in row) for one, row in zip(asked, found, strict=True)]
    return [_with_turnaround(days) if np.isfinite(days) else None for days in quickest]


def _with_turnaround(days: float) -> tuple[int, int, int]:
    return TURNAROUND_DAYS + floor(days / SPREAD), TURNAROUND_DAYS + ceil(days), TURNAROUND_DAYS + ceil(days * SPREAD)
