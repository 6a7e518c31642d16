"""Help in place: the figures' words, how to read right, and a guide whose steps follow what the yard's rows say."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories import PlaceFactory, ReadingFactory, SpeciesFactory, StackFactory
from yard import firstday
from yard.explained import EXPLAINED
from yard.models import Tag

pytestmark = pytest.mark.django_db


def done() -> list[bool]:
    return [step.is_done for step in firstday.steps()]


def test_the_help_page_explains_every_figure_with_its_source(signed_in: Client) -> None:
    page = signed_in.get(reverse("help"))
    assert len(EXPLAINED) >= 8
    for one in EXPLAINED.values():
        for words in (one.name, one.means, one.source, one.sure):
            assert str(words) in page.content.decode().replace("&#x27;", "'")


def test_a_stack_s_page_explains_its_figures_and_a_reading_s_how_to_take_it(signed_in: Client) -> None:
    stack = StackFactory()
    told = signed_in.get(f"/stacks/{stack.code}/readings/new/?method=oven_dry").content.decode()
    assert "EN 13183-1" in told
    assert "EN 13183-2" not in told
    assert "EN 13183-2" in signed_in.get(f"/stacks/{stack.code}/readings/new/?method=pins").content.decode()


def test_the_first_day_s_steps_are_told_from_the_rows() -> None:
    assert done() == [False] * 5
    PlaceFactory(temperatures_c=[], humidities_pct=[])
    assert done()[0] is False, "without a climate there is no forecast"
    SpeciesFactory()
    PlaceFactory()
    assert done() == [True, True, False, False, False]
    Tag.objects.create(code="6QF27MAB7K", made_at="2026-03-01T08:00Z")
    assert done() == [True, True, True, False, False]
    stack = StackFactory()
    assert done() == [True, True, True, True, False]
    ReadingFactory(stack=stack)
    assert done() == [True] * 5
    assert firstday.guide().next is None


def test_the_guide_ends_with_the_first_reading(signed_in: Client) -> None:
    stack = StackFactory()
    assert "Take the first reading" in signed_in.get("/").content.decode()
    ReadingFactory(stack=stack)
    assert "Your first day" not in signed_in.get("/").content.decode()
    assert "Done." in signed_in.get(reverse("first_day")).content.decode()
