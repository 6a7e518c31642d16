"""Taking and voiding a reading."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import BoardFactory, OutlookFactory, PlaceFactory, ReadingFactory, StackFactory
from yard.models import Event, Method, Outlook, Reading, SampleBoard

pytestmark = pytest.mark.django_db


@pytest.fixture
def stack():
    return StackFactory(cut_on=timezone.localdate() - timedelta(days=60), place=PlaceFactory(temperatures_c=[12] * 12))


def post(client, stack, **data):
    return client.post(f"/stacks/{stack.code}/readings/new/", {"method": "pins", **data})


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def test_values_with_comma_and_point_are_kept_raw_and_corrected(signed_in, stack, user):
    answer = post(signed_in, stack, values="24,1 22.6  25 ", wood_temperature_c="5")
    assert answer.status_code == 302
    assert answer.url == f"/stacks/{stack.code}/"
    reading = Reading.objects.get()
    assert reading.raw == [24.1, 22.6, 25.0]
    assert reading.made_by == user
    # wood colder than the meter's 20 °C reads too dry (FPL-GTR-6 figure 5)
    assert all(after > before + 1 for before, after in zip(reading.raw, reading.corrected_pct, strict=True))
    assert reading.moisture_pct == pytest.approx(sum(reading.corrected_pct) / 3, abs=0.01)
    assert stack.events.get().kind == Event.Kind.READ


def test_the_answer_says_what_was_kept_and_what_was_expected(signed_in, stack):
    signed_in.get(f"/stacks/{stack.code}/")  # makes the forecast
    low, middle, high = stack.outlook.moisture_on(timezone.localdate())
    answer = post(signed_in, stack, values=f"{middle:.1f} {middle:.1f}", wood_temperature_c="20", follow=True)
    text = text_of(signed_in.get(answer.url))
    assert "mean of 2." in text
    assert "Expected: " in text
    assert low < middle < high


def test_a_reading_moves_the_forecast(signed_in, stack):
    signed_in.get(f"/stacks/{stack.code}/")
    before = Outlook.objects.get()
    post(signed_in, stack, values="18 18 19", wood_temperature_c="20")
    after = Outlook.objects.get()
    assert after.as_of == timezone.localdate() > before.as_of
    assert after.ready_p50 < before.ready_p50


def test_a_reading_far_off_is_kept_marked_and_asked_about(signed_in, stack):
    post(signed_in, stack, method="oven_dry", wet_1="52.0", dry_1="40.0")
    answer = post(signed_in, stack, method="oven_dry", wet_1="100.0", dry_1="40.0")
    assert answer.status_code == 302
    surprise = Reading.objects.order_by("pk").last()
    assert surprise.pk in Outlook.objects.get().unexpected
    text = text_of(signed_in.get(answer.url))
    assert "That is far from the" in text
    assert "is a surprise" in text


def test_without_a_temperature_the_seasons_mean_stands_in_and_is_said(signed_in, stack):
    post(signed_in, stack, values="20")
    post(signed_in, stack, values="20", wood_temperature_c="12")
    assumed, measured = Reading.objects.order_by("pk")
    assert assumed.wood_temperature_c is None
    assert assumed.moisture_pct == pytest.approx(measured.moisture_pct, abs=0.1)
    assert "temperature_assumed" in assumed.notes
    assert "wood temperature not taken" in text_of(signed_in.get(f"/stacks/{stack.code}/")).lower()


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ("", "Type at least one value"),
        ("241", "was it 24.1?"),
        ("22 2", "less than any meter shows"),
        ("24.1.3", "is no number"),
        ("wet", "is no number"),
        (" ".join(["20"] * 61), "more than the 60"),
    ],
)
def test_an_implausible_value_is_refused_at_its_field_and_what_was_typed_stays(signed_in, stack, values, words):
    answer = post(signed_in, stack, values=values, wood_temperature_c="7")
    assert answer.status_code == 422
    text = text_of(answer)
    assert words in text
    assert 'value="7"' in text
    assert not values.strip() or f'value="{values.strip()}"' in text
    assert not Reading.objects.exists()


@pytest.mark.parametrize(("degrees", "words"), [("64", "is it °F?"), ("-30", "colder than"), ("warm", "number")])
def test_an_implausible_temperature_is_refused(signed_in, stack, degrees, words):
    answer = post(signed_in, stack, values="20", wood_temperature_c=degrees)
    assert answer.status_code == 422
    assert words in text_of(answer)


def test_a_capacitance_meter_asks_for_no_temperature(signed_in, stack):
    text = text_of(signed_in.get(f"/stacks/{stack.code}/readings/new/?method=capacitance"))
    assert "Wood temperature" not in text
    post(signed_in, stack, method="capacitance", values="14 15")
    assert Reading.objects.get().corrected_pct == [14, 15]


def test_oven_dry_sections_give_their_moisture(signed_in, stack):
    post(signed_in, stack, method="oven_dry", wet_1="65,3", dry_1="42,0", wet_3="60", dry_3="40")
    reading = Reading.objects.get()
    assert reading.raw == [[65.3, 42.0], [60, 40]]
    assert reading.corrected_pct == [pytest.approx(55.48), 50]  # (wet - dry) / dry, EN 13183-1


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({}, "Weigh at least one section"),
        ({"wet_1": "50"}, "The other mass of this section is missing"),
        ({"wet_1": "40", "dry_1": "50"}, "are the two swapped?"),
        ({"wet_1": "400", "dry_1": "40"}, "900 % moisture"),
        ({"wet_1": "x", "dry_1": "40"}, "Enter a number"),
    ],
)
def test_sections_that_no_wood_has_are_refused(signed_in, stack, data, words):
    answer = post(signed_in, stack, method="oven_dry", **data)
    assert answer.status_code == 422
    assert words in text_of(answer)


def sample(stack, label, dry_g):
    made_on = stack.cut_on
    return SampleBoard.objects.create(
        stack=stack, label=label, green_mass_g=dry_g * 1.8, oven_dry_mass_g=dry_g, made_on=made_on
    )


def test_sample_boards_give_the_moisture_of_those_weighed(signed_in, stack):
    first, second = sample(stack, "A", 1000), sample(stack, "B", 2000)
    sample(stack, "C", 1500)
    masses = {f"mass_{first.pk}": "1300", f"mass_{second.pk}": "2500"}
    post(signed_in, stack, method="sample_board", **masses)
    reading = Reading.objects.get()
    assert reading.sample_labels == ["A", "B"]
    assert reading.corrected_pct == [30, 25]  # mass / oven-dry mass - 1, USDA AH-188 ch. 6


@pytest.mark.parametrize(
    ("mass", "words"), [("", "Weigh at least one board"), ("900", "Lighter than"), ("4000", "Too heavy")]
)
def test_masses_that_the_board_cant_have_are_refused(signed_in, stack, mass, words):
    board = sample(stack, "A", 1000)
    answer = post(signed_in, stack, method="sample_board", **{f"mass_{board.pk}": mass})
    assert answer.status_code == 422
    assert words in text_of(answer)


def test_without_sample_boards_the_way_to_one_is_shown(signed_in, stack):
    text = text_of(signed_in.get(f"/stacks/{stack.code}/readings/new/?method=sample_board"))
    assert f'href="/stacks/{stack.code}/samples/"' in text


def test_the_method_the_setting_and_the_temperature_of_the_last_reading_are_offered(signed_in, stack):
    assert 'aria-current="true">Pins' in text_of(signed_in.get(f"/stacks/{stack.code}/readings/new/"))
    post(signed_in, stack, values="20", wood_temperature_c="11", meter_set_to="european_beech")
    text = text_of(signed_in.get(f"/stacks/{StackFactory().code}/readings/new/"))
    assert 'value="11"' in text
    assert '<option value="european_beech" selected>' in text
    post(signed_in, stack, method="oven_dry", wet_1="50", dry_1="40")
    assert 'aria-current="true">Oven-dry' in text_of(signed_in.get(f"/stacks/{stack.code}/readings/new/"))


def test_a_reading_of_another_day_is_kept_at_that_day(signed_in, stack):
    day = timezone.localdate() - timedelta(days=9)
    post(signed_in, stack, values="40", taken_on=day.isoformat())
    assert timezone.localtime(Reading.objects.get().taken_at).date() == day


@pytest.mark.parametrize(("ahead", "words"), [(2, "still to come"), (-90, "The wood was sawn on")])
def test_a_day_to_come_or_before_the_sawing_is_refused(signed_in, stack, ahead, words):
    day = timezone.localdate() + timedelta(days=ahead)
    answer = post(signed_in, stack, values="40", taken_on=day.isoformat())
    assert answer.status_code == 422
    assert words in text_of(answer)


def test_a_board_with_its_own_tag_can_be_what_was_read(signed_in, stack):
    board = BoardFactory(stack=stack)
    assert "selected" in text_of(signed_in.get(f"/stacks/{stack.code}/readings/new/?board={board.code}"))
    post(signed_in, stack, values="30", board=board.pk)
    assert Reading.objects.get().board == board


def test_another_stacks_board_is_refused(signed_in, stack):
    BoardFactory(stack=stack)
    answer = post(signed_in, stack, values="30", board=BoardFactory().pk)
    assert answer.status_code == 422


def test_a_stack_that_is_gone_takes_no_reading(signed_in):
    gone = StackFactory(used_at=timezone.now())
    assert post(signed_in, gone, values="20").status_code == 404


def test_a_reading_is_voided_with_a_reason_and_the_forecast_forgets_it(signed_in, stack, user):
    post(signed_in, stack, values="18", wood_temperature_c="20")
    reading = Reading.objects.get()
    answer = signed_in.post(f"/readings/{reading.pk}/void/", {"why": "stack", "words": "the ash beside it"})
    assert answer.url == f"/stacks/{stack.code}/"
    reading.refresh_from_db()
    assert reading.void_reason == "Taken at another stack: the ash beside it"
    assert reading.voided_by == user
    assert Outlook.objects.get().as_of == stack.cut_on
    assert stack.events.first().kind == Event.Kind.VOIDED


@pytest.mark.parametrize(
    ("data", "words"), [({}, "Choose one"), ({"why": "other"}, "Say in a few words"), ({"why": "x"}, "valid choice")]
)
def test_voiding_without_a_reason_is_refused(signed_in, data, words):
    reading = ReadingFactory()
    answer = signed_in.post(f"/readings/{reading.pk}/void/", data)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert Reading.objects.valid().exists()


def test_a_reading_is_voided_once(signed_in):
    reading = ReadingFactory(voided_at=timezone.now(), void_reason="Mistyped")
    assert "voided already" in text_of(signed_in.get(f"/readings/{reading.pk}/void/"))
    assert signed_in.post(f"/readings/{reading.pk}/void/", {"why": "spot"}).status_code == 422
    reading.refresh_from_db()
    assert reading.void_reason == "Mistyped"


def test_no_such_reading_is_not_found(signed_in):
    assert signed_in.get("/readings/12345/void/").status_code == 404


def test_methods_are_those_of_the_model(signed_in, stack):
    OutlookFactory(stack=stack)
    text = text_of(signed_in.get(f"/stacks/{stack.code}/readings/new/"))
    assert all(f"?method={method}" in text for method in Method.values)
    assert "expected 1" in text
