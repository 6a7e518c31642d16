"""Places and their climate."""

import pytest

from tests.factories import KilnPlaceFactory, OutlookFactory, PlaceFactory, StackFactory
from tests.yard.queries import queries_of
from yard import outlook
from yard.models import Outlook, Place

pytestmark = pytest.mark.django_db

MONTHS = range(1, 13)


def typed(temperatures=(0, 1, 5, 9, 14, 17, 19, 18, 14, 9, 4, 1), humidities=(80,) * 12):
    months = {f"temperature_{month}": f"{temperatures[month - 1]}" for month in MONTHS}
    return months | {f"humidity_{month}": f"{humidities[month - 1]}" for month in MONTHS}


def new(client, **data):
    return client.post("/places/new/", {"name": "Long shed", "kind": "roofed_shed", "preset": "typed", **data})


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def test_a_place_takes_a_packaged_climate(signed_in):
    preset = outlook.climate_presets()[0]
    answer = new(signed_in, preset=preset.key)
    place = Place.objects.get()
    assert answer.url == f"/places/{place.pk}/"
    assert place.temperatures_c == list(preset.temperatures_c)
    assert place.humidities_pct == list(preset.humidities_pct)
    assert "invented" in place.climate_note


def test_a_place_takes_twelve_months_typed_with_comma_or_point(signed_in):
    new(signed_in, **typed() | {"temperature_1": "-0,5", "humidity_2": "81.5"}, altitude_m="420")
    place = Place.objects.get()
    assert place.temperatures_c[:2] == [-0.5, 1]
    assert place.humidities_pct[1] == 81.5
    assert place.altitude_m == 420


def test_its_page_shows_what_the_air_holds_wood_at_in_each_month_and_at_best(signed_in):
    # 21.1 °C and 65 % hold wood at 12.0 % (Wood Handbook table 4-2); a closed store would be reckoned drier
    place = PlaceFactory(kind="open_yard", temperatures_c=[21.1] * 12, humidities_pct=[65] * 12)
    text = text_of(signed_in.get(f"/places/{place.pk}/"))
    assert text.count("12.0 %") == 13
    for month in ("January", "December"):
        assert month in text


def test_the_list_shows_the_best_of_each_and_how_many_stand_there_but_no_kilns(signed_in):
    place = StackFactory().place
    StackFactory(place=place, used_at="2025-08-01T00:00Z")
    KilnPlaceFactory(name="Warm box")
    text = text_of(signed_in.get("/places/"))
    assert "1 stack stands here" in text
    assert "Warm box" not in text


def test_a_changed_climate_makes_the_forecasts_of_its_stacks_anew(signed_in):
    here, elsewhere = OutlookFactory(), OutlookFactory()
    place = here.stack.place
    answer = signed_in.post(f"/places/{place.pk}/", {"name": place.name, "kind": place.kind, "preset": "warm_dry"})
    assert answer.status_code == 302
    assert list(Outlook.objects.all()) == [elsewhere]


def test_a_new_name_alone_leaves_the_forecasts(signed_in):
    kept = OutlookFactory()
    place = kept.stack.place
    data = typed(place.temperatures_c, place.humidities_pct)
    signed_in.post(f"/places/{place.pk}/", {"name": "Old shed", "kind": place.kind, "preset": "typed", **data})
    place.refresh_from_db()
    assert place.name == "Old shed"
    assert Outlook.objects.count() == 1


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"name": ""}, "This field is required"),
        ({"kind": "kiln"}, "valid choice"),
        ({"preset": ""}, "Choose a climate"),
        ({}, "Choose a climate, or type the twelve months"),
        (typed() | {"humidity_7": ""}, "all twelve months are needed"),
        (typed() | {"humidity_7": "120"}, "from 5 to 100 %"),
        (typed() | {"temperature_7": "mild"}, "Enter a number"),
        (typed() | {"altitude_m": "9000"}, "from −400 to 4500 m"),
    ],
)
def test_what_is_missing_or_impossible_is_refused_at_its_field(signed_in, data, words):
    answer = new(signed_in, **data)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert not Place.objects.exists()


def test_a_name_is_given_once(signed_in):
    PlaceFactory(name="Long shed")
    answer = new(signed_in, preset="warm_dry")
    assert answer.status_code == 422
    assert "Another place has this name" in text_of(answer)


def test_a_place_with_stacks_can_t_be_given_up(signed_in):
    place = StackFactory().place
    data = {"name": place.name, "kind": place.kind, "preset": "warm_dry", "given_up": "on"}
    answer = signed_in.post(f"/places/{place.pk}/", data)
    assert answer.status_code == 422
    assert "move them first" in text_of(answer)


def test_a_place_without_climate_says_so(signed_in):
    place = PlaceFactory(temperatures_c=[], humidities_pct=[])
    assert "This place has no climate yet" in text_of(signed_in.get(f"/places/{place.pk}/"))
    assert "no climate" in text_of(signed_in.get("/places/"))


def test_a_kiln_has_no_page_among_the_places(signed_in):
    assert signed_in.get(f"/places/{KilnPlaceFactory().pk}/").status_code == 404


def test_the_first_place_is_asked_for_when_there_is_none(signed_in):
    assert "No place yet" in text_of(signed_in.get("/places/"))


def test_three_and_thirty_places_take_the_same_queries(signed_in):
    PlaceFactory.create_batch(3)
    few = queries_of(signed_in, "/places/")
    PlaceFactory.create_batch(27)
    assert queries_of(signed_in, "/places/") == few
