"""What wood is worth and what it cost: the mill's figures, a stack's own, and those of two stacks laid together."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from yard.changes import MILL, Watched, keeps, rows_of_stacks
from yard.models import CostRates, Event, Price, Species, Stack, log

COSTS = ("log_per_m3", "sawing_per_m3", "stacking_per_m3")
OWN = (*COSTS, "round_m3_per_m3")


@transaction.atomic
@keeps("prices_kept", lambda **_given: Watched([MILL], [Price.objects.all(), CostRates.objects.all()]))
def keep_prices(
    *, prices: Mapping[Species, tuple[float | None, float | None]], rates: Mapping[str, Any], by: Any, at: datetime
) -> None:
    """By species what a m³ is worth kiln-dried and before that (both None takes its price away); the mill's costs."""
    for species, (dry, green) in prices.items():
        if dry is None and green is None:
            Price.objects.filter(species=species).delete()
        else:
            Price.objects.update_or_create(species=species, defaults={"dry_per_m3": dry, "green_per_m3": green})
    CostRates.objects.update_or_create(pk=1, defaults={name: rates[name] for name in COSTS})


@transaction.atomic
@keeps("stack_costs_kept", lambda stack, **_given: rows_of_stacks([stack]))
def keep_costs(*, stack: Stack, figures: Mapping[str, float | None], by: Any, at: datetime) -> None:
    """A stack's own costs a m³ and its round wood a m³ sawn, where they differ from what was kept."""
    changed = {name: figures[name] for name in OWN if figures[name] != getattr(stack, name)}
    if not changed:
        return
    told = {name: [_told(getattr(stack, name)), _told(new)] for name, new in changed.items()}
    for name, new in changed.items():
        setattr(stack, name, new)
    stack.save(update_fields=list(changed))
    log([stack], Event.Kind.CORRECTED, at=at, by=by, changes=told)


def _told(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def share_costs(stack: Stack, into: Stack) -> None:
    """Before a stack's boards are laid on another: the mean of both by volume, where either has its own.

    Where one has none of its own the mill's figure stands for it; where that is not said either, the other's counts.
    """
    rates, weights = CostRates.current(), (into.volume_m3, stack.volume_m3)
    for name in OWN:
        pair = [getattr(one, name) for one in (into, stack)]
        if pair != [None, None]:
            usual = getattr(rates, name, None)
            known = [usual if one is None else one for one in pair]
            setattr(into, name, _mean(known, weights))
    into.save(update_fields=list(OWN))


def _mean(values: list[float | None], weights: tuple[float, float]) -> float | None:
    known = [(value, weight) for value, weight in zip(values, weights, strict=True) if value is not None and weight]
    total = sum(weight for _value, weight in known)
    return sum(value * weight for value, weight in known) / total if total else None
