"""Prices and costs a m³, as the owner gives them; and those of one stack."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.actions.money import COSTS
from yard.fields.numbers import NumberField, PriceField
from yard.measures.quantities import PRICE
from yard.measures.told import figure, round_m3
from yard.models import CostRates, Price, Species, Stack

MOST = 100_000


def _money(label: Any, unit: Any = "", **more: Any) -> NumberField:
    return PriceField(label=label, unit=unit, required=False, min_value=0, max_value=MOST, **more)


def _costs() -> dict[str, NumberField]:
    return {
        "log_per_m3": _money(_("Logs, per %(unit)s sawn")),
        "sawing_per_m3": _money(_("Sawing, per %(unit)s sawn")),
        "stacking_per_m3": _money(_("Stacking and care, per %(unit)s sawn")),
    }


class PricesForm(forms.Form):
    """Two prices a species, and the mill's usual costs; all may be left empty."""

    def __init__(self, data: Any = None, *, species: Sequence[Species], rates: CostRates, currency: str) -> None:
        super().__init__(data)
        self.species = species
        for name, field in _costs().items():
            field.unit = currency
            self.fields[name], self.initial[name] = field, getattr(rates, name)
        for one in species:
            price: Price | None = getattr(one, "price", None)
            for kind, words in (("dry", _("Kiln-dried")), ("green", _("Before that"))):
                self.fields[f"{kind}_{one.pk}"] = _money(words, currency)
                self.initial[f"{kind}_{one.pk}"] = price and getattr(price, f"{kind}_per_m3")

    def costs(self) -> list[Any]:
        return [self[name] for name in COSTS]

    def woods(self) -> list[tuple[Species, Any, Any]]:
        return [(one, self[f"dry_{one.pk}"], self[f"green_{one.pk}"]) for one in self.species]

    @property
    def prices(self) -> dict[Species, tuple[float | None, float | None]]:
        typed = self.cleaned_data
        return {one: (typed[f"dry_{one.pk}"], typed[f"green_{one.pk}"]) for one in self.species}


class StackCostsForm(forms.Form):
    """A stack's own costs; empty takes the mill's. Its round wood is typed in m³ for the whole stack."""

    round_m3 = NumberField(
        label=_("Round wood that it was sawn from"),
        unit="m³",
        required=False,
        min_value=0.001,
        max_value=1000,
        help_text=_("All its logs together; tells what this mill gets out of a log."),
    )

    def __init__(self, data: Any = None, *, stack: Stack, rates: CostRates, currency: str) -> None:
        super().__init__(data)
        self.stack, self.volume_m3 = stack, stack.volume_m3
        for name, field in _costs().items():
            field.unit = currency
            usual = getattr(rates, name)
            if usual is not None:
                field.help_text = _("Empty: the mill's, %(usual)s.") % {"usual": figure(usual, 2, PRICE, 2)}
            self.fields[name], self.initial[name] = field, getattr(stack, name)
        self.order_fields([*COSTS, "round_m3"])
        ratio = stack.round_m3_per_m3
        self.initial["round_m3"] = ratio and ratio * self.volume_m3

    def clean_round_m3(self) -> float | None:
        value: float | None = self.cleaned_data["round_m3"]
        if value is not None and self.volume_m3 > value:
            words = _("The stack alone has %(stack)s: its logs had more.")
            raise forms.ValidationError(words % {"stack": round_m3(self.volume_m3)})
        return value

    @property
    def figures(self) -> dict[str, float | None]:
        """As `actions.money.keep_costs` takes them; round wood left as it stands keeps its ratio to the last digit."""
        typed = self.cleaned_data
        ratio = typed["round_m3"] / self.volume_m3 if typed["round_m3"] and self.volume_m3 else None
        if "round_m3" not in self.changed_data:
            ratio = self.stack.round_m3_per_m3
        return {name: typed[name] for name in COSTS} | {"round_m3_per_m3": ratio}
