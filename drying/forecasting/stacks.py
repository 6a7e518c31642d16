"""What the forecast is told of a stack: its wood, where it has stood, what was measured. Plain data; %, mm, dates."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from drying.climate import Climate, Exposure
from drying.diffusion import Wood
from drying.ranges import within
from drying.weather import Log

THINNEST_MM, THICKEST_MM = 5.0, 150.0  # the model is checked from 15 to 100 mm
WETTEST_PCT = 250.0  # light sapwood; the model is checked up to 200 %


class Method(StrEnum):
    """How a moisture content was found."""

    PINS = "pins"
    CAPACITANCE = "capacitance"
    OVEN_DRY = "oven_dry"
    SAMPLE_BOARD = "sample_board"


@dataclass(frozen=True, slots=True)
class Stay:
    """The stack stands here from `start` on, until its next stay; `log` is the weather observed here, if any was."""

    start: date
    climate: Climate
    exposure: Exposure
    log: Log | None = None


@dataclass(frozen=True, slots=True)
class ReadingInput:
    """One visit: the mean moisture content, %, of `count` boards, corrected for species and temperature."""

    taken_on: date
    method: Method
    moisture_pct: float
    count: int

    def __post_init__(self) -> None:
        within("moisture content read", self.moisture_pct, 0, 400, "%")
        within("number of boards read", self.count, 1, 10_000, "")


@dataclass(frozen=True, slots=True)
class StackInput:
    """A stack to forecast.

    thickness_mm: green, 5..150; initial_moisture_pct 1..250 on `start`, with the spread of its logarithm; stays in
    order of time, the first not after `start`; readings in any order; target_pct 4..60; rate_log_shift: what the yard
    has learned of this wood's rate; rate_log_sd: the spread that is left of its logarithm, the exposure's included
    (None: the wood's and the exposure's). Raises ValueError that names the field.
    """

    key: str
    wood: Wood
    thickness_mm: float
    start: date
    initial_moisture_pct: float
    initial_log_sd: float
    stays: tuple[Stay, ...]
    readings: tuple[ReadingInput, ...]
    target_pct: float
    rate_log_shift: float = 0.0
    rate_log_sd: float | None = None

    def __post_init__(self) -> None:
        within("thickness", self.thickness_mm, THINNEST_MM, THICKEST_MM, "mm")
        within("initial moisture content", self.initial_moisture_pct, 1, WETTEST_PCT, "%")
        within("spread of the initial moisture content", self.initial_log_sd, 0, 1, "")
        within("target moisture content", self.target_pct, 4, 60, "%")
        if self.rate_log_sd is not None:
            within("spread of the rate (log)", self.rate_log_sd, 0.01, 3, "")
        if not self.stays or self.stays[0].start > self.start:
            raise ValueError(f"stack {self.key}: no place is known for its first day, {self.start}")
        if any(later.start < earlier.start for earlier, later in zip(self.stays, self.stays[1:], strict=False)):
            raise ValueError(f"stack {self.key}: its stays are not in order of time")
        early = [reading.taken_on for reading in self.readings if reading.taken_on < self.start]
        if early:
            raise ValueError(f"stack {self.key}: the reading of {min(early)} is older than the stack ({self.start})")
        within("what the yard has learned of the rate (logarithm)", self.rate_log_shift, -5, 5, "")

    @property
    def as_of(self) -> date:
        """The day up to which something is known: the last reading's, or the start."""
        return max([self.start, *(reading.taken_on for reading in self.readings)])
