"""The strip, the curve and the figures: what is drawn is what is said, in any locale, without a style attribute."""

import math
import re
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest
from django.template import Context, Template
from django.utils import translation

from yard.templatetags import amounts, curve_drawing, strip_drawing

SPACE = "\u202f"
START, TODAY = date(2026, 4, 3), date(2026, 5, 20)


def drawn(source: str, **context: Any) -> str:
    return Template("{% load moisture %}" + source).render(Context(context))


def svg(html: str) -> ElementTree.Element:
    found = re.search(r"<svg.*?</svg>", html, flags=re.DOTALL)
    assert found
    return ElementTree.fromstring(found[0])  # noqa: S314 -- our own drawing


def moisture(day: int, pace: float) -> float:
    return 14 + 57 * math.exp(-(day - START.toordinal()) / pace)


@pytest.fixture
def outlook() -> SimpleNamespace:
    days = list(range(START.toordinal(), START.toordinal() + 730, 3))
    paces = {"p10": 24.0, "p50": 27.0, "p90": 31.0}
    curve = {"day": days, **{name: [moisture(d, pace) for d in days] for name, pace in paces.items()}}
    ready = {"ready_p10": date(2026, 5, 27), "ready_p50": date(2026, 6, 3), "ready_p90": date(2026, 6, 13)}
    return SimpleNamespace(curve=curve, as_of=date(2026, 5, 18), **ready)


@pytest.fixture
def readings() -> list[SimpleNamespace]:
    return [
        SimpleNamespace(taken_at=datetime(2026, 4, 3, 9, tzinfo=UTC) + timedelta(n), moisture_pct=m, voided_at=void)
        for n, m, void in (
            (45, 25.0, None),
            (0, 71.0, None),
            (14, 47.0, None),
            (20, 5.0, datetime(2026, 5, 1, tzinfo=UTC)),
        )
    ]


# figures


@pytest.mark.parametrize(
    ("source", "shown"),
    [
        ("{{ 23.84|pct }}", "23.8_%"),
        ("{{ 34.2|pct }}", "34_%"),
        ("{{ 34.26|pct:1 }}", "34.3_%"),
        ("{{ none|pct }}", "–"),
        ("{{ 22.4|pct_band:25.3 }}", "22.4 to 25.3_%"),
        ("{{ 29.4|pct_band:40 }}", "29 to 40_%"),
        ("{{ 1.716|m3 }}", "1.72_m³"),
        ("{{ 27.0|mm }}", "27_mm"),
        ("{{ 25.64|mm }}", "25.6_mm"),
        ("{{ 4100|metres }}", "4.10_m"),
        ("{{ 1|days }}", "1_day"),
        ("{{ 14.6|days }}", "15_days"),
        ("{{ 1980.2|kg }}", "1,980_kg"),
        ("{{ 0.894|share }}", "89_%"),
        ("{{ code|code }}", "6QF_27M_AB7K"),
    ],
)
def test_a_figure_comes_with_its_unit(source: str, shown: str) -> None:
    assert drawn(source, none=None, code="6QF27MAB7K") == shown.replace("_", SPACE)


def test_a_small_loss_is_never_minus_nought() -> None:
    assert amounts.pct(-0.02) == f"0.0{SPACE}%"


def test_figures_follow_the_reader_s_language() -> None:
    with translation.override("de"):
        assert drawn("{{ 23.84|pct }}") == f"23,8{SPACE}%"


def test_a_day_leaves_out_the_year_that_is_plain() -> None:
    assert amounts.day(date(2026, 6, 19), TODAY) == "19 June"
    assert amounts.day(date(2027, 6, 19), TODAY) == "19 June 2027"
    assert amounts.day_band(date(2026, 6, 14), date(2026, 6, 27), TODAY) == "14 to 27 June"
    assert amounts.day_band(date(2026, 7, 28), date(2026, 8, 20), TODAY) == "28 July to 20 August"


# the strip


def test_the_scale_rises_and_holds_its_ends() -> None:
    places = [strip_drawing.x_of(m) for m in range(0, 121)]
    assert all(a < b for a, b in pairwise(places))
    assert strip_drawing.x_of(250) == strip_drawing.x_of(120)
    assert strip_drawing.x_of(-1) == strip_drawing.x_of(0)


def test_a_per_cent_below_saturation_is_the_wider_one() -> None:
    fine = strip_drawing.x_of(20) - strip_drawing.x_of(19)
    coarse = strip_drawing.x_of(60) - strip_drawing.x_of(59)
    assert fine > 3 * coarse


@pytest.mark.parametrize(
    ("now", "target", "state"), [(60, 20, "wet"), (24, 20, "dry"), (20, 20, "ready"), (24, None, "dry"), (None, 20, "")]
)
def test_the_state_of_a_moisture(now: float | None, target: float | None, state: str) -> None:
    assert strip_drawing.state(now, target) == state


def test_the_strip_says_what_it_draws() -> None:
    drawing = svg(drawn("{% strip 23.8 22.4 25.3 20 14 %}"))
    assert drawing.get("role") == "img"
    words = (drawing.get("aria-label") or "").replace(SPACE, " ")
    assert words == "23.8 % moisture; 22.4 to 25.3 %; target 20 %; the air here allows 14 %"
    circle = drawing.find("circle")
    assert circle is not None
    assert float(circle.get("cx", "")) == pytest.approx(strip_drawing.x_of(23.8), abs=0.05)


