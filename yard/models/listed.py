"""By what lists of a large yard are read off an index: partial conditions, and what a stack's forecast says."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.apps import apps
from django.db import models
from django.utils import timezone

STANDING = models.Q(used_at=None, joined_into=None)
DRYING = STANDING & models.Q(kiln_dried_on=None)
DRIED = STANDING & models.Q(kiln_dried_on__isnull=False)


THICKNESSES = """
    WITH RECURSIVE sizes(mm) AS (
        SELECT min(thickness_mm) FROM yard_stack WHERE joined_into_id IS NULL
        UNION ALL
        SELECT (SELECT min(thickness_mm) FROM yard_stack WHERE joined_into_id IS NULL AND thickness_mm > mm)
        FROM sizes WHERE mm IS NOT NULL
    )
    SELECT mm FROM sizes WHERE mm IS NOT NULL"""


class Forecast(models.IntegerChoices):
    """What a stack's forecast says, as the lists are ordered by it."""

    NONE = 0
    DATED = 1
    LATE = 2
    NEVER = 3


def kilns() -> Any:
    return apps.get_model("yard", "Place").objects.filter(kind="kiln").values("pk")


def read_since(before: date) -> models.Exists:
    """Read on a day after that one. By moments, since an index knows no days."""
    morning = timezone.make_aware(datetime.combine(before + timedelta(days=1), time.min))
    readings = apps.get_model("yard", "Reading").objects.filter(stack=models.OuterRef("pk"), voided_at=None)
    return models.Exists(readings.filter(taken_at__gte=morning))
