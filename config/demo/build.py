"""Building the whole demo mill in an empty database."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.contrib.auth import get_user_model
from django.utils import timezone

from config.demo import (
    charges,
    earlier_runs,
    finished,
    in_hand,
    mill,
    money,
    papers,
    promised,
    sensors,
    stacks,
    weather,
)
from config.demo.tags import next_tag
from yard import outlook

BLANK_TAGS = 16


def build(today: date, say: Callable[[str], Any]) -> None:
    """All rows of the demo mill, as of today. The database holds nothing but the species."""
    given = mill.read()
    mill.set_people(given["people"])
    owner = get_user_model().objects.get(username=given["people"][0]["username"])
    say("Places, kilns, needs ...")
    places = mill.make_mill(given, today, owner)
    weather.log_weather(places[given["weather_logged_in"]], today, owner)
    say("Stacks of last year, and what they taught ...")
    finished.make_finished(places, today, owner)
    say("Stacks and their readings ...")
    made = stacks.make_stacks(places, today, owner)
    outlook.refresh_missing()
    run_day = today - timedelta(days=charges.PLANNED_DAYS_AGO)
    stacks.add_readings(made, date.min, run_day, today, owner)
    say("Charges that were run, and one that is planned ...")
    run = charges.run_one(today, places["Dry store"], owner)
    if run is not None:
        papers.issue_two(run, owner)
    earlier_runs.run_all(places, places["Dry store"], today, owner)
    begun = today - timedelta(days=in_hand.BEGUN_DAYS_AGO)
    stacks.add_readings(made, run_day + timedelta(days=1), begun, today, owner)
    say("A run in hand ...")
    running = in_hand.begin(today, owner)
    if running is not None:
        sensors.listen(running, timezone.now())
    inside = set(running.stacks.values_list("stack", flat=True)) if running else set()
    outside = {stack: row for stack, row in made.items() if stack.pk not in inside}
    stacks.add_readings(outside, begun + timedelta(days=1), today, today, owner)
    charges.plan_one(today, owner)
    for _number in range(BLANK_TAGS):
        next_tag(owner)
    promised.promise_one(today, owner)
    money.keep_money(given, owner, timezone.now())
