"""By when to saw, so that the wood is dry on the day it is wanted: outdoors first, then the kiln where there is one."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import erf, log, sqrt

from yard.models import Place, PlaceKind, Species, Stack
from yard.outlook.climates import climate
from yard.outlook.finding import DRY_ENOUGH
from yard.outlook.sawing import SawLine
from yard.outlook.tools import Answer, Asked, drying_times_of, start_of

KILN_ENTRY_PCT = 20.0  # where no stack says otherwise: a new stack's own default
LOOK_BACK_DAYS = 1460
HOPELESS = 0.01  # a chance that is not worth telling: our own choice

Z = 1.2815515655446004  # of the normal distribution, one in ten
Month = tuple[float | None, float | None, float | None]
"""Days of wood stacked in it, by P10, P50 and P90; None where that is not within four years."""
Span = tuple[int, int, int]
"""Days by P10, P50 and P90."""


@dataclass(frozen=True, slots=True)
class KilnAsk:
    """Wood that goes into the kiln at a moisture, to come out at another, about a day."""

    species: Species
    thickness_mm: float
    from_pct: float
    to_pct: float
    about: date


KilnAnswer = Span | None
"""With the day between two charges; None where no kiln does it."""


def _no_kiln(asked: Sequence[KilnAsk]) -> list[KilnAnswer]:
    return [None for _ in asked]


class _Kiln:
    """Who tells how long the kiln takes: the yard itself knows none."""

    days: Callable[[Sequence[KilnAsk]], list[KilnAnswer]] = staticmethod(_no_kiln)


def kiln_takes(days: Callable[[Sequence[KilnAsk]], list[KilnAnswer]]) -> None:
    """From now on this says how long the kiln takes."""
    _Kiln.days = staticmethod(days)


@dataclass(frozen=True, slots=True)
class Wish:
    """Wood that shall be as dry as `target_pct` by a day; `no_kiln`: dry enough to go into one."""

    species: Species
    thickness_mm: float
    target_pct: float
    by: date
    no_kiln: bool = False


@dataclass(frozen=True, slots=True)
class SawDays:
    """How long wood takes that is sawn on `sawn`, and by when to saw it.

    `outdoors` None: nobody can say; `kiln` None: none is needed, or there is none. `saw_by` keeps the day nine times in
    ten, `even` as likely as not; None: no day of the last four years. `reachable_pct`: as dry as the place makes it;
    `to_pct`: as dry as it must become there.
    """

    sawn: date
    by: date
    outdoors: Span | None
    kiln: Span | None
    saw_by: date | None
    even: date | None
    to_pct: float
    reachable_pct: float | None

    @property
    def is_late(self) -> bool:
        return self.saw_by is None or self.saw_by < self.sawn

    @property
    def is_hopeless(self) -> bool:
        """Nobody can say, or nobody would bet on it."""
        return self.chance < HOPELESS

    @property
    def days(self) -> Span | None:
        return _both(self.outdoors, self.kiln)

    @property
    def ready(self) -> tuple[date, date] | None:
        """In the middle and nine times in ten."""
        return (
            (self.sawn + timedelta(days=self.days[1]), self.sawn + timedelta(days=self.days[2])) if self.days else None
        )

    @property
    def chance(self) -> float:
        """That wood sawn then is dry by the day, 0 to 1: its days are taken for lognormal on either side of the middle,
        as wide as their P10 and P90 say."""
        left = (self.by - self.sawn).days
        if self.days is None or left <= 0:
            return 0.0
        low, middle, high = (max(one, 1) for one in self.days)
        spread = log(middle / low) if left < middle else log(high / middle)
        return 0.5 * (1 + erf(Z * log(left / middle) / max(spread, 0.01) / sqrt(2)))


def usual_place() -> Place | None:
    """Where the wood that dries outdoors and was stacked last stands, or the first yard or shed with a climate."""
    wet = (
        Stack.objects.drying()
        .filter(place__given_up=False)
        .exclude(place__kind=PlaceKind.CLOSED_STORE)
        .select_related("place")
    )
    last = wet.order_by("-made_at", "-pk").first()
    if last and climate(last.place):
        return last.place
    places = [one for one in Place.objects.outdoors() if climate(one)]
    return next((one for one in places if one.kind != PlaceKind.CLOSED_STORE), places[0] if places else None)


def saw_days(
    wishes: Sequence[Wish], place: Place | None, sawn: date, *, today: date, entry_pct: float = KILN_ENTRY_PCT
) -> list[SawDays | None]:
    """For each wish; None without a place that has a climate. A fixed number of queries."""
    if place is None or climate(place) is None or not wishes:
        return [None for _ in wishes]
    kilns = _kiln_days(wishes, entry_pct)
    outdoors = [_outdoors_to(wish, kiln, entry_pct) for wish, kiln in zip(wishes, kilns, strict=True)]
    wet = [start_of(wish.species) for wish in wishes]
    asked = [
        Asked(wish.species, wish.thickness_mm, min(to_pct, start - 1))
        for wish, to_pct, start in zip(wishes, outdoors, wet, strict=True)
    ]
    distinct = list(dict.fromkeys(asked))
    times = dict(zip(distinct, drying_times_of(distinct, place, today=today), strict=True))
    return [
        _told(wish, kiln, one.target_pct, times[one], sawn)
        for wish, kiln, one in zip(wishes, kilns, asked, strict=True)
    ]


def days_of_lines(
    lines: Sequence[SawLine], place: Place | None, sawn: date, *, today: date, entry_pct: float = KILN_ENTRY_PCT
) -> list[SawDays | None]:
    """By when to saw each of these, and how long it takes; `saw_days`."""
    return saw_days([wish_of(one) for one in lines], place, sawn, today=today, entry_pct=entry_pct)


def wish_of(line: SawLine) -> Wish:
    return Wish(line.saw.species, line.saw.thickness_mm, line.need.target_pct, line.need.wanted_by)


def _kiln_days(wishes: Sequence[Wish], entry_pct: float) -> list[KilnAnswer]:
    """Of wishes that are drier than what goes into a kiln."""
    asks = {
        at: KilnAsk(wish.species, wish.thickness_mm, entry_pct, wish.target_pct, wish.by)
        for at, wish in enumerate(wishes)
        if not wish.no_kiln and wish.target_pct < entry_pct
    }
    found = dict(zip(asks, _Kiln.days(list(asks.values())), strict=True))
    return [found.get(at) for at in range(len(wishes))]


def _outdoors_to(wish: Wish, kiln: KilnAnswer, entry_pct: float) -> float:
    """How far it must dry outdoors; without a kiln as near to what is wanted as counts as dry."""
    if wish.no_kiln:
        return wish.target_pct
    return entry_pct if kiln else wish.target_pct + DRY_ENOUGH


def _told(wish: Wish, kiln: KilnAnswer, to_pct: float, answers: Sequence[Answer], sawn: date) -> SawDays:
    months = [(one.figures["p10"], one.figures["p50"], one.figures["p90"]) for one in answers]
    saw_by, even = _last_days(wish.by, sawn, months, kiln)
    return SawDays(
        sawn=sawn,
        by=wish.by,
        outdoors=_days(sawn, months),
        kiln=kiln,
        saw_by=saw_by,
        even=even,
        to_pct=to_pct,
        reachable_pct=answers[sawn.month - 1].figures["reachable"],
    )


def _last_days(by: date, sawn: date, months: Sequence[Month], kiln: KilnAnswer) -> tuple[date | None, date | None]:
    """The last days to saw on that keep a day nine times in ten, and as likely as not; they may be past."""
    even = None
    for ahead in range((by - sawn).days, -LOOK_BACK_DAYS, -1):
        day = sawn + timedelta(days=ahead)
        days = _both(_days(day, months), kiln)
        if days and even is None and day + timedelta(days=days[1]) <= by:
            even = day
        if days and day + timedelta(days=days[2]) <= by:
            return day, even
    return None, even


def _both(outdoors: Span | None, kiln: Span | None) -> Span | None:
    """The late days of both are added, as if what is slow outdoors were slow in the kiln too, and so the early ones."""
    if outdoors is None or kiln is None:
        return outdoors
    return outdoors[0] + kiln[0], outdoors[1] + kiln[1], outdoors[2] + kiln[2]


def _days(sawn: date, months: Sequence[Month]) -> Span | None:
    """Between what wood takes that is stacked in the middles of the months around a day."""
    low, middle, high = (_between(sawn, [one[which] for one in months]) for which in (0, 1, 2))
    return None if low is None or middle is None or high is None else (round(low), round(middle), round(high))


def _between(sawn: date, months: Sequence[float | None]) -> float | None:
    month, part = sawn.month - 1, (sawn.day - 15) / 30
    this, other = months[month], months[(month + (1 if part >= 0 else -1)) % 12]
    if this is None or other is None:
        return this
    return this + abs(part) * (other - this)
