"""Numbers out of range are told the range that there is, in words of our own."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator
from django.utils.formats import get_format
from django.utils.translation import gettext_lazy as _

WORDS = {
    "both": _("Give a number from %(least)s to %(most)s."),
    "min_value": _("Give a number of at least %(limit)s."),
    "max_value": _("Give a number of at most %(limit)s."),
}


def written(bound: float) -> str:
    """As many decimals as a bound needs to be kept to."""
    size = abs(bound)
    decimals = 0 if float(bound).is_integer() or size >= 1000 else 3 if size < 0.1 else 2 if size < 10 else 1
    figure = f"{bound:.{decimals}f}"
    figure = figure.rstrip("0").rstrip(".") if decimals else figure
    return figure.replace("-", "−").replace(".", get_format("DECIMAL_SEPARATOR"))


class Limited(forms.Field):
    """A mixin. A field's own words for `min_value` and `max_value` may name %(limit)s, and go before ours."""

    def limit(self, bound: float, *, bare: bool = False) -> str:
        """A bound as it is told; without its unit where `bare` and it has one."""
        return written(bound)

    def run_validators(self, value: Any) -> None:
        try:
            super().run_validators(value)
        except ValidationError as error:
            raise ValidationError([self._told(one) for one in error.error_list]) from None

    def _told(self, error: ValidationError) -> ValidationError:
        params = error.params or {}
        if error.code not in WORDS or not isinstance(params.get("limit_value"), int | float):
            return error
        least, most = self._bound(MinValueValidator, max), self._bound(MaxValueValidator, min)
        kind, shown = error.code, {"limit": self.limit(params["limit_value"])}
        if least is not None and most is not None:
            kind = "both"
            shown |= {"least": self.limit(least, bare=True), "most": self.limit(most)}
        message = self.error_messages.get(error.code) or WORDS[kind]
        return ValidationError(message, error.code, params | shown)

    def _bound(self, kind: type[BaseValidator], tightest: Callable[[list[float]], float]) -> float | None:
        """What all of this field's validators of a kind come to; None where it has none."""
        limits = [one.limit_value for one in self.validators if isinstance(one, kind)]
        return tightest([limit() if callable(limit) else limit for limit in limits]) if limits else None


class LimitedIntegerField(Limited, forms.IntegerField):
    """How many of something that has no unit."""
