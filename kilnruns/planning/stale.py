"""What has changed since a plan was made, and what in it that touches; nothing is solved for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from kilnruns.models import Plan, ProposalStack
from kilnruns.planning.basis import basis
from yard.models import Reading, Stack

SOONER_DAYS = 3  # so much earlier a stack that was not in the plan is worth a word; a choice
SHOWN = 3
SAME_M3 = 0.002  # volumes that differ by less are the same tally


@dataclass(frozen=True, slots=True)
class Shift:
    """A stack whose ready day moved; `start_on` is when the plan would start the charge it is in."""

    stack: Any
    was: date | None
    now: date | None
    start_on: date | None = None


@dataclass(frozen=True, slots=True)
class Since:
    """Since `plan` was made: readings; stacks that would go in too wet; ones ready sooner than the plan thought; how
    many came, left, or were measured anew; charges, kilns, needs, rules, fixings that changed; proposed starts
    that passed."""

    plan: Plan
    readings: int
    too_wet: tuple[Shift, ...]
    sooner: tuple[Shift, ...]
    added: int
    gone: int
    measured: int
    charges: int
    kilns: int
    needs: int
    rules: int
    fixings: int
    missed: tuple[date, ...]

    @property
    def is_wrong(self) -> bool:
        """The plan can't be carried out as it stands."""
        return any((self.too_wet, self.gone, self.measured, self.charges, self.kilns))

    @property
    def matters(self) -> bool:
        """Whether planning anew could give another plan."""
        told = (self.too_wet, self.sooner, self.added, self.gone, self.measured, self.charges, self.kilns)
        return any(told) or bool(self.needs or self.rules or self.fixings or self.missed)


def since(plan: Plan, on: date) -> Since | None:
    """Sixteen queries at most, whatever the yard's size. None for a plan that did not keep what it was made from."""
    if plan.read_at is None or not plan.basis:
        return None
    old, new = plan.basis, basis(plan.careful)
    shares = list(_shares(plan))
    late, early = _shifts(old["stacks"], new["stacks"], shares, on)
    stacks = {stack.code: stack for stack in _named([*late, *early])}
    accepted = {str(one["proposal__charge"]) for one in shares if one["proposal__charge"]}
    taken = {one["stack__code"] for one in shares if one["proposal__charge"]}
    return Since(
        plan=plan,
        readings=Reading.objects.valid().filter(made_at__gt=plan.read_at).count(),
        too_wet=tuple(Shift(stacks[code], *row) for code, *row in late if code in stacks),
        sooner=tuple(Shift(stacks[code], *row) for code, *row in early if code in stacks),
        added=len(set(new["stacks"]) - set(old["stacks"]) - _parts(taken)),
        gone=len({one["stack__code"] for one in shares if _is_open(one, on)} - set(new["stacks"])),
        measured=_measured(old["stacks"], new["stacks"], shares),
        charges=_charges(old["charges"], new["charges"], accepted, on),
        kilns=_different(old["kilns"], new["kilns"]),
        needs=_different(old["needs"], new["needs"]),
        rules=_different(old["rules"], new["rules"]) if "rules" in old else 0,
        fixings=_different(old["fixings"], new["fixings"]) if "fixings" in old else 0,
        missed=tuple(sorted({one["proposal__start_on"] for one in shares if _is_missed(one, on)})),
    )


def _shares(plan: Plan) -> Any:
    rows = ProposalStack.objects.filter(proposal__plan=plan).order_by("proposal__start_on", "stack__code")
    return rows.values("stack__code", "volume_m3", "proposal__start_on", "proposal__charge")


def _is_open(share: Mapping[str, Any], on: date) -> bool:
    return share["proposal__charge"] is None and share["proposal__start_on"] >= on


def _is_missed(share: Mapping[str, Any], on: date) -> bool:
    return share["proposal__charge"] is None and share["proposal__start_on"] < on


def _named(shifts: list[tuple[Any, ...]]) -> Any:
    return Stack.objects.filter(code__in=[one[0] for one in shifts]).select_related("species")


def _parts(taken: set[str]) -> set[str]:
    """The parts split off for an accepted charge have tags of their own, and are no news when it is called off."""
    return set(Stack.objects.filter(split_from__code__in=taken).values_list("code", flat=True))


def _shifts(
    old: Mapping[str, Any], new: Mapping[str, Any], shares: list[dict[str, Any]], on: date
) -> tuple[list[tuple[Any, ...]], list[tuple[Any, ...]]]:
    """Those too late for the charge they are in, and those that are ready much sooner and in none: the worst first."""
    starts: dict[str, date] = {}
    for share in shares:
        if _is_open(share, on):
            starts.setdefault(share["stack__code"], share["proposal__start_on"])
    both = [(code, _day(old[code][0]), _day(row[0])) for code, row in new.items() if code in old]
    changed = [one for one in both if one[1] != one[2]]
    late = [(*one, starts[one[0]]) for one in changed if one[0] in starts and _is_after(one[2], starts[one[0]])]
    within = plan_end(shares, on)
    early = [(*one, None) for one in changed if one[0] not in starts and _is_sooner(one[1], one[2], within)]
    late.sort(key=lambda one: (one[3], one[0]))
    early.sort(key=lambda one: (one[2], one[0]))
    return late[:SHOWN], early[:SHOWN]


def plan_end(shares: list[dict[str, Any]], on: date) -> date:
    """Until when a stack that is ready sooner can matter: the last start proposed, or four weeks from now."""
    return max([on + timedelta(days=28), *(share["proposal__start_on"] for share in shares)])


def _is_after(ready: date | None, start: date) -> bool:
    return ready is None or ready > start


def _is_sooner(was: date | None, now: date | None, within: date) -> bool:
    return now is not None and now <= within and (was is None or (was - now).days >= SOONER_DAYS)


def _day(iso: str | None) -> date | None:
    return date.fromisoformat(iso) if iso else None


def _measured(old: Mapping[str, Any], new: Mapping[str, Any], shares: list[dict[str, Any]]) -> int:
    """Stacks whose volume, thickness or target is another; what accepted proposals took of them is no change."""
    taken: dict[str, float] = {}
    for share in shares:
        if share["proposal__charge"]:
            taken[share["stack__code"]] = taken.get(share["stack__code"], 0.0) + share["volume_m3"]
    both = [(old[code], row, taken.get(code, 0.0)) for code, row in new.items() if code in old]
    return sum(
        was[2:] != now[2:] or min(abs(was[1] - now[1]), abs(was[1] - part - now[1])) > SAME_M3
        for was, now, part in both
    )


def _charges(old: Mapping[str, Any], new: Mapping[str, Any], accepted: set[str], on: date) -> int:
    """Charges made elsewhere, on other days than thought, ended before their time, or overdue in their kiln."""
    made = set(new) - set(old) - accepted
    shifted = {key for key in set(new) & set(old) if new[key] != old[key]}
    overdue = {key for key in set(new) & set(old) if _end(old[key]) < on}
    freed = {key for key in set(old) - set(new) if _end(old[key]) > on + timedelta(days=1)}
    return len(made | shifted | overdue | freed)


def _end(charge: Any) -> date:
    return date.fromisoformat(charge[1]) + timedelta(days=charge[2])


def _different(old: Mapping[str, Any], new: Mapping[str, Any]) -> int:
    return sum(old.get(key) != new.get(key) for key in set(old) | set(new))
