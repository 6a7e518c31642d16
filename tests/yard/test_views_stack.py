"""The page of one stack."""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from tests.factories import (
    BoardFactory,
    KilnPlaceFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
)
from tests.yard.queries import queries_of
from yard.models import Outlook, WoodPart

pytestmark = pytest.mark.django_db


def day(ahead):
    return timezone.localdate() + timedelta(days=ahead)


def curve(*figures):
    """A curve that stays at P10, P50, P90."""
    low, middle, high = figures
    days = [day(-200).toordinal(), day(400).toordinal()]
    return {"day": days, "p10": [low] * 2, "p50": [middle] * 2, "p90": [high] * 2}


def page(client, stack):
    answer = client.get(f"/stacks/{stack.code}/")
    assert answer.status_code == 200
    return answer.content.decode().replace("\u202f", " ")


def test_the_figure_comes_first_with_band_and_age_then_when_and_how_sure(signed_in):
    stack = StackFactory()
    ReadingFactory(stack=stack, taken_at=timezone.now() - timedelta(days=4))
    ready = {"ready_p10": day(4), "ready_p50": day(9), "ready_p90": day(17)}
    OutlookFactory(stack=stack, curve=curve(22.4, 23.8, 25.3), **ready)
    text = page(signed_in, stack)
    places = [
        text.index(words)
        for words in (
            "23.8 %</span>",
            "22.4 to 25.3 %",
            "read 4 days ago",
            "Ready about",
            "four times in five",
            '<svg class="curve"',
        )
    ]
    assert places == sorted(places)
    assert "The same as a table" in text


def test_the_links_of_all_that_can_be_done_are_there(signed_in):
    stack = StackFactory()
    text = page(signed_in, stack)
    for path in (
        "readings/new",
        "move",
        "edit",
        "split",
        "join",
        "use",
        "retag",
        "photos",
        "boards",
        "samples",
        "history",
    ):
        assert f'href="/stacks/{stack.code}/{path}/"' in text
    assert f'href="/stacks/{stack.code}/label.pdf"' in text


def test_a_code_in_small_letters_finds_it(signed_in):
    assert signed_in.get(f"/stacks/{StackFactory().code.lower()}/").status_code == 200


def test_a_stack_without_a_forecast_gets_one_when_looked_at(signed_in):
    stack = StackFactory(cut_on=day(-60), kiln_entry_pct=20)
    assert "Ready" in page(signed_in, stack)
    assert Outlook.objects.get(stack=stack).reachable_pct < 20


def test_a_target_below_what_the_place_allows_is_said_with_the_figure(signed_in):
    stack = StackFactory(kiln_entry_pct=8)
    OutlookFactory(stack=stack, never=True, reachable_pct=14, ready_p10=None, ready_p50=None, ready_p90=None)
    text = page(signed_in, stack)
    assert "Can&#x27;t reach 8 % here" in text
    assert "This place allows 14 % at best" in text


@pytest.mark.parametrize(
    ("ready", "words"),
    [
        ((None, None, None), "Not ready within two years"),
        ((90, None, None), "one time in ten"),
        ((90, 120, None), "the late end is open"),
        ((-30, -10, -2), "At 20 % since about"),
        ((-30, -10, 20), "nine times in ten by"),
        ((-30, -10, None), "but not surely"),
    ],
)
def test_an_open_or_passed_end_of_the_band_is_said_in_words(signed_in, ready, words):
    stack = StackFactory()
    days = [None if ahead is None else day(ahead) for ahead in ready]
    OutlookFactory(stack=stack, **dict(zip(("ready_p10", "ready_p50", "ready_p90"), days, strict=True)))
    assert words in page(signed_in, stack)


def test_a_place_without_climate_asks_for_one(signed_in):
    place = PlaceFactory(temperatures_c=[], humidities_pct=[])
    text = page(signed_in, StackFactory(place=place))
    assert "No forecast yet" in text
    assert f'href="/places/{place.pk}/"' in text


def test_wet_sapwood_in_warm_damp_air_is_warned_of_with_what_to_do(signed_in):
    damp = PlaceFactory(temperatures_c=[18] * 12, humidities_pct=[90] * 12)
    wet = {"curve": curve(50, 55, 60)}
    stack = StackFactory(place=damp)
    OutlookFactory(stack=stack, **wet)
    text = page(signed_in, stack)
    assert "Stain and mould can grow here now" in text
    assert "give it air" in text
    heartwood = StackFactory(place=damp, wood_part=WoodPart.HEARTWOOD)
    OutlookFactory(stack=heartwood, **wet)
    assert "Stain" not in page(signed_in, heartwood)


def test_wood_that_dries_faster_than_it_bears_is_warned_of_with_what_to_do(signed_in):
    dry = PlaceFactory(temperatures_c=[25] * 12, humidities_pct=[40] * 12)
    falling = curve(50, 60, 70) | {"day": [day(-1).toordinal(), day(9).toordinal()], "p50": [60, 40]}  # 2 % a day
    slow = StackFactory(place=dry, species=SpeciesFactory(safe_rate_pct_per_day=1.5))
    OutlookFactory(stack=slow, curve=falling)
    text = page(signed_in, slow)
    assert "It dries too fast" in text
    assert "shade it" in text
    bears_it = StackFactory(place=dry, species=SpeciesFactory(safe_rate_pct_per_day=9))
    OutlookFactory(stack=bears_it, curve=falling)
    assert "too fast" not in page(signed_in, bears_it)