def test_a_strip_with_nothing_known_still_shows_its_target() -> None:
    drawing = svg(drawn("{% strip none none none 20 %}", none=None))
    assert drawing.find("circle") is None
    assert "not known" in (drawing.get("aria-label") or "")
    assert [line.get("class") for line in drawing.iter("line")].count("target") == 1


def test_a_strip_in_a_list_bears_no_words() -> None:
    assert list(svg(drawn("{% strip 24 23 26 20 14 labels=False %}")).iter("text")) == []


@pytest.mark.parametrize("target", [7.5, 8, 12, 20, 29, 60])
def test_words_under_the_strip_keep_their_distance(target: float) -> None:
    drawing = svg(drawn("{% strip 24 23 26 target %}", target=target))
    middles = sorted(float(text.get("x", "")) for text in drawing.iter("text") if text.get("text-anchor") == "middle")
    assert all(b - a > strip_drawing.LABEL_ROOM for a, b in pairwise(middles))


# the curve


def curve(outlook: SimpleNamespace, readings: list[SimpleNamespace], **more: Any) -> str:
    context = {"outlook": outlook, "readings": readings, "today": TODAY, "place": 13.8, "target": 20.0, **more}
    return drawn("{% curve outlook readings=readings target=target today=today place=place %}", **context)


def test_the_curve_says_what_it_draws(outlook: SimpleNamespace, readings: list[SimpleNamespace]) -> None:
    words = (svg(curve(outlook, readings)).get("aria-label") or "").replace(SPACE, " ")
    assert words.startswith("Moisture from 71 % on 3 April to 24.0 % today (22.1 to 26.5 %).")
    assert words.endswith("Reaches 20 % about 3 June, four times in five between 27 May and 13 June.")


def test_the_table_has_what_the_drawing_has(outlook: SimpleNamespace, readings: list[SimpleNamespace]) -> None:
    html = curve(outlook, readings)
    table = html[html.index("<table") :]
    assert table.count(">reading<") == 3, "a voided reading is not drawn"
    assert "today" in table and table.count(">forecast<") >= 4
    assert f"71{SPACE}%" in table and "3 June" in table


def test_readings_are_drawn_where_the_scale_puts_them(
    outlook: SimpleNamespace, readings: list[SimpleNamespace]
) -> None:
    drawing = svg(curve(outlook, readings))
    dots = [c for c in drawing.iter("circle") if c.get("class") == "reading-dot"]
    points, valid = curve_drawing.points_of(outlook), curve_drawing.dots_of(readings)
    frame = curve_drawing.frame_of(outlook, points, valid, TODAY)
    places = [(float(c.get("cx", "")), float(c.get("cy", ""))) for c in dots]
    assert places == [pytest.approx((frame.x(d.day), frame.y(d.moisture_pct)), abs=0.05) for d in valid]
    assert len(places) == 3 and places == sorted(places)


def test_everything_lies_inside_the_drawing(outlook: SimpleNamespace, readings: list[SimpleNamespace]) -> None:
    drawing = svg(curve(outlook, readings))
    for path in drawing.iter("path"):
        if path.get("class") in {"past", "ahead", "spread"}:
            numbers = [float(n) for n in re.findall(r"[\d.]+", path.get("d", ""))]
            assert all(0 <= x <= curve_drawing.WIDTH for x in numbers[::2])
            assert all(0 <= y <= curve_drawing.HEIGHT for y in numbers[1::2])


def test_a_stack_that_never_gets_there_says_so(outlook: SimpleNamespace) -> None:
    outlook.ready_p10 = outlook.ready_p50 = outlook.ready_p90 = None
    html = curve(outlook, [], target=8.0)
    assert "Not forecast to reach" in (svg(html).get("aria-label") or "")
    assert 'class="when"' not in html


def test_a_stack_tagged_today_is_drawn_without_a_past(outlook: SimpleNamespace) -> None:
    outlook.as_of = START
    drawing = svg(curve(outlook, [], today=START))
    classes = {path.get("class") for path in drawing.iter("path")}
    assert "ahead" in classes and "past" not in classes


@pytest.mark.parametrize("language", ["en", "de"])
def test_no_language_gets_into_the_geometry(
    language: str, outlook: SimpleNamespace, readings: list[SimpleNamespace]
) -> None:
    with translation.override(language):
        html = curve(outlook, readings) + drawn("{% strip 23.8 22.4 25.3 12.5 14 %}")
    assert not re.search(r'\s(?:d|x|y|x1|x2|y1|y2|cx|cy|r)="[^"]*,', html)


def test_drawings_need_no_style_attribute(outlook: SimpleNamespace, readings: list[SimpleNamespace]) -> None:
    assert "style=" not in curve(outlook, readings) + drawn("{% strip 23.8 22.4 25.3 20 14 %}{% hatches %}")


def test_months_are_few_enough_to_read() -> None:
    for length in (20, 60, 200, 400, 900):
        frame = curve_drawing.Frame(START.toordinal(), START.toordinal() + length, 80)
        places = [float(label["x"]) for label in curve_drawing.month_labels(frame)]
        assert 2 <= len(places) <= curve_drawing.MOST_MONTHS + 1
        assert all(b - a > 30 for a, b in pairwise(places)), length
