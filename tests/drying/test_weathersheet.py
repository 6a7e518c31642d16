"""Weather sheets: every documented form is read, every bad row is told with its line, nothing good is lost."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying.weather import Day, mean_of_hours
from drying.weathersheet import read, write

TODAY = date(2025, 11, 12)
FIRST = date(2025, 5, 3)


def days_of(text: str) -> list[tuple[str, float, float, float | None]]:
    sheet = read(text, TODAY)
    assert sheet.faults == ()
    return [(one.day.isoformat(), one.temperature_c, one.relative_humidity_pct, one.rain_mm) for one in sheet.days]


@pytest.mark.parametrize(
    "text",
    [
        "date,temperature,humidity,rain\n2025-05-03,14.2,70,1.5\n2025-05-04,-0.5,81.5,\n",
        "Date;Temperature (°C);Relative humidity (%);Rain (mm)\n3.5.2025;14,2;70;1,5\n04.05.2025;-0,5;81,5;\n",
        "day\ttemp_c\trh_pct\train_mm\n2025-05-03\t14,2\t70\t1.5\n2025-05-04\t−0.5\t81.5 %\t-\n",
        '\ufeffdate,temperature,humidity,rain\r\n2025-05-03,"14,2",70,"1,5"\r\n\r\n'
        '# a note\r\n2025-05-04,"-0,5","81,5"\r\n',
        "station,timestamp,T,RH,dew point temperature,precipitation\n"
        "7,2025-05-03 00:00,14.2,70,8.8,1.5\n7,2025-05-04T00:00,-0.5,81.5,-3,\n",
        "date,mean temperature,max temperature,humidity,rain\n2025-05-03,14.2,20,70,1.5\n2025-05-04,-0.5,4,81.5,\n",
        "date,temperature °F,humidity,rain (in)\n2025-05-03,57.56,70,0.059055\n2025-05-04,31.1,81.5,\n",
        "humidity;rain;temperature;date\n81,5;;-0,5;2025-05-04\n70;1,5;14,2;2025-05-03",
    ],
)
def test_every_documented_form_is_read(text):
    assert days_of(text) == [("2025-05-03", 14.2, 70.0, 1.5), ("2025-05-04", -0.5, 81.5, None)]


def hourly(day: date, hours: range | list[int], temperature: str = "10") -> str:
    return "".join(f"{day.isoformat()} {hour}:00,{temperature},80,0.1\n" for hour in hours)


HEADER = "date time,temperature,humidity,rain\n"


def test_rows_of_hours_become_days_by_their_vapour_and_rain_is_summed():
    hours = [(hour, 5 + hour / 2, 95 - 2 * hour) for hour in range(24)]
    rows = "".join(f"2025-05-03;{hour:02d}:00;{t:.1f};{h};0,5\n" for hour, t, h in hours)
    sheet = read("date;time;temperature;humidity;rain\n" + rows, TODAY)
    temperature, humidity = mean_of_hours([t for _, t, _ in hours], [h for _, _, h in hours])
    assert sheet.hourly
    (one,) = sheet.days
    assert one.rain_mm == 12
    assert one.temperature_c == pytest.approx(temperature, abs=0.01)
    assert one.relative_humidity_pct == pytest.approx(humidity, abs=0.01)


def test_a_missing_hour_weighs_little():
    """Six warm hours at noon, only two at night: the quarters are averaged, not the rows."""
    rows = hourly(FIRST, [1, 4, 7, 10]) + hourly(FIRST, [12, 13, 14, 15, 16, 17], "20") + hourly(FIRST, [19, 22])
    assert days_of(HEADER + rows)[0][1] == pytest.approx(12.5)


def test_part_of_a_day_is_told_and_given_back_and_the_whole_days_beside_it_are_kept():
    sheet = read(HEADER + hourly(FIRST, range(24)) + hourly(FIRST + timedelta(days=1), range(8, 17)), TODAY)
    assert [one.day for one in sheet.days] == [FIRST]
    assert {fault.code for fault in sheet.faults} == {"part_day"}
    assert [fault.line for fault in sheet.faults] == list(range(26, 35))
    figures = sheet.faults[0].figures
    assert (figures["day"].day, figures["count"], figures["first"].hour, figures["last"].hour) == (4, 9, 8, 16)
    assert sheet.refused.count("\n") == 9


def test_a_time_with_an_offset_is_brought_to_the_yards_own():
    zone = ZoneInfo("Europe/Vienna")
    row = "date,temperature,humidity\n2025-05-03T23:30Z,10,80\n2025-07-01T23:30+02:00,11,80\n"
    assert [one.day.isoformat() for one in read(row, TODAY, zone).days] == ["2025-05-04", "2025-07-01"]


def test_24_hours_is_the_next_day():
    sheet = read("date,time,temperature,humidity\n2025-05-03,24:00,10,80\n", TODAY)
    assert sheet.days[0].day == date(2025, 5, 4)


@pytest.mark.parametrize(
    ("row", "code", "figures"),
    [
        (",14,70", "no_date", {}),
        ("soon,14,70", "bad_date", {"text": "soon"}),
        ("2025-02-30,14,70", "bad_date", {"text": "2025-02-30"}),
        ("5/4/2025,14,70", "date_order", {"text": "5/4/2025"}),
        ("1849-05-03,14,70", "too_old", {"text": "1849-05-03", "year": 1950}),
        ("2025-05-04 25:00,14,70", "bad_time", {"text": "2025-05-04 25:00"}),
        ("2025-11-13,14,70", "future", {"day": date(2025, 11, 13)}),
        ("2025-05-04,,70", "no_value", {"kind": "temperature"}),
        ("2025-05-04,14,", "no_value", {"kind": "humidity"}),
        ("2025-05-04,mild,70", "bad_number", {"kind": "temperature", "text": "mild"}),
        ("2025-05-04,nan,70", "bad_number", {"kind": "temperature", "text": "nan"}),
        ("2025-05-04,-9999,70", "out_of_range", {"value": -9999.0, "low": -40.0, "high": 50.0, "unit": "°C"}),
        ("2025-05-04,14,170", "out_of_range", {"kind": "humidity", "value": 170.0}),
        ("2025-05-04,14,0.7", "humidity_as_share", {"value": 0.7}),
        ("2025-05-04,14", "cells", {"found": 2, "wanted": 3}),
        ("2025-05-04,14,2,70", "cells", {"found": 4, "wanted": 3}),
        ("2025-05-03,15,71", "doubled", {"day": FIRST, "of": 2}),
    ],
)
def test_a_bad_row_is_told_with_its_line_and_why_and_the_good_ones_are_kept(row, code, figures):
    sheet = read(f"date,temperature,humidity\n2025-05-03,14,70\n{row}\n2025-05-06,15,72\n", TODAY)
    assert [one.day.day for one in sheet.days] == [3, 6]
    (fault,) = sheet.faults
    assert (fault.line, fault.code, fault.text, fault.taken) == (3, code, row, False)
    assert figures.items() <= fault.figures.items()
    assert sheet.refused == f"date,temperature,humidity\n{row}"


def test_rain_that_can_t_be_read_costs_the_rain_alone():
    sheet = read("date,temperature,humidity,rain\n2025-05-03,14,70,much\n2025-05-04,14,70,-2\n", TODAY)
    assert [one.rain_mm for one in sheet.days] == [None, None]
    assert [(fault.code, fault.taken) for fault in sheet.faults] == [("bad_number", True), ("out_of_range", True)]
    assert sheet.refused == ""


def test_gaps_between_days_are_told():
    sheet = read("date,temperature,humidity\n2025-05-03,14,70\n2025-05-07,14,70\n", TODAY)
    assert sheet.gaps == ((date(2025, 5, 4), date(2025, 5, 6)),)


def test_today_is_taken_and_tomorrow_not():
    sheet = read("date,temperature,humidity\n2025-11-12,14,70\n2025-11-13,14,70\n", TODAY)
    assert [one.day for one in sheet.days] == [TODAY]


@pytest.mark.parametrize(
    ("text", "code", "names"),
    [
        ("", "empty", None),
        ("\n# only a note\n", "empty", None),
        ("2025-05-03,14,70\n", "columns_missing", ("date", "temperature", "humidity")),
        ("date,temperature\n2025-05-03,14\n", "columns_missing", ("humidity",)),
        ("date,temperature,temp,humidity\n2025-05-03,14,14,70\n", "column_twice", ("temperature",)),
    ],
)
def test_a_sheet_without_its_columns_is_refused_whole(text, code, names):
    sheet = read(text, TODAY)
    (fault,) = sheet.faults
    assert (sheet.days, fault.line, fault.code) == ((), 0, code)
    assert fault.figures.get("names") == names


def test_a_row_of_a_whole_day_stands_before_its_hours():
    sheet = read(HEADER + "2025-05-03,12,75,\n" + hourly(FIRST, [3, 9]), TODAY)
    assert [(one.temperature_c, one.relative_humidity_pct) for one in sheet.days] == [(12.0, 75.0)]
    assert [(fault.code, fault.line) for fault in sheet.faults] == [("doubled", 3), ("doubled", 4)]


DAYS = st.lists(
    st.builds(
        Day,
        st.dates(date(1960, 1, 1), TODAY),
        st.floats(-40, 50).map(lambda value: round(value, 2)),
        st.floats(1, 100).map(lambda value: round(value, 2)),
        st.none() | st.floats(0, 500).map(lambda value: round(value, 2)),
    ),
    min_size=1,
    max_size=20,
    unique_by=lambda one: one.day,
)


@given(DAYS)
def test_what_is_written_is_read_back(days):
    sheet = read(write(days), TODAY)
    assert sheet.faults == ()
    assert list(sheet.days) == sorted(days, key=lambda one: one.day)


@given(st.text(alphabet="0123456789.,;-:/ \tTZ°FCab\"'\n%", max_size=200))
def test_no_text_makes_it_fall_over_and_no_row_is_lost(text):
    """Each line that holds something is a day, or told."""
    sheet = read("date;temperature;humidity\n" + text, TODAY)
    told = {fault.line for fault in sheet.faults if not fault.taken}
    assert len(told) + len(sheet.days) == sheet.rows or sheet.hourly
