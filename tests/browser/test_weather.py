"""A weather sheet pasted on the phone: what was taken, what was not and why, and the log by month."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.utils import timezone
from playwright.sync_api import Page

from config.demo.weather import log_weather
from tests.factories import OutlookFactory, PlaceFactory

SHEET = """date;temperature;humidity;rain
3.5.2025;14,2;70;1,5
4.5.2025;mild;81;0
5.5.2025;12,8;0,7;
6.5.2025;12,8;81;much
7/5/2025;11;80;
"""


def test_a_sheet_is_taken_told_and_shown(
    signed_in: Page,
    owner: Any,
    looked_at: Callable[[Page, str], None],
) -> None:
    today = timezone.localdate()
    place = PlaceFactory(name="Long shed")
    OutlookFactory(stack__place=place, stack__cut_on=today - timedelta(days=100))
    log_weather(place, today, owner)
    signed_in.goto(f"/places/{place.pk}/weather/")
    looked_at(signed_in, "weather_log")
    signed_in.get_by_text("How the rows must look").click()
    signed_in.get_by_label("Or paste the rows here").fill(SHEET)
    signed_in.get_by_label("Or paste the rows here").scroll_into_view_if_needed()
    looked_at(signed_in, "weather_form")
    signed_in.get_by_role("button", name="Take these days").click()
    signed_in.get_by_text("2 days taken").wait_for()
    assert signed_in.get_by_label("Or paste the rows here").input_value().count("\n") == 3
    looked_at(signed_in, "weather_taken")
    signed_in.goto(f"/places/{place.pk}/")
    signed_in.get_by_text("Change this place").click()
    looked_at(signed_in, "weather_place")
