"""Watches of a stack outdoors that the lists leave out: frozen wood is told on its own page alone."""

from datetime import date

import pytest
from django.template.loader import render_to_string

from tests.factories import OutlookFactory, PlaceFactory, StackFactory
from yard import outlook

pytestmark = pytest.mark.django_db
JANUARY, JUNE = date(2025, 1, 20), date(2025, 6, 20)
COLD = [-9.0, -7.0, 0.0, 7.0, 14.0, 19.0, 21.0, 20.0, 15.0, 9.0, 1.0, -6.0]


def frozen_on(day: date, moisture: float) -> list[str]:
    place = PlaceFactory(temperatures_c=COLD, humidities_pct=[75.0] * 12)
    stack = StackFactory(place=place)
    days = [day.toordinal() - 30, day.toordinal() + 30]
    OutlookFactory(stack=stack, curve={"day": days, **{name: [moisture] * 2 for name in ("p10", "p50", "p90")}})
    assert "frozen" not in [one["code"] for one in outlook.watches(stack, day)]
    return [one["code"] for one in outlook.frost_watches(stack, day)]


def test_wet_wood_in_frost_is_told_on_its_page() -> None:
    assert frozen_on(JANUARY, 60) == ["frozen"]


def test_not_in_summer_nor_dry() -> None:
    assert frozen_on(JUNE, 60) == []
    assert frozen_on(JANUARY, 20) == []


def test_the_words() -> None:
    figures = {"moisture_pct": 60.0, "temperature_c": -8.0, "frozen_days": 14.0}
    watch = {"code": "frozen", "level": "mind", "figures": figures, "changes": ()}
    said = render_to_string("yard/_watch.html", {"watch": watch, "stack": None})
    assert "It stands frozen and hardly dries" in said
    assert "dries too fast" not in said
