"""How far a reading of each method may be from the stack's mean moisture, and how far the model itself. FRACTIONS here.

All sizes are choices, tuned on synthetic stacks of another structure than the model's (tests/bench/bench_forecast.py),
no source.
"""

from dataclasses import dataclass

import numpy as np

from drying.forecasting.stacks import Method
from drying.ranges import FloatArray

WET = 0.28  # above this a meter says little more than "wet"
TOO_LOW = 0.10  # and reads too low, by this share of the moisture above it (a choice; how much differs: `bias_wet`)


@dataclass(frozen=True, slots=True)
class MethodError:
    """Noise of one visit `floor`, `share` (of moisture), `when_wet` (per moisture above WET); common bias of a stack's
    readings `bias` + `bias_share` x moisture + `bias_wet` x moisture above WET; boards: whether a few weighed boards
    stand for the stack."""

    floor: float
    share: float
    when_wet: float
    bias: float
    bias_share: float
    bias_wet: float
    boards: bool


ERRORS = {
    Method.PINS: MethodError(0.008, 0.04, 0.25, 0.010, 0.0, 0.20, False),
    Method.CAPACITANCE: MethodError(0.012, 0.06, 0.35, 0.015, 0.0, 0.20, False),
    Method.OVEN_DRY: MethodError(0.006, 0.0, 0.0, 0.0, 0.002, 0.0, True),
    Method.SAMPLE_BOARD: MethodError(0.006, 0.0, 0.0, 0.0, 0.002, 0.0, True),
}
METHODS = tuple(ERRORS)
_METERS = np.array([error.when_wet > 0 for error in ERRORS.values()])
_TABLE = np.array([[e.floor, e.share, e.when_wet, e.bias, e.bias_share, e.bias_wet] for e in ERRORS.values()])
USUAL_COUNT = 8  # the meters' noise is that of a mean of so many boards
BOARD_RATE_LOG_SD = 0.18  # board to board within a stack
BOARD_STATE_LOG_SD = 0.14


def noise_and_bias(method: np.ndarray, count: np.ndarray, moisture: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Variance of the visit's noise, and standard deviation of the bias common to a stack's readings.

    method: indices into METHODS; count: boards read; moisture: what the stack would really have. All broadcast.
    """
    floor, share, wet, bias, bias_share, bias_wet = (_TABLE[:, i][method] for i in range(6))
    few = np.maximum(USUAL_COUNT / count, 1.0)
    above = np.maximum(moisture - WET, 0)
    noise = np.sqrt((floor**2 + (share * moisture) ** 2) * few) + wet * above
    return noise**2, bias + bias_share * moisture + bias_wet * above


def believed(method: np.ndarray, moisture: FloatArray) -> FloatArray:
    """What readings (indices into METHODS, fractions) are taken for: a meter's above WET for more than they say."""
    raised = WET + (moisture - WET) / (1 - TOO_LOW)
    return np.where(_METERS[method] & (moisture > WET), raised, moisture)


def discrepancy(initial: FloatArray, moisture: FloatArray) -> FloatArray:
    """Standard deviation of the stack about the model after it has lost `initial` - `moisture`."""
    return 0.012 + 0.04 * np.maximum(initial - moisture, 0)
