"""What kiln runs cost a m³ of each stack: for the yard, which knows no charges."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from kilnruns.closing.account import came
from kilnruns.closing.rows import charges, finished, powered, rows_of
from kilnruns.models import ChargeStack
from yard.models import Stack


def kiln_per_m3(stacks: Iterable[int]) -> Mapping[int, float]:
    """By stack that went through a finished run, or was split off one that did since: that run's whole cost by m³ of
    its load, work included where it was noted; several runs add up. A fixed number of queries."""
    wanted = set(stacks)
    origin = _origins(wanted)
    through = ChargeStack.objects.filter(stack__in={*origin.values()}, charge__unloaded_at__isnull=False)
    by_charge: dict[int, set[int]] = defaultdict(set)
    for charge, stack in through.values_list("charge", "stack"):
        by_charge[charge].add(stack)
    if not by_charge:
        return {}
    cost: dict[int, float] = defaultdict(float)
    for rows in powered(rows_of(charge) for charge in charges().filter(finished(), pk__in=by_charge)):
        account = came(rows)
        if account is not None:
            for stack in by_charge[rows.charge.pk]:
                cost[stack] += account.bill.per_m3
    return {pk: cost[first] for pk, first in origin.items() if first in cost}


def _origins(wanted: set[int]) -> dict[int, int]:
    """Each stack to itself where it went through a kiln, else to the stack that it was split off and that did."""
    went = set(ChargeStack.objects.filter(charge__unloaded_at__isnull=False).values_list("stack", flat=True))
    parents = dict(
        Stack.objects.filter(split_from__isnull=False, kiln_dried_on__isnull=False).values_list("pk", "split_from")
    )
    found = {}
    for pk in wanted:
        first: int | None = pk
        while first is not None and first not in went:
            first = parents.get(first)
        if first is not None:
            found[pk] = first
    return found
