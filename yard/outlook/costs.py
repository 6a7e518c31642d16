"""What stacks have cost so far: logs, sawing, stacking, and the kiln, of which others tell."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from yard.models import CostRates, Stack


def _no_kiln(stacks: Iterable[int]) -> Mapping[int, float]:
    return {}


class _Kiln:
    """Who tells what kiln runs cost a m³, by stack: the yard itself knows no charges."""

    per_m3: Callable[[Iterable[int]], Mapping[int, float]] = staticmethod(_no_kiln)


def kiln_costs_told_by(per_m3: Callable[[Iterable[int]], Mapping[int, float]]) -> None:
    """From now on this says what the kiln cost a m³ as tallied, by the stack's key."""
    _Kiln.per_m3 = staticmethod(per_m3)


class HasCosts(Protocol):
    """A stack, or a row of its own costs alone."""

    @property
    def log_per_m3(self) -> float | None: ...
    @property
    def sawing_per_m3(self) -> float | None: ...
    @property
    def stacking_per_m3(self) -> float | None: ...


@dataclass(frozen=True, slots=True)
class CostSoFar:
    """In the mill's currency, of a whole stack; None where nobody said."""

    volume_m3: float
    log: float | None
    sawing: float | None
    stacking: float | None
    kiln: float | None

    @classmethod
    def of(cls, stack: HasCosts, volume_m3: float, rates: CostRates, kiln_per_m3: float | None) -> "CostSoFar":
        """By the stack's own costs a m³, or the mill's where it has none."""

        def part(own: float | None, usual: float | None) -> float | None:
            rate = usual if own is None else own
            return None if rate is None else rate * volume_m3

        return cls(
            volume_m3=volume_m3,
            log=part(stack.log_per_m3, rates.log_per_m3),
            sawing=part(stack.sawing_per_m3, rates.sawing_per_m3),
            stacking=part(stack.stacking_per_m3, rates.stacking_per_m3),
            kiln=part(kiln_per_m3, None),
        )

    @property
    def total(self) -> float | None:
        known = [one for one in (self.log, self.sawing, self.stacking, self.kiln) if one is not None]
        return sum(known) if known else None

    @property
    def per_m3(self) -> float | None:
        return self.total / self.volume_m3 if self.total is not None and self.volume_m3 else None


def cost_so_far(stack: Stack) -> CostSoFar:
    """A stack whose lines are at hand; what the mill's costs and the kiln's runs ask for besides."""
    return CostSoFar.of(stack, stack.volume_m3, CostRates.current(), kiln_per_m3([stack.pk]).get(stack.pk))


def kiln_per_m3(stacks: Iterable[int]) -> Mapping[int, float]:
    """What kiln runs cost a m³, for the stacks that went through one, by key."""
    return _Kiln.per_m3(stacks)
