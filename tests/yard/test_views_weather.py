"""The weather of a place: taken, told, shown, taken out, given out, and what it does to forecasts."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from drying.climate import Exposure
from tests.factories import KilnPlaceFactory, OutlookFactory, PlaceFactory, StackFactory
from tests.yard.queries import queries_of
from yard import outlook
from yard.models import DailyWeather, FormerKind, Outlook, Stay
from yard.outlook import forecasts

pytestmark = pytest.mark.django_db

GOOD = "date,temperature,humidity,rain\n2025-05-03,14.2,70,1.5\n2025-05-04,12.8,81,\n"


@pytest.fixture
def shed():
    return PlaceFactory(name="Long shed")


def url(place):
    return f"/places/{place.pk}/weather/"


def text_of(answer):
    return " ".join(answer.content.decode().replace("\u202f", " ").split())


def days(place):
    return list(place.weather.values_list("day", "temperature_c", "humidity_pct", "rain_mm"))


def log(place, count, last=None, **values):
    last = last or timezone.localdate()
    air = {"temperature_c": 12.0, "humidity_pct": 70.0, "rain_mm": None} | values
    return DailyWeather.objects.bulk_create(
        DailyWeather(place=place, day=last - timedelta(days=ago), **air) for ago in range(count)
    )


def test_rows_are_taken_by_paste_or_file(signed_in, shed):
    text = text_of(signed_in.post(url(shed), {"text": GOOD}))
    assert "2 days taken" in text
    assert "2 new, 0 changed, 0 as they were" in text
    assert days(shed) == [(date(2025, 5, 3), 14.2, 70.0, 1.5), (date(2025, 5, 4), 12.8, 81.0, None)]
    other = PlaceFactory()
    content = "Datum day;Temperature (°C);humidity\n03.05.2025;14,2;70\n".encode("cp1252")
    answer = signed_in.post(url(other), {"file": SimpleUploadedFile("log.csv", content)})
    assert answer.status_code == 200
    assert days(other) == [(date(2025, 5, 3), 14.2, 70.0, None)]


def test_a_file_of_another_alphabet_is_read(signed_in, shed):
    signed_in.post(url(shed), {"file": SimpleUploadedFile("log.csv", GOOD.encode("utf-16"))})
    assert len(days(shed)) == 2


def test_bad_rows_are_told_line_by_line_and_given_back_while_the_good_ones_are_kept(signed_in, shed):
    rows = "2025-05-05,mild,70,\n2025-05-06,14,0.7,\n2025-05-03,9,70,\n2025-05-08,14,71,much\n"
    answer = signed_in.post(url(shed), {"text": GOOD + rows})
    text = text_of(answer)
    assert answer.status_code == 200
    assert [day.day for day, *_ in days(shed)] == [3, 4, 8]
    assert "3 rows not taken" in text
    for line, why in (
        (4, "The temperature “mild” is no number"),
        (5, "Humidity 0.7: write per cent, like 70"),
        (6, "3 May 2025 was given in line 2 already"),
        (7, "The rain “much” is no number. Its temperature and humidity were taken."),
    ):
        assert f"<b>Line {line}</b>" in text
        assert why in text
    assert "The sheet has 1 gap: 5 to 7 May 2025" in text
    box = answer.context["form"].initial["text"]
    assert box.splitlines() == ["date,temperature,humidity,rain", *rows.splitlines()[:3]]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({}, "Choose a file, or paste its rows"),
        ({"text": "a,b\n1,2\n"}, "Missing: date, temperature, humidity. It says: a, b."),
        ({"text": "date,temperature,humidity\n2999-05-03,14,70\n"}, "3 May 2999 has not been yet"),
        ({"text": "date,temperature,humidity\n5/4/2025,14,70\n"}, "could be two dates"),
        ({"text": "date;temperature;humidity\n2025-05-03;14\n"}, "2 cells where the first line names 3"),
        ({"text": "date,temperature,humidity\n2025-05-03,14,2,70\n"}, "separate the columns by semicolons"),
        ({"text": "date,temperature,humidity\n2025-05-03,99,70\n"}, "Temperature 99 °C is outside -40 to 50 °C"),
        ({"text": "# nothing\n"}, "There is no row in it"),
        ({"text": "date,t,humidity,temp\n2025-05-03,1,70,1\n"}, "Two columns could be the temperature"),
    ],
)
def test_what_holds_no_day_is_refused_in_words_and_stays_in_the_box(signed_in, shed, data, words):
    answer = signed_in.post(url(shed), data)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert days(shed) == []
    if data:
        assert data["text"].splitlines()[-1] in answer.content.decode()


def test_a_file_too_large_and_a_file_beside_rows_are_refused(signed_in, shed, monkeypatch):
    monkeypatch.setattr("yard.forms.weather.LARGEST_BYTES", 10)
    answer = signed_in.post(url(shed), {"file": SimpleUploadedFile("log.csv", GOOD.encode())})
    assert (answer.status_code, "larger than 5 MB" in text_of(answer)) == (422, True)
    monkeypatch.undo()
    answer = signed_in.post(url(shed), {"file": SimpleUploadedFile("log.csv", GOOD.encode()), "text": GOOD})
    assert (answer.status_code, "one after the other" in text_of(answer)) == (422, True)
    assert days(shed) == []


def test_hours_are_averaged_and_part_of_a_day_is_told_once(signed_in, shed):
    rows = "".join(f"2025-05-03 {hour}:00,{hour},80\n" for hour in range(24))
    rows += "".join(f"2025-05-04 {hour}:00,{hour},80\n" for hour in range(9))
    text = text_of(signed_in.post(url(shed), {"text": "date time,temperature,humidity\n" + rows}))
    assert "Several rows a day were averaged" in text
    assert "<b>Lines 26 to 34</b>" in text
    assert text.count("4 May 2025 has 9 rows from 00:00 to 08:00") == 1
    assert [(day.day, temperature) for day, temperature, *_ in days(shed)] == [(3, 11.5)]


def test_a_second_sheet_changes_days_and_keeps_the_rain_that_it_does_not_know(signed_in, shed):
    signed_in.post(url(shed), {"text": GOOD})
    later = "date,temperature,humidity\n2025-05-03,15,70\n2025-05-04,12.8,81\n2025-05-05,9,88\n"
    assert "1 new, 1 changed, 1 as they were" in text_of(signed_in.post(url(shed), {"text": later}))
    assert days(shed)[0] == (date(2025, 5, 3), 15.0, 70.0, 1.5)


def test_new_days_make_the_forecasts_of_stacks_that_stood_there_anew(signed_in, shed):
    stood, elsewhere = OutlookFactory(), OutlookFactory()
    Stay.objects.create(stack=stood.stack, place=shed, since=datetime(2025, 5, 1, tzinfo=UTC))
    signed_in.post(url(shed), {"text": GOOD})
    assert list(Outlook.objects.all()) == [elsewhere]
    outlook.refresh_missing()
    assert Outlook.objects.count() == 2
    signed_in.post(url(shed), {"text": GOOD})
    assert Outlook.objects.count() == 2  # nothing new, nothing forgotten


def test_a_hot_dry_spring_in_the_log_brings_the_stack_on():
    stack = StackFactory()
    outlook.refresh([stack])
    usual = Outlook.objects.get().ready_p50
    log(stack.place, 120, stack.cut_on + timedelta(days=119), temperature_c=24.0, humidity_pct=45.0)
    outlook.refresh([stack])
    assert Outlook.objects.get().ready_p50 < usual - timedelta(days=10)


def test_the_page_shows_how_far_the_log_goes_its_gaps_and_each_month_beside_the_usual(signed_in):
    # 21.1 °C and 65 % hold wood at 12.0 %, and 50 % at 9.2 % (Wood Handbook table 4-2)
    place = PlaceFactory(kind="open_yard", temperatures_c=[21.1] * 12, humidities_pct=[65] * 12)
    log(place, 10, date(2025, 5, 20), temperature_c=21.1, humidity_pct=50.0, rain_mm=2.0)
    log(place, 3, date(2025, 4, 30), temperature_c=21.1, humidity_pct=50.0)
    text = text_of(signed_in.get(url(place)))
    assert "13 days" in text
    assert "28 April to 20 May 2025" in text
    assert "10 days are missing: 1 to 10 May 2025" in text
    assert "10 days<br>rain on 10" in text
    assert text.count("9.2 %<br><small>12.0 %") == 2
    assert "The air held wood at 9.2 % in April 2025 to 9.2 % in" in text


def test_two_years_are_shown_and_the_rest_is_in_the_file(signed_in, shed):
    log(shed, 800)
    text = text_of(signed_in.get(url(shed)))
    assert text.count('<th scope="row">') == 24
    assert "Older months are in the file below" in text
    assert signed_in.get(f"/places/{shed.pk}/weather.csv").content.count(b"\n") == 801


def test_a_place_without_a_log_and_one_without_a_climate_have_the_page(signed_in, shed):
    assert "No weather observed yet" in text_of(signed_in.get(url(shed)))
    bare = PlaceFactory(temperatures_c=[], humidities_pct=[])
    log(bare, 40)
    assert "<small>–</small>" in text_of(signed_in.get(url(bare)))
    assert signed_in.get(url(KilnPlaceFactory())).status_code == 404


def test_the_log_is_given_out_in_the_form_that_is_taken_back(signed_in, shed):
    signed_in.post(url(shed), {"text": GOOD})
    answer = signed_in.get(f"/places/{shed.pk}/weather.csv")
    assert answer["Content-Disposition"] == 'attachment; filename="weather-long-shed.csv"'
    other = PlaceFactory()
    signed_in.post(url(other), {"file": SimpleUploadedFile("weather.csv", answer.content)})
    assert days(other) == days(shed) != []


def test_days_are_taken_out_and_the_forecasts_made_anew(signed_in, shed):
    kept = OutlookFactory(stack__place=shed)
    Stay.objects.create(stack=kept.stack, place=shed, since=datetime(2025, 5, 1, tzinfo=UTC))
    log(shed, 10, date(2025, 5, 20))
    answer = signed_in.post(url(shed) + "remove/", {"first": "2025-05-12", "last": "2025-05-14"}, follow=True)
    assert "3 days are out of the log" in text_of(answer)
    assert shed.weather.count() == 7
    assert not Outlook.objects.exists()
    assert "no day of these" in text_of(
        signed_in.post(url(shed) + "remove/", {"first": "2020-01-01", "last": "2020-01-02"}, follow=True)
    )


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"first": "2025-05-14", "last": "2025-05-12"}, "The last day is before the first"),
        ({"first": "", "last": "2025-05-12"}, "Say the first day"),
    ],
)
def test_a_stretch_that_is_none_is_refused(signed_in, shed, data, words):
    log(shed, 3, date(2025, 5, 14))
    answer = signed_in.post(url(shed) + "remove/", data)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert shed.weather.count() == 3


def test_the_stack_says_how_far_its_weather_is_known(signed_in):
    stack = StackFactory()
    assert "after that its usual climate" not in text_of(signed_in.get(stack.get_absolute_url()))
    log(stack.place, 5, stack.cut_on - timedelta(days=1))
    assert "after that its usual climate" not in text_of(signed_in.get(stack.get_absolute_url()))
    log(stack.place, 3, stack.cut_on + timedelta(days=2))
    text = text_of(signed_in.get(stack.get_absolute_url()))
    assert f"weather of {stack.place}</a> up to 5 April" in text


def test_ten_and_four_hundred_days_take_the_same_queries(signed_in):
    stack = StackFactory()
    log(stack.place, 10)
    outlook.refresh([stack])
    pages = (url(stack.place), f"/places/{stack.place.pk}/", stack.get_absolute_url())
    few = [queries_of(signed_in, page) for page in pages]
    log(stack.place, 390, timezone.localdate() - timedelta(days=10))
    assert [queries_of(signed_in, page) for page in pages] == few


def given(stack):
    return forecasts._input(forecasts._with_history(type(stack).objects.filter(pk=stack.pk)).get())


def closed(client, place, **data):
    air = {"name": place.name, "preset": "warm_dry", "kind": "closed_store", "kind_since": "2025-06-01"}
    return client.post(f"/places/{place.pk}/", air | data)


def test_a_shed_that_was_closed_dries_as_a_shed_before_and_as_a_store_after(signed_in, shed):
    stack = StackFactory(place=shed)
    later = StackFactory(place=shed, cut_on=date(2025, 7, 1))
    assert closed(signed_in, shed).status_code == 302
    assert [(stay.start, stay.exposure) for stay in given(stack).stays] == [
        (stack.cut_on, Exposure.ROOFED_SHED),
        (date(2025, 6, 1), Exposure.CLOSED_STORE),
    ]
    assert [stay.exposure for stay in given(later).stays] == [Exposure.CLOSED_STORE]
    text = text_of(signed_in.get(f"/places/{shed.pk}/"))
    assert "<b>roofed shed</b> to 31 May 2025" in text


def test_a_stack_that_had_moved_on_never_met_the_change(signed_in, shed):
    stack, other = StackFactory(place=shed), PlaceFactory()
    Stay.objects.create(stack=stack, place=other, since=datetime(2025, 5, 1, 12, tzinfo=UTC))
    closed(signed_in, shed)
    assert [stay.exposure for stay in given(stack).stays] == [Exposure.ROOFED_SHED] * 2


def test_a_change_is_taken_back(signed_in, shed):
    closed(signed_in, shed)
    former = FormerKind.objects.get()
    OutlookFactory(stack=StackFactory(place=shed))
    assert signed_in.post(f"/places/was/{former.pk}/remove/").url == f"/places/{shed.pk}/"
    assert not FormerKind.objects.exists()
    assert not Outlook.objects.exists()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"kind": "roofed_shed"}, "The kind is the same as before"),
        ({"kind_since": "2999-01-01"}, "This day has not been yet"),
        ({"kind_since": "2025-02-01"}, "take that change back first"),
    ],
)
def test_an_impossible_change_is_refused(signed_in, shed, data, words):
    FormerKind.objects.create(place=shed, kind="open_yard", until=date(2025, 3, 1))
    answer = closed(signed_in, shed, **data)
    assert answer.status_code == 422
    assert words in text_of(answer)
    shed.refresh_from_db()
    assert shed.kind == "roofed_shed"


def test_without_a_day_the_kind_is_corrected_for_all_time(signed_in, shed):
    stack = StackFactory(place=shed)
    closed(signed_in, shed, kind="uncovered", kind_since="")
    assert [stay.exposure for stay in given(stack).stays] == [Exposure.UNCOVERED]
    assert not FormerKind.objects.exists()
