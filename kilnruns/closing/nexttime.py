"""What to change next time: fixed rules over degrade, quality, stress, deviations and records, each with its source.

A rule gives a code and its figure; the words stand in the template tags. `RECALLED`: AH-188, read from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import Literal

from kilnruns.closing.account import Came
from kilnruns.closing.quality import Measured
from kilnruns.closing.rows import Rows
from kilnruns.closing.stress import StressFound
from kilnruns.models import Charge

Source = Literal["recalled", "practice", "counted"]
NOTED_PCT = 5.0  # degrade in more than 1 in 20 calls for a change; a choice
MUCH_MORE_PCT = 20.0  # than forecast, worth a word; a choice
WIDE_SD_PCT = 1.0  # standard deviation after equalising that is worth a word: common practice, no source
LONG_UNSEEN = timedelta(days=2)
HOTTER_K = 3.0  # over the hottest step of the schedule
BY_DEFECT: dict[str, Source] = {
    "surface_checks": "recalled",
    "end_checks": "practice",
    "warp": "practice",
    "collapse": "recalled",
    "honeycomb": "recalled",
    "stain": "practice",
}


@dataclass(frozen=True, slots=True)
class Advice:
    """`code` of the rule that spoke, the figure that made it speak, and where the rule comes from."""

    code: str
    figure: float
    source: Source


def next_time(rows: Rows, told: Came, stacks: Sequence[Measured], stress: StressFound) -> list[Advice]:
    """In order of weight: what spoilt wood, what left it uneven or stressed, what cost time and power."""
    return [*_degrade(rows), *_quality(stacks), *_stress(rows.charge, stress), *_account(told), *_records(rows)]


def _degrade(rows: Rows) -> list[Advice]:
    """The worst stack of each kind."""
    latest = {(row.stack_id, row.kind): row.share_pct for row in rows.charge.degrade.all()}
    worst = {kind: max([share for (_, one), share in latest.items() if one == kind], default=0.0) for kind in BY_DEFECT}
    return [Advice(kind, share, BY_DEFECT[kind]) for kind, share in worst.items() if share >= NOTED_PCT]


def _quality(stacks: Sequence[Measured]) -> list[Advice]:
    good = [one.quality for one in stacks if one.quality]
    found = []
    widest = max((one.spread.sd_pct for one in good if one.spread), default=0.0)
    if widest > WIDE_SD_PCT:
        found.append(Advice("uneven", widest, "practice"))
    steepest = max(
        (one.gradient.mean_pct for one in good if one.gradient and one.gradient.verdict == "core_wet"), default=0
    )
    if steepest:
        found.append(Advice("core_wet", steepest, "practice"))
    lowest = min((one.spread.mean_pct - one.target_pct for one in good if one.spread), default=0.0)
    if lowest < -1.0:
        found.append(Advice("too_dry", -lowest, "counted"))
    highest = max((one.spread.mean_pct - one.target_pct for one in good if one.spread), default=0.0)
    if highest > 1.0:
        found.append(Advice("too_wet", highest, "counted"))
    return found


def _stress(charge: Charge, stress: StressFound) -> list[Advice]:
    by_verdict = {"case_hardened": "stressed", "reverse": "reverse"}
    code = by_verdict.get(stress.verdict)
    if code == "stressed" and not charge.kiln.humidifies:
        code = "stressed_dry"
    return [Advice(code, len(stress.tests), "recalled")] if code else []


def _account(told: Came) -> list[Advice]:
    codes = {"days": "slower", "electricity_kwh": "more_power"}
    more = [(codes.get(one.name), one.more_pct) for one in told.deviations]
    found = [Advice(code, far, "counted") for code, far in more if code and far is not None and far > MUCH_MORE_PCT]
    quicker = [far for code, far in more if code == "slower" and far is not None and far < -MUCH_MORE_PCT]
    return found + [Advice("quicker", -far, "counted") for far in quicker]


def _records(rows: Rows) -> list[Advice]:
    if rows.began is None or rows.ended is None:
        return []
    times = [rows.began, *(row.at for row in rows.records if rows.began < row.at < rows.ended), rows.ended]
    longest = max((late - early for early, late in pairwise(times)), default=timedelta(0))
    found = []
    if longest > LONG_UNSEEN:
        found.append(Advice("unseen", longest / timedelta(days=1), "practice"))
    hottest = max((row.dry_bulb_c for row in rows.records if row.dry_bulb_c is not None), default=None)
    allowed = max((step["dry_bulb_c"] for step in rows.charge.course.get("steps", [])), default=None)
    if hottest is not None and allowed is not None and hottest > allowed + HOTTER_K:
        found.append(Advice("too_hot", hottest - allowed, "counted"))
    return found
