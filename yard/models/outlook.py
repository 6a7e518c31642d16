import json
from bisect import bisect_left
from collections.abc import Iterable
from datetime import date
from math import exp
from typing import Any

from django.db import models
from django.db.models.functions import Cast

from yard.models.stack import Stack


class OutlookQuerySet(models.QuerySet["Outlook"]):
    """Each write tells the stacks, whose lists are ordered by it."""

    def bulk_create(self, objs: Iterable[Any], *args: Any, **kwargs: Any) -> list[Any]:
        made = super().bulk_create(objs, *args, **kwargs)
        Stack.objects.filter(pk__in=[one.stack_id for one in made]).note_forecasts()
        return made

    def delete(self) -> tuple[int, dict[str, int]]:
        keys = list(self.values_list("stack", flat=True))
        found = super().delete()
        if keys:
            Stack.objects.filter(pk__in=keys).note_forecasts()
        return found

    delete.alters_data = True  # type: ignore[attr-defined]

    def update(self, **kwargs: Any) -> int:
        told = kwargs.keys() & {"ready_p50", "never", "as_of", "loss_pct_per_day"}
        keys = list(self.values_list("stack", flat=True)) if told else []
        count = super().update(**kwargs)
        if keys:
            Stack.objects.filter(pk__in=keys).note_forecasts()
        return count

    update.alters_data = True  # type: ignore[attr-defined]

    def with_curve_as_text(self) -> "OutlookQuerySet":
        """Without what its lists do not show, the curve as text: reading that is most of what an outlook takes."""
        text = Cast("curve", models.TextField())
        return self.defer("curve", "chance", "unexpected").annotate(curve_text=text)


class Outlook(models.Model):
    """The forecast of one stack, kept until a reading, a move or a correction makes it anew.

    It depends on nothing but its inputs, not on today: what the wood has today is read off the curve. `curve` has
    lists of equal length: day (proleptic ordinal), p10, p50, p90 (% of oven-dry mass). `chance` has pairs of day and
    probability of being ready by then. `prior_log_mean` and `prior_log_sd` are what was known of ln(rate) before any
    reading of its own, from the book and from `learned_from` other stacks (empty in rows older than the
    learning). `reading_count` valid readings taught it, and `dried_at` is where it stood longest meanwhile.
    """

    stack = models.OneToOneField("yard.Stack", models.CASCADE, primary_key=True, related_name="outlook")
    as_of = models.DateField()
    ready_p10 = models.DateField(null=True)
    ready_p50 = models.DateField(null=True)
    ready_p90 = models.DateField(null=True)
    never = models.BooleanField(default=False)
    reachable_pct = models.FloatField()
    curve = models.JSONField()
    chance = models.JSONField()
    unexpected = models.JSONField(default=list)
    rate_log_mean = models.FloatField()
    rate_log_sd = models.FloatField()
    prior_log_mean = models.FloatField(null=True)
    prior_log_sd = models.FloatField(null=True)
    learned_from = models.PositiveIntegerField(default=0)
    reading_count = models.PositiveIntegerField(default=0)
    dried_at = models.ForeignKey("yard.Place", models.SET_NULL, null=True, related_name="+")
    loss_pct_per_day = models.FloatField(default=0)
    made_at = models.DateTimeField(auto_now=True, db_index=True)

    objects = OutlookQuerySet.as_manager()

    class Meta:
        indexes = [
            # the latest of those that teach are read off it, with each forecast that is made
            models.Index(
                fields=["-as_of", "stack", "reading_count"],
                condition=models.Q(dried_at__isnull=False),
                name="outlook_by_last_known",
            ),
        ]

    def __str__(self) -> str:
        return f"outlook of {self.stack_id}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        super().save(*args, **kwargs)
        Stack.objects.filter(pk=self.stack_id).note_forecasts()

    def refresh_from_db(self, using: Any = None, fields: Any = None, from_queryset: Any = None) -> None:
        """A curve that came along as text is read from that."""
        text = self.__dict__.get("curve_text")
        if text is not None and list(fields or ()) == ["curve"]:
            self.curve = json.loads(text)
        else:
            super().refresh_from_db(using, fields, from_queryset)

    @property
    def learned_factor(self) -> float | None:
        """How much faster than the book its forecast set out, by what other stacks taught; None when none did.

        The book is the species' rate as it is now.
        """
        if not self.learned_from or self.prior_log_mean is None:
            return None
        return exp(self.prior_log_mean) / float(self.stack.species.rate)

    def moisture_on(self, day: date) -> tuple[float, float, float]:
        """P10, P50, P90 of the stack's mean moisture (%) on a day: straight between points, the ends held."""
        days = self.curve["day"]
        at = min(max(day.toordinal(), days[0]), days[-1])
        after = bisect_left(days, at)
        before = max(after - 1, 0)
        span = days[after] - days[before]
        part = (at - days[before]) / span if span else 0.0

        def between(name: str) -> float:
            values = self.curve[name]
            return values[before] + part * (values[after] - values[before])

        return between("p10"), between("p50"), between("p90")
