"""What will serve a need: dry stock first, then stacks that dry, each with the day on which it will be dry enough."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from math import erf, sqrt

from django.db.models import Q

from yard.models import WASTED, MillFigures, Need, NeedLine, Reservation, Sawn, Stack, Unit
from yard.outlook.finding import DRY_ENOUGH
from yard.outlook.standing import Standing, State, lightly, standing, with_lines
from yard.outlook.tallies import dry_size

P90_SIGMAS = 1.2815515655446004  # of the normal distribution
Days = tuple[date, date]
"""The day that it is as likely before as after, and the one it is done by nine times in ten."""
Out = Mapping[int, tuple[date, date, float]]
"""By stack: the middle day out of the kiln, the late one, and what the charge dries to, %."""


def _no_kiln(stacks: Iterable[int]) -> Out:
    return {}


class _Kiln:
    """Who tells when stacks come out of a kiln, by their key: the yard itself knows no charges."""

    days_out: Callable[[Iterable[int]], Out] = staticmethod(_no_kiln)


def kiln_tells(days_out: Callable[[Iterable[int]], Out]) -> None:
    """From now on this says when stacks come out of the kiln."""
    _Kiln.days_out = staticmethod(days_out)


@dataclass(frozen=True, slots=True)
class Server:
    """A stack that could serve a line. `days` None: nobody can say when it is dry enough; `by_kiln`: a charge says it.

    `kept_m3` is reserved for this line, of it `sawn_m3` sawn to its size, which is `sawn_for` in the line's unit;
    `kept_else_m3` for others; `free_m3` the rest; all of green volume.
    """

    standing: Standing
    dry_mm: float | None
    is_dry: bool
    days: Days | None
    by_kiln: bool
    kept_m3: float
    sawn_m3: float
    sawn_for: float
    kept_else_m3: float
    free_m3: float

    @property
    def stack(self) -> Stack:
        return self.standing.stack

    def chance(self, day: date) -> float:
        """That it is dry enough by then: normal about the middle day, as wide as its P90 says."""
        return 1.0 if self.is_dry else _chance(self.days, day)


@dataclass(frozen=True, slots=True)
class Served:
    """A line with what is dry enough now and what is drying, the nearest first, by the mill's figures; `went`: what was
    reserved for it in stacks that were used since, and not as firewood."""

    line: NeedLine
    dry: list[Server]
    drying: list[Server]
    figures: MillFigures
    went: list[Reservation]

    @property
    def went_m3(self) -> float:
        return _volume(self.went)

    @property
    def serving(self) -> list[Server]:
        return [*self.dry, *self.drying]

    @property
    def kept(self) -> list[Server]:
        return [one for one in self.serving if one.kept_m3]

    @property
    def volume_m3(self) -> float:
        """Green volume that is kept for it or still free."""
        return sum(one.free_m3 + one.kept_m3 for one in self.serving)

    @property
    def green_m3(self) -> float:
        """The green volume that it takes, about; a line in m³ is of sawn wood already."""
        return self.line.volume_m3 / (1 if self.line.unit == Unit.CUBIC_METRES else self.figures.cut_yield)

    @property
    def lacking_m3(self) -> float:
        """What is neither kept for it nor went to it, of green volume; what was sawn to its size counts as so much of
        it."""
        to_cut = sum(one.kept_m3 - one.sawn_m3 for one in self.kept)
        to_cut += _volume(one for one in self.went if not one.sawn_for)
        sawn = sum(one.sawn_for for one in self.kept) + sum(one.sawn_for or 0.0 for one in self.went)
        to_size = min(sawn / self.line.quantity, 1.0)
        return max(self.green_m3 * (1 - to_size) - to_cut, 0.0)

    @property
    def is_enough(self) -> bool:
        return sum(one.free_m3 for one in self.serving) >= self.lacking_m3


@dataclass(frozen=True, slots=True)
class _Held:
    """What is asked of a stack again for each line."""

    standing: Standing
    volume_m3: float
    reservations: list[Reservation]
    days: dict[float, Days | None] = field(default_factory=dict)

    def outdoors(self, wanted_pct: float) -> Days | None:
        if wanted_pct not in self.days:
            self.days[wanted_pct] = _outdoors(self.standing, wanted_pct)
        return self.days[wanted_pct]


def _outdoors(stands: Standing, wanted_pct: float) -> Days | None:
    """When its forecast comes down to what is wanted without a kiln, if both its middle and its P90 do."""
    if not stands.is_under_way or stands.outlook is None:
        return None
    curve = stands.outlook.curve
    found = [_first_day(curve["day"], curve[name], wanted_pct + DRY_ENOUGH) for name in ("p50", "p90")]
    return (found[0], found[1]) if found[0] and found[1] else None


def serve(needs: Iterable[Need], on: date) -> dict[int, list[Served]]:
    """By need: its lines with their stacks, in one pass over the stacks of all the woods wanted. `with_lines`."""
    needs = list(needs)
    figures = MillFigures.current()
    stacks = Stack.objects.standing().filter(_thick_enough(needs, figures))
    rows = with_lines(lightly(stacks), stacks)
    reserved = _reserved()
    standings: dict[int, list[_Held]] = defaultdict(list)
    for stack in rows:
        held = _Held(standing(stack, on), stack.volume_m3, reserved[stack.pk])
        standings[stack.species_id].append(held)
    out = _Kiln.days_out([one.pk for one in rows]) if rows else {}
    return {need.pk: [_served(need, line, standings, out, figures) for line in need.lines.all()] for need in needs}


def _thick_enough(needs: Iterable[Need], figures: MillFigures) -> Q:
    """Of a wood that some line wants, and green as thick at least as that is with what is planed off."""
    found = Q(pk__in=())
    for line in (line for need in needs for line in need.lines.all()):
        least = line.thickness_mm + 2 * figures.planing_mm - 1e-6
        found |= Q(species__in=[one.pk for one in line.species.all()], thickness_mm__gte=least)
    return found


def _reserved() -> dict[int, list[Reservation]]:
    """By stack. What was kept for a need that is met is free again."""
    found: dict[int, list[Reservation]] = defaultdict(list)
    for one in Reservation.objects.filter(line__need__met_at=None):
        found[one.stack_id].append(one)
    return found


def _served(need: Need, line: NeedLine, standings: Mapping[int, list[_Held]], out: Out, figures: MillFigures) -> Served:
    near = [each for one in line.species.all() for each in standings.get(one.pk, ())]
    found = [one for each in near if (one := _server(need, line, each, out, figures))]
    found.sort(key=_nearest)
    went = [one for one in line.reservations.all() if one.stack.used_at and one.stack.left_as not in WASTED]
    return Served(line, [one for one in found if one.is_dry], [one for one in found if not one.is_dry], figures, went)


def _nearest(one: Server) -> tuple[bool, date, str]:
    """Those whose day is known before those that wait for a kiln, which go there in the order of their ready days."""
    ready = one.standing.outlook.ready_p50 if one.standing.outlook else None
    return one.days is None, one.days[0] if one.days else ready or date.max, one.stack.code


def _server(need: Need, line: NeedLine, held: _Held, out: Out, figures: MillFigures) -> Server | None:
    """Not meant for another, and thick enough when dried to what is wanted and planed on both faces."""
    stands, stack = held.standing, held.standing.stack
    if stack.set_aside_for not in ("", need.name) and stack.pk not in out:
        return None
    mine = [one for one in held.reservations if one.line_id == line.pk]
    sawn = [one for one in mine if one.sawn_for]
    is_for_it = any(one.sawn_for is not None for one in mine)
    dry_mm = _dry_mm(stack, need.target_pct, Sawn.FLAT if is_for_it else figures.sawn)
    if (dry_mm or stack.thickness_mm) - 2 * figures.planing_mm < line.thickness_mm:
        return None
    kept, kept_else = _volume(mine), _volume(one for one in held.reservations if one.line_id != line.pk)
    dry = _is_dry(stands, need.target_pct)
    by_kiln = not dry and stack.pk in out and out[stack.pk][2] <= need.target_pct + DRY_ENOUGH
    days = None if dry else out[stack.pk][:2] if by_kiln else held.outdoors(need.target_pct)
    sawn_for = sum(one.sawn_for or 0.0 for one in sawn)
    free = max(held.volume_m3 - kept - kept_else, 0.0)
    return Server(stands, dry_mm, dry, days, by_kiln, kept, _volume(sawn), sawn_for, kept_else, free)


def _volume(reservations: Iterable[Reservation]) -> float:
    return sum(one.volume_m3 for one in reservations)


def _dry_mm(stack: Stack, moisture_pct: float, sawn: str) -> float | None:
    """As thick as a board is sure to be when it is sawn as the mill does. What was sawn for a line by another grain is
    taken at its word: the thickest it can be."""
    size = dry_size(stack, moisture_pct)
    if size is None:
        return None
    if sawn == Sawn.MIXED:
        return (size.flat_sawn_mm + size.quarter_sawn_mm) / 2
    return size.flat_sawn_mm if sawn == Sawn.FLAT else size.quarter_sawn_mm


def _is_dry(stands: Standing, wanted_pct: float) -> bool:
    """By what it has now; a kiln-dried stack that nobody has read since by its target."""
    moisture = stands.moisture_pct
    if moisture is None and stands.state is State.DRIED:
        moisture = stands.stack.target_pct
    return moisture is not None and moisture <= wanted_pct + DRY_ENOUGH


def _first_day(days: list[int], values: list[float], at_most: float) -> date | None:
    return next((date.fromordinal(day) for day, one in zip(days, values, strict=True) if one <= at_most), None)


def _chance(days: Days | None, day: date) -> float:
    if days is None:
        return 0.0
    spread = max((days[1] - days[0]).days, 1) / P90_SIGMAS
    return 0.5 * (1 + erf(((day - days[0]).days + 0.5) / spread / sqrt(2)))