def test_a_reading_shows_what_was_typed_and_what_it_was_corrected_to(signed_in):
    reading = ReadingFactory(raw=[24.1, 22.6], corrected_pct=[25.2, 23.7], notes=["above_usable_range"])
    text = page(signed_in, reading.stack)
    assert "24.1  22.6" in text
    assert "25.2" in text
    assert "Above about 30 % a meter says little" in text
    assert f"/readings/{reading.pk}/void/" in text


def test_a_voided_reading_stays_with_its_reason_and_does_not_count(signed_in):
    when = timezone.now() - timedelta(days=2)
    stack = ReadingFactory(taken_at=when, voided_at=when, void_reason="Taken at another stack").stack
    text = page(signed_in, stack)
    assert "Voided: Taken at another stack" in text
    assert "not read yet" in text


def test_a_fresh_surprising_reading_is_asked_about_and_an_old_one_only_marked(signed_in):
    fresh = ReadingFactory(taken_at=timezone.now() - timedelta(days=3))
    OutlookFactory(stack=fresh.stack, unexpected=[fresh.pk])
    text = page(signed_in, fresh.stack)
    assert "is a surprise" in text
    assert "surprising" in text
    old = ReadingFactory(taken_at=timezone.now() - timedelta(days=90))
    OutlookFactory(stack=old.stack, unexpected=[old.pk])
    text = page(signed_in, old.stack)
    assert "is a surprise" not in text
    assert "surprising" in text


def test_recalled_figures_are_said_to_be_recalled(signed_in):
    species = SpeciesFactory(sources={"basic_density_kg_m3": {"text": "a handbook", "from_memory": True}})
    assert "recalled figures" in page(signed_in, StackFactory(species=species))
    assert "recalled figures" not in page(signed_in, StackFactory())


def test_mass_water_and_dry_size_are_those_of_the_tally(signed_in):
    stack = StackFactory(kiln_entry_pct=20, target_pct=8)  # 0.648 m³ of 400 kg/m³, shrinking 4 and 8 %
    OutlookFactory(stack=stack, curve=curve(28, 30, 32))
    text = page(signed_in, stack)
    for words in ("337 kg", "57 kg", "25.4–26.2 mm", "0.65 m³", "275"):
        assert words in text


def test_in_the_kiln_and_after_it_the_yards_forecast_rests(signed_in):
    in_kiln = StackFactory(place=KilnPlaceFactory(name="Warm box"))
    OutlookFactory(stack=in_kiln)
    text = page(signed_in, in_kiln)
    assert "In Warm box" in text
    assert 'svg class="curve"' not in text
    assert "Kiln-dried on" in page(signed_in, StackFactory(kiln_dried_on=day(-5)))


def test_dry_stock_shows_what_was_read_since_against_what_it_was_dried_for(signed_in):
    stack = StackFactory(kiln_dried_on=day(-9), target_pct=8)
    ReadingFactory(stack=stack, taken_at=timezone.now() - timedelta(days=2), corrected_pct=[8.6])
    text = page(signed_in, stack)
    assert "8.6 %</span>" in text
    assert "target 8 %" in text


def test_a_used_or_joined_stack_offers_nothing_to_do_but_its_history(signed_in):
    used = StackFactory(used_at=datetime(2025, 8, 1, tzinfo=UTC), used_for="the barn door")
    text = page(signed_in, used)
    assert "For: the barn door." in text
    assert "Record a reading" not in text
    into = StackFactory()
    joined = StackFactory(joined_into=into)
    assert f'href="/stacks/{into.code}/"' in page(signed_in, joined)


def test_three_and_thirty_readings_and_boards_take_the_same_queries(signed_in):
    few, many = StackFactory(), StackFactory()
    for stack, count in ((few, 3), (many, 30)):
        OutlookFactory(stack=stack)
        for _number in range(count):
            ReadingFactory(stack=stack)
            BoardFactory(stack=stack)
    assert queries_of(signed_in, f"/stacks/{few.code}/") == queries_of(signed_in, f"/stacks/{many.code}/")


def test_a_code_of_no_stack_is_not_found(signed_in):
    assert signed_in.get("/stacks/22222222XX/").status_code == 404


def test_who_is_not_signed_in_is_asked_to_and_comes_back_here(db):
    answer = Client().get(f"/stacks/{StackFactory().code}/")
    assert answer.status_code == 302
    assert "next=/stacks/" in answer.url


def test_with_the_list_beside_it_a_stack_takes_the_same_queries_for_three_and_for_thirty(signed_in):
    one = StackFactory()
    StackFactory.create_batch(2)
    path = f"/stacks/{one.code}/?beside=on"
    signed_in.get(path)  # forecasts are made once
    few = queries_of(signed_in, path)
    StackFactory.create_batch(27)
    signed_in.get(path)
    assert queries_of(signed_in, path) == few


def test_the_list_beside_a_stack_keeps_its_filter(signed_in):
    one, other = StackFactory(thickness_mm=27), StackFactory(thickness_mm=52)
    page = signed_in.get(f"/stacks/{one.code}/?beside=on&thickness=27").content.decode()
    assert f'href="/stacks/{one.code}/?beside=on&amp;thickness=27" aria-current="page"' in page
    assert f"/stacks/{other.code}/" not in page
    assert 'class="list' not in signed_in.get(f"/stacks/{one.code}/").content.decode()
