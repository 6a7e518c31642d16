"""The sawing list: what needs lack and what the next charge lacks, the most pressing first."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from kilnruns.models import Plan
from kilnruns.planning.days import work_days
from yard import outlook
from yard.models import MillFigures, Need, Place, Species

FEW = 5  # rows that surely fit on a page with all that is said of them, on A4 and Letter
LOOK_AHEAD_DAYS = 60


@dataclass(frozen=True, slots=True)
class Gap:
    """What would fill a charge that a plan proposes: in which kiln, by which day; `is_next`: the very next charge."""

    kiln: int
    by: date
    is_next: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One thing to saw: for a need's line or for a charge's gap; `when` None: no place has a climate."""

    saw: outlook.ToSaw
    logs: outlook.Logs
    line: outlook.SawLine | None = None
    gap: Gap | None = None
    when: outlook.SawDays | None = None

    @property
    def key(self) -> str:
        """The same as long as the same is to be sawn for the same."""
        size = f"{self.saw.thickness_mm}-{self.saw.width_mm or 0}-{self.saw.length_mm or 0}-{self.saw.pieces or 0}"
        return f"line-{self.line.line.pk}-{size}" if self.line else f"kiln-{self.gap and self.gap.kiln}-{size}"


@dataclass(frozen=True, slots=True)
class SawList:
    """`too_late`: what charges lack and what can't be dry in time if it is sawn on `sawn`."""

    needs: list[Row]
    gaps: list[Row]
    too_late: list[Row]
    sawn: date

    @property
    def is_long(self) -> bool:
        """On paper the chances are left out, so that it stays on one page."""
        return len(self.needs) + len(self.gaps) > FEW


def next_mill_day(today: date) -> date:
    """The first day from tomorrow on which the mill works, as it does for loading kilns. Two queries."""
    first = today + timedelta(days=1)
    works = work_days(first, LOOK_AHEAD_DAYS)
    return first + timedelta(days=works.index(True) if True in works else 0)


def saw_list(*, today: date, sawn: date, place: Place | None, figures: MillFigures) -> SawList:
    """For wood that is sawn on a day and stacked in a place, out of the logs and by the grain of `figures`. A fixed
    number of queries, whatever the yard's size."""
    lines = outlook.saw_lines(outlook.wanted(Need.objects.open().with_lines(), today), today, figures)
    gaps = _gaps(today)
    wishes = [outlook.wish_of(one) for one in lines] + [
        outlook.SawWish(saw.species, saw.thickness_mm, outlook.KILN_ENTRY_PCT, gap.by, no_kiln=True)
        for saw, gap in gaps
    ]
    days = outlook.saw_days(wishes, place, sawn, today=today)
    rows = [Row(one.saw, _logs(one.saw, figures), line=one, when=when) for one, when in zip(lines, days, strict=False)]
    more = [
        Row(saw, _logs(saw, figures), gap=gap, when=when)
        for (saw, gap), when in zip(gaps, days[len(lines) :], strict=True)
    ]
    late = [one for one in more if one.when and one.when.is_hopeless]
    return SawList(sorted(rows, key=_pressing), [one for one in more if one not in late], late, sawn)


def _pressing(row: Row) -> tuple[bool, date, int]:
    """By the last day to saw; what nobody can say comes last."""
    known = row.when is not None and row.when.ready is not None
    day = (row.when.saw_by if row.when else None) or date.min
    return not known, day, row.line.line.pk if row.line else 0


def _logs(saw: outlook.ToSaw, figures: MillFigures) -> outlook.Logs:
    return outlook.logs_for(saw, figures.log_diameter_mm, figures.log_length_m, figures.log_yield)


def _gaps(today: date) -> list[tuple[outlook.ToSaw, Gap]]:
    """Of the plan in force: what its next charge lacks, then what would make another; three queries."""
    plan = Plan.objects.in_force()
    if plan is None:
        return []
    ahead = plan.proposals.filter(charge=None, start_on__gte=today).order_by("start_on", "pk")
    first = ahead.values_list("extra", flat=True).first() or {}
    told = [(one, True) for one in first.get("missing", [])]
    told += [(one, False) for one in plan.notes.get("missing", [])]
    woods = {one.kept_name: one for one in Species.objects.filter(name__in=[one.get("species") for one, _ in told])}
    found = [(_to_saw(one, woods), Gap(int(one["kiln"]), date.fromisoformat(one["by"]), is_next))
             for one, is_next in told if one.get("species") in woods]  # fmt: skip
    return [(saw, gap) for saw, gap in found if gap.by >= today]


def _to_saw(one: dict[str, Any], woods: dict[str, Species]) -> outlook.ToSaw:
    wood, volume = woods[one["species"]], float(one["volume_m3"])
    return outlook.ToSaw(wood, round(one["thickness_mm"]), None, None, None, volume, volume)
