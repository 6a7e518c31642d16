"""What the kiln was set to, one spell after another: steps, steaming, equalising, conditioning, as it was noted."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from kilnruns.closing.noted_air import emc_of
from kilnruns.closing.rows import Rows
from kilnruns.models import Phase, RunRecord


@dataclass(frozen=True, slots=True)
class Spell:
    """From `day` of the run (0: its start) for so many hours; `step` is 0 outside drying.

    The means of the air that people noted in it, dry bulb in °C and EMC in %, are None where none was noted.
    """

    phase: str
    step: int
    day: float
    hours: float
    dry_bulb_c: float | None
    emc_pct: float | None


def spells(rows: Rows) -> tuple[Spell, ...]:
    """Empty where nobody noted a setting. Two records of one setting in a row are one spell."""
    if rows.began is None or rows.ended is None:
        return ()
    set_at = [one for one in _changes(rows.records) if one.at <= rows.ended]
    ends = [*(one.at for one in set_at), rows.ended][1:]
    altitude_m = rows.charge.kiln.place.altitude_m
    return tuple(
        _spell(one, end, rows.began, _noted(rows.records, one.at, end), altitude_m)
        for one, end in zip(set_at, ends, strict=True)
    )


def _changes(records: Sequence[RunRecord]) -> list[RunRecord]:
    found: list[RunRecord] = []
    for one in records:
        if one.phase and (not found or _setting(one) != _setting(found[-1])):
            found.append(one)
    return found


def _setting(record: RunRecord) -> tuple[str, int]:
    return record.phase, (record.step or 0) if record.phase == Phase.DRYING else 0


def _noted(records: Sequence[RunRecord], begin: datetime, end: datetime) -> list[RunRecord]:
    """What was read after the setting, the visit that ends it included: it finds the air of the spell before."""
    return [one for one in records if begin < one.at <= end and one.dry_bulb_c is not None]


def _spell(set_at: RunRecord, end: datetime, began: datetime, noted: Sequence[RunRecord], altitude_m: float) -> Spell:
    phase, step = _setting(set_at)
    return Spell(
        phase=phase,
        step=step,
        day=(set_at.at - began) / timedelta(days=1),
        hours=(end - set_at.at) / timedelta(hours=1),
        dry_bulb_c=_mean([one.dry_bulb_c for one in noted if one.dry_bulb_c is not None]),
        emc_pct=_mean([found for one in noted if (found := emc_of(one, altitude_m)) is not None]),
    )


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None
