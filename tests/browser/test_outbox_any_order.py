"""Whatever is recorded, in whatever order, over whatever connection: applied once, in order for each stack."""

import random
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.browser.outbox_pages import KEEP, in_store
from tests.factories import PlaceFactory, StackFactory
from yard.models import Event, Reading, Receipt

FATES = ["pass", "request lost", "answer lost", "503", "500"]
WEIGHTS = [5, 1, 2, 1, 1]
TRIES = 300
SEND = """async () => {
  const { sendAll } = await import("/static/js/outbox.js");
  return sendAll();
}"""


@pytest.mark.parametrize("seed", [1, 2])
def test_each_thing_is_applied_once(visit, live_server, losses, owner, seed):
    chance = random.Random(seed)
    stacks = [StackFactory() for _ in range(3)]
    places = [PlaceFactory(name=f"Row {number}") for number in range(3)]
    losses.decide = lambda request: chance.choices(FATES, WEIGHTS)[0]
    page = visit()
    page.goto("/waiting/")
    tabs = [page, visit(page)]
    tabs[1].goto("/waiting/")
    things = chance.sample(deeds(chance, stacks, places), k=16)
    begin = timezone.now() - timedelta(hours=1)
    left = [{**thing, "takenAt": (begin - timedelta(minutes=at)).isoformat()} for at, thing in enumerate(things)]
    kept: list[dict[str, Any]] = []  # the last of those left is the oldest, and recorded first
    for _ in range(TRIES):
        tab = chance.choice(tabs)
        if left and chance.random() < 0.5:
            some = [left.pop() for _ in range(min(len(left), chance.randint(1, 4)))]
            again = chance.sample(kept, k=min(len(kept), chance.randint(0, 2)))  # the same record once more
            keys = tab.evaluate(KEEP, [str(owner.pk), [*some, *again]])
            kept += [{**thing, "key": key} for thing, key in zip(some, keys, strict=False)]
        tab.evaluate(SEND)
        if not left and not in_store(tab):
            break
    assert in_store(page) == []
    assert not any(note["sortOut"] for note in in_store(page, "arrived"))
    assert Receipt.objects.count() == len(things)
    assert_applied_once(stacks, kept)


def deeds(chance, stacks, places):
    """More than are done: readings that differ in their value, moves, each as its form sends it."""
    found = []
    for number in range(30):
        stack, place = chance.choice(stacks), chance.choice(places)
        path, fields = chance.choice(
            [
                ("readings/new/", [["method", "pins"], ["values", str(10 + number / 4)]]),
                ("note/", [["note", f"note {number}"]]),
                ("move/", [["place", str(place.pk)]]),
            ]
        )
        found.append({"path": f"/stacks/{stack.code}/{path}", "fields": fields, "subject": stack.code})
    return found


def assert_applied_once(stacks, kept):
    for stack in stacks:
        mine = [thing for thing in kept if thing["subject"] == stack.code]
        values = [float(thing["fields"][1][1]) for thing in mine if "readings" in thing["path"]]
        notes = [thing["fields"][0][1] for thing in mine if "note" in thing["path"]]
        moves = [int(thing["fields"][0][1]) for thing in mine if "move" in thing["path"]]
        assert [found.raw[0] for found in Reading.objects.filter(stack=stack).order_by("pk")] == values
        noted = stack.events.filter(kind=Event.Kind.NOTED).order_by("pk")
        assert [event.details["text"] for event in noted] == notes
        stack.refresh_from_db()
        assert stack.place_id == (moves[-1] if moves else stack.place_id)
