"""The brute form of the forecast, to be compared with: every member walked ahead day by day for two years.

It sets out from the same departure; what the readings teach is not done anew, so the comparison is to its favour.
"""

from unittest.mock import patch

import numpy as np

from drying.climate import YEAR_DAYS
from drying.forecast import StackInput
from drying.forecasting import departure
from drying.forecasting.batch import Outcome
from drying.forecasting.members import targets
from drying.forecasting.walk import Walk, Whereabouts

MEMBERS, HORIZON_DAYS = 200, 730


def brute_ready_days(stacks: list[StackInput], outcome: Outcome, seed: int = 0) -> np.ndarray:
    """Sorted days until ready of 200 members a stack, inf where not within two years, [stacks, members]."""
    rate, state, equilibrium = np.random.default_rng(seed).standard_normal((3, MEMBERS))
    where = Whereabouts.of(stacks, HORIZON_DAYS)
    everyone = np.arange(len(stacks))
    with patch.object(departure, "NODES", np.stack([rate, state], 1)):
        boards, begin = outcome.departure.nodes(stacks, where.air.equilibrium[where.rows(everyone, outcome.today)])
    usual = where.air.equilibrium.reshape(-1, YEAR_DAYS)[where.places[:, -1]].mean(1)
    target = np.array([stack.target_pct / 100 for stack in stacks])
    shifted = targets(target, outcome.departure.moisture, usual)
    wanted = shifted[:, 1, None] + (shifted[:, 2] - shifted[:, 1])[:, None] * equilibrium / 1.5
    walk = Walk(where, everyone, boards, begin, outcome.today.copy(), 0)
    ready = np.where(begin.average <= wanted, 0.0, np.inf)
    for day in range(1, HORIZON_DAYS + 1):
        walk.advance(np.ones(len(stacks)))
        ready = np.where(np.isinf(ready) & (walk.state.average <= wanted), day, ready)
    return np.sort(ready, 1)
