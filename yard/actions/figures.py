"""The mill's own figures of sawing and cutting: kept, or the usual ones again."""

from datetime import datetime
from typing import Any

from django.db import transaction

from yard.changes import MILL, Watched, keeps
from yard.models import MillFigures


def _of_figures(**_given: Any) -> Watched:
    return Watched([MILL], [MillFigures.objects.all()])


@transaction.atomic
@keeps("figures_changed", _of_figures)
def keep_figures(*, figures: MillFigures, by: Any, at: datetime) -> None:
    """Needs, cut plans and the sawing list go by them."""
    figures.save()


@transaction.atomic
@keeps("figures_changed", _of_figures)
def take_usual_figures(*, by: Any, at: datetime) -> None:
    """Those that are common practice hold again."""
    MillFigures.objects.all().delete()
