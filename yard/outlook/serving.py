"""What will serve a need: dry stock first, then stacks that dry, each with the day on which it will be dry enough."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from django.db.models import Q

from drying import wood as relations
from yard.models import WASTED, MillFigures, Need, NeedLine, Reservation, Sawn, Stack, Unit
from yard.outlook.columns import Columns, columns_of
from yard.outlook.curves import NO_DAY
from yard.outlook.finding import DRY_ENOUGH
from yard.outlook.servers import Server, Servers

LAST = date.max.toordinal()
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
class Served:
    """A line with what could serve it, by the mill's figures; `went`: what was reserved for it in stacks that were used
    since, and not as firewood."""

    line: NeedLine
    servers: Servers
    figures: MillFigures
    went: list[Reservation]

    @property
    def went_m3(self) -> float:
        return _volume(self.went)

    @property
    def dry(self) -> list[Server]:
        """What is dry enough now. Of a large yard very many: `nearest` tells those of a page."""
        return self.servers.some(range(self.servers.dry))

    @property
    def drying(self) -> list[Server]:
        """The nearest first."""
        return self.servers.some(range(self.servers.dry, len(self.servers)))

    @property
    def serving(self) -> list[Server]:
        return self.servers.some(range(len(self.servers)))

    @property
    def count(self) -> int:
        return len(self.servers)

    def nearest(self, most: int, *, dry: bool) -> list[Server]:
        """Of those dry enough, or of those drying, so many, and all that are kept for it."""
        first, after = (0, self.servers.dry) if dry else (self.servers.dry, len(self.servers))
        beyond = first + most + np.flatnonzero(self.servers.kept_m3[first + most : after])
        return self.servers.some([*range(first, min(first + most, after)), *beyond.tolist()])

    def untouched(self, most: int) -> list[Server]:
        """The nearest of which nothing is kept for others."""
        return self.servers.some(np.flatnonzero(self.servers.kept_else_m3 == 0)[:most].tolist())

    def server_of(self, stack: int) -> Server | None:
        """Of a stack by its key."""
        place = self.servers.yard.places.get(stack)
        found = np.flatnonzero(self.servers.at == (-1 if place is None else place)).tolist()
        return self.servers.one(found[0]) if found else None

    @property
    def kept(self) -> list[Server]:
        return self.servers.some(np.flatnonzero(self.servers.kept_m3).tolist())

    @property
    def volume_m3(self) -> float:
        """Green volume that is kept for it or still free."""
        return float(self.servers.free_m3.sum() + self.servers.kept_m3.sum())

    @property
    def green_m3(self) -> float:
        """The green volume that it takes, about; a line in m³ is of sawn wood already."""
        return self.line.volume_m3 / (1 if self.line.unit == Unit.CUBIC_METRES else self.figures.cut_yield)

    @property
    def lacking_m3(self) -> float:
        """What is neither kept for it nor went to it, of green volume; what was sawn to its size counts as so much of
        it."""
        to_cut = float((self.servers.kept_m3 - self.servers.sawn_m3).sum())
        to_cut += _volume(one for one in self.went if not one.sawn_for)
        sawn = float(self.servers.sawn_for.sum()) + sum(one.sawn_for or 0.0 for one in self.went)
        to_size = min(sawn / self.line.quantity, 1.0)
        return max(self.green_m3 * (1 - to_size) - to_cut, 0.0)

    @property
    def is_enough(self) -> bool:
        return bool(self.servers.free_m3.sum() >= self.lacking_m3)


def serve(needs: Iterable[Need], on: date, among: Q | None = None) -> dict[int, list[Served]]:
    """By need: its lines with their stacks, in one pass over the stacks of all the woods wanted, or of those `among`
    them. `with_lines`."""
    needs = list(needs)
    figures = MillFigures.current()
    stacks = Stack.objects.standing().filter(_thick_enough(needs, figures))
    yard = columns_of(stacks if among is None else stacks.filter(among), on)
    out = _Kiln.days_out(yard.pks) if yard.pks else {}
    return {need.pk: [_served(need, line, yard, out, figures) for line in need.lines.all()] for need in needs}


def kept_for(needs: Iterable[Need]) -> Q:
    """The stacks of which something is kept for them: what a promise and what is lacking rest on."""
    return Q(pk__in=Reservation.objects.filter(line__need__in=[one.pk for one in needs]).values("stack"))


def _thick_enough(needs: Iterable[Need], figures: MillFigures) -> Q:
    """Of a wood that some line wants, and green as thick at least as that is with what is planed off."""
    thinnest: dict[int, float] = {}
    for line in (line for need in needs for line in need.lines.all()):
        least = line.thickness_mm + 2 * figures.planing_mm - 1e-6
        for wood in line.species.all():
            thinnest[wood.pk] = min(least, thinnest.get(wood.pk, least))
    by_size: dict[float, list[int]] = defaultdict(list)
    for pk, least in thinnest.items():
        by_size[least].append(pk)
    found = Q(pk__in=())
    for least, woods in by_size.items():
        found |= Q(species__in=woods, thickness_mm__gte=least)
    return found


def _served(need: Need, line: NeedLine, yard: Columns, out: Out, figures: MillFigures) -> Served:
    went = [one for one in line.reservations.all() if one.stack.used_at and one.stack.left_as not in WASTED]
    return Served(line, _servers(need, line, yard, out, figures), figures, went)


def _servers(need: Need, line: NeedLine, yard: Columns, out: Out, figures: MillFigures) -> Servers:
    """Not meant for another, and thick enough when dried to what is wanted and planed on both faces."""
    mine: dict[int, list[Reservation]] = defaultdict(list)
    for one in line.reservations.all() if need.met_at is None else ():
        if one.stack_id in yard.places:
            mine[yard.places[one.stack_id]].append(one)
    dry_mm = _dry_mm(yard, line, need.target_pct, figures, mine)
    thick = np.where(np.isnan(dry_mm), yard.thickness_mm, dry_mm) - 2 * figures.planing_mm >= line.thickness_mm
    at = np.flatnonzero(thick & _of_its_woods(yard, line) & _may_have(yard, need, out))
    is_dry = yard.dry_pct[at] <= need.target_pct + DRY_ENOUGH
    middle, late = (np.where(is_dry, NO_DAY, days[at]) for days in yard.outdoors(need.target_pct + DRY_ENOUGH))
    by_kiln = np.zeros(len(at), bool)
    for stack, (early, sure, to_pct) in out.items():
        n = _place(at, yard.places.get(stack))
        if n is not None and not is_dry[n] and to_pct <= need.target_pct + DRY_ENOUGH:
            by_kiln[n], middle[n], late[n] = True, early.toordinal(), sure.toordinal()
    kept = np.zeros((4, len(at)))  # for it, sawn for it, that in its unit, for others
    kept[3] = yard.taken_m3[at]
    for place, rows in mine.items():
        n = _place(at, place)
        if n is not None:
            sawn = [one for one in rows if one.sawn_for]
            other = max(kept[3, n] - _volume(rows), 0.0)
            kept[:, n] = _volume(rows), _volume(sawn), sum(one.sawn_for or 0.0 for one in sawn), other
    free = np.maximum(yard.volume_m3[at] - kept[0] - kept[3], 0.0)
    columns = (dry_mm[at], middle, late, by_kiln, *kept, free)
    nearest = _nearest(is_dry, middle, yard.ready[at])
    return Servers(yard, at[nearest], int(is_dry.sum()), *(column[nearest] for column in columns))


def _place(at: Any, place: int | None) -> int | None:
    """Where a place stands among places in their order."""
    n = int(np.searchsorted(at, -1 if place is None else place))
    return n if place is not None and n < len(at) and at[n] == place else None


def _of_its_woods(yard: Columns, line: NeedLine) -> Any:
    return np.isin(yard.species, [one.pk for one in line.species.all()])


def _may_have(yard: Columns, need: Need, out: Out) -> Any:
    """Set aside for nothing else, or on its way out of a kiln."""
    found = np.zeros(len(yard), bool)
    found[[*yard.aside.get("", ()), *yard.aside.get(need.name, ())]] = True
    found[[yard.places[stack] for stack in out if stack in yard.places]] = True
    return found


def _nearest(is_dry: Any, middle: Any, ready: Any) -> Any:
    """Those dry enough, then those whose day is known, then those that wait for a kiln, which go there in the order of
    their ready days; of equal ones by their codes."""
    is_unknown = middle == NO_DAY
    waits = np.where(ready == NO_DAY, LAST, ready)
    return np.lexsort((np.where(is_unknown, waits, middle), is_unknown, ~is_dry))


def _volume(reservations: Iterable[Reservation]) -> float:
    return sum(one.volume_m3 for one in reservations)


def _dry_mm(
    yard: Columns, line: NeedLine, moisture_pct: float, figures: MillFigures, mine: Mapping[int, list[Reservation]]
) -> Any:
    """As thick as a board is sure to be when it is sawn as the mill does. What was sawn for the line by another grain
    is taken at its word: the thickest it can be. NaN without shrinkage figures."""
    found = np.full(len(yard), np.nan)
    for wood in line.species.all():
        radial, tangential = wood.shrinkage_radial_pct, wood.shrinkage_tangential_pct
        own = np.flatnonzero(yard.species == wood.pk)
        if radial is None or tangential is None or not len(own):
            continue
        flat, quarter = (relations.shrunk_mm(yard.thickness_mm[own], one, moisture_pct) for one in (radial, tangential))
        ways = {Sawn.FLAT: flat, Sawn.MIXED: (flat + quarter) / 2}
        found[own] = ways.get(Sawn(figures.sawn), quarter)
        for place, rows in mine.items():
            n = _place(own, place) if any(one.sawn_for is not None for one in rows) else None
            if n is not None:
                found[own[n]] = flat[n]
    return found
