"""Units: exact factors, figures read and written back, forms that change nothing unless somebody does."""

from datetime import date
from typing import Any

import pint
import pytest
from django import forms
from django.http import QueryDict
from django.test import RequestFactory
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from yard.fields.limits import LimitedIntegerField
from yard.fields.numbers import NumberField, PriceField
from yard.fields.values import NumbersField
from yard.forms.sizes import LengthField, ThicknessField, WidthField
from yard.measures import quantities as of
from yard.measures import system, told, typed
from yard.measures.instead import in_reader_units
from yard.measures.system import IMPERIAL, METRIC
from yard.outlook import MonthEnd
from yard.templatetags.moisture import per_volume
from yard.templatetags.stock_drawing import stock_bars

MEASURES = [of.SIZE, of.LENGTH, of.AREA, of.VOLUME, of.ROUND_WOOD, of.MASS, of.TEMPERATURE, of.DIFFERENCE, of.ALTITUDE]
MEASURES += [of.AIR_SPEED, of.DENSITY, of.PRICE]
SYSTEMS = (METRIC, IMPERIAL)


@pytest.fixture(scope="module")
def pint_units() -> pint.UnitRegistry:
    """Read once: its definitions take half a second."""
    return pint.UnitRegistry()


@pytest.mark.parametrize(
    ("measure", "pint_imperial", "pint_metric"),
    [
        (of.SIZE, "inch", "mm"),
        (of.LENGTH, "foot", "m"),
        (of.AREA, "foot ** 2", "m ** 2"),
        (of.VOLUME, "board_foot", "m ** 3"),
        (of.ROUND_WOOD, "foot ** 3", "m ** 3"),
        (of.MASS, "pound", "kg"),
        (of.TEMPERATURE, "degF", "degC"),
        (of.DIFFERENCE, "delta_degF", "delta_degC"),
        (of.ALTITUDE, "foot", "m"),
        (of.AIR_SPEED, "foot / minute", "m / s"),
        (of.DENSITY, "pound / foot ** 3", "kg / m ** 3"),
    ],
)
@pytest.mark.parametrize("figure", [1.0, 100.0, 451.0])
def test_units_agree_with_pint(
    pint_units: pint.UnitRegistry, measure: of.Measure, pint_imperial: str, pint_metric: str, figure: float
) -> None:
    expected = pint_units.Quantity(figure, pint_imperial).to(pint_metric).magnitude
    assert measure.imperial.si(figure) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("measure", "figure", "si"),
    [
        (of.SIZE, 1, 25.4),  # NIST SP 811, B.8: inch, exact
        (of.LENGTH, 1, 0.3048),  # NIST SP 811, B.8: foot, exact
        (of.MASS, 1, 0.45359237),  # NIST SP 811, B.8: pound avoirdupois, exact
        (of.TEMPERATURE, 212, 100),  # NIST SP 811, B.8: t/°C = (t/°F - 32)/1.8, exact
        (of.TEMPERATURE, 32, 0),
        (of.TEMPERATURE, -40, -40),
        (of.DIFFERENCE, 9, 5),  # a depression of 5 K is one of 9 °F, not 41 °F
        (of.VOLUME, 12, 0.0283168466),  # twelve board feet are a cubic foot (NIST Handbook 44, App. C, from memory)
        (of.AIR_SPEED, 500, 2.54),
        (of.PRICE, 1, 423.7760007),  # what a m³ costs at 1 a board foot
    ],
)
def test_published_factors(measure: of.Measure, figure: float, si: float) -> None:
    assert measure.imperial.si(figure) == pytest.approx(si, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ("1 1/8", 28.575),
        ("1-1/8", 28.575),
        ("5/4", 31.75),
        ("8/4", 50.8),
        ("1⁄2", 12.7),
        ("1.5", 38.1),
        ("1,5", 38.1),
        (".5", 12.7),
        ("27 mm", 27),
        ("2.7 cm", 27),
        ("8' 6\"", 2590.8),
        ("8′ 6 1/2″", 2603.5),
        ("8 ft", 2438.4),
        ("6 in", 152.4),
        ("1.063", 27),
    ],
)
def test_sizes_are_read_as_the_trade_writes_them(written: str, mm: float) -> None:
    assert typed.read(written, of.SIZE, IMPERIAL) == mm


@pytest.mark.parametrize("written", ["", "wide", "1/0", "1 1", "5/", "1e3", "--2", "27 parsecs", "nan", "inf"])
def test_what_is_no_size_is_none(written: str) -> None:
    assert typed.read(written, of.SIZE, IMPERIAL) is None


@pytest.mark.parametrize(
    ("language", "written", "figure"),
    [
        ("en", "1,250", 1250), ("en", "1,25", 1.25), ("en", "0,417", 0.417), ("en", "1,250.5", 1250.5),
        ("de", "1.250", 1250), ("de", "1.250,5", 1250.5), ("de", "1,25", 1.25), ("de", "12.5", 12.5),
        ("sv", "1\u00a0250,5", 1250.5), ("sv", "1,25", 1.25), ("sv", "12.5", 12.5),
    ],
)  # fmt: skip
def test_numbers_are_read_as_the_language_writes_them(language: str, written: str, figure: float) -> None:
    with translation.override(language):
        assert NumberField().clean(written) == figure
        assert NumberField(unit="kg").clean(written) == figure


@pytest.mark.parametrize("language", ["en", "de", "sv"])
@given(data=st.data())
def test_what_was_typed_is_shown_as_typed_and_read_back_exactly(language: str, data: Any) -> None:
    measure, first = data.draw(st.sampled_from(MEASURES)), data.draw(st.sampled_from(SYSTEMS))
    unit = measure.unit(first)
    figure = round(data.draw(st.floats(0.1, 900)), data.draw(st.integers(0, unit.decimals)))
    if unit.fractions:
        figure = data.draw(st.integers(1, 900 * 64)) / 64
    with translation.override(language):
        si = unit.si(figure)
        for shown_in in SYSTEMS:
            assert typed.read(typed.text(si, measure, shown_in), measure, shown_in) == si
        shown = typed.number(typed.plain_text(typed.text(si, measure, first)))
    assert shown is not None
    assert shown[0] == figure


FIELDS = [
    ThicknessField(least_mm=1, most_mm=2000, unit="mm"), WidthField(unit="mm"), LengthField(unit="m"),
    NumberField(unit="mm"), NumberField(unit="°C"), NumberField(unit="kg"), NumberField(unit="m³"),
    NumberField(unit="kg/m³"), NumberField(unit="m"), NumberField(), PriceField(),
    NumbersField(unit="mm", least=1, most=2000),
]  # fmt: skip


@given(st.sampled_from(FIELDS), st.sampled_from(SYSTEMS), st.sampled_from(SYSTEMS), st.integers(300, 9999))
def test_a_form_sent_as_it_was_shown_changes_nothing(field: Any, kept_in: str, shown_in: str, tenths: int) -> None:
    si: Any = tenths / 10 + 30
    if field.measure and kept_in == IMPERIAL:
        si = field.measure.imperial.si(round(field.measure.imperial.of(si), 1))
    if getattr(field, "whole", False):
        si = round(si)
    si = [si] if isinstance(field, NumbersField) else si
    if isinstance(field, LengthField):
        si = si + 200
    with system.told_in(shown_in):
        field.system = shown_in
        assert field.clean(str(field.prepare_value(si))) == si
        assert not field.has_changed(si, str(field.prepare_value(si)))


def test_whole_millimetres_keep_sixteenths_of_an_inch() -> None:
    field = WidthField(unit="mm")
    with system.told_in(IMPERIAL):
        for sixteenths in range(16, 16 * 50):
            shown = typed.text(field.clean(f"{sixteenths}/16"), of.SIZE, IMPERIAL, whole=True)
            assert typed.read(shown, of.SIZE, IMPERIAL) == round(sixteenths / 16 * 25.4, 10)


@pytest.mark.parametrize(
    ("written", "mm"), [("8", 2438), ("8.5", 2591), ("102", 2591), ("8' 6\"", 2591), ("2.5 m", 2500)]
)
def test_a_bare_length_is_feet_or_inches(written: str, mm: int) -> None:
    with system.told_in(IMPERIAL):
        assert LengthField().clean(written) == mm


def test_a_length_that_could_be_feet_or_inches_is_asked_back() -> None:
    with system.told_in(IMPERIAL), pytest.raises(Exception, match="feet or inches"):
        LengthField().clean("48")


def test_bounds_are_told_in_the_units_typed() -> None:
    with system.told_in(IMPERIAL), pytest.raises(Exception, match=r"between 0\.59 and 3\.94\\u202fin"):
        ThicknessField(least_mm=15, most_mm=100, unit="mm").clean("8")
    with system.told_in(IMPERIAL), pytest.raises(Exception, match=r"140\\u202f°F"):
        NumberField(unit="°C", max_value=60).clean("150")


def refusal(field: forms.Field, typed_text: str) -> str:
    with pytest.raises(forms.ValidationError) as refused:
        field.clean(typed_text)
    return " ".join(refused.value.messages)


def test_out_of_range_is_told_the_range() -> None:
    dry_bulb = NumberField(unit="°C", min_value=-20, max_value=110)
    assert refusal(dry_bulb, "480") == refusal(dry_bulb, "-30") == "Give a number from −20 to 110\u202f°C."
    assert refusal(NumberField(unit="%", min_value=0.5, max_value=35), "0,1") == "Give a number from 0.5 to 35\u202f%."
    assert refusal(NumberField(min_value=0.001), "0") == "Give a number of at least 0.001."
    assert refusal(LimitedIntegerField(max_value=500), "501") == "Give a number of at most 500."
    own = {"max_value": "Warmer than %(limit)s?"}
    assert refusal(NumberField(unit="°C", max_value=50, error_messages=own), "68") == "Warmer than 50\u202f°C?"
    with translation.override("de"):
        assert refusal(NumberField(unit="m", min_value=0.3, max_value=25), "30") == (
            "Gib eine Zahl von 0,3 bis 25\u202fm an."
        )


@pytest.mark.parametrize(
    ("words", "metric", "imperial"),
    [
        (lambda: told.thick(31.75), "31.8\u202fmm", "5/4"),
        (lambda: told.thick(50.8), "50.8\u202fmm", "8/4"),
        (lambda: told.thick(28.575), "28.6\u202fmm", "1\u00a01/8\u202fin"),
        (lambda: told.thick(27), "27\u202fmm", "1\u00a01/16\u202fin"),
        (lambda: told.mm(140), "140\u202fmm", "5\u00a01/2\u202fin"),
        (lambda: told.metres(2591), "2.59\u202fm", "8'\u00a06\""),
        (lambda: told.m3(1.72), "1.72\u202fm³", "729\u202fbd\u00a0ft"),
        (lambda: told.kg(980), "980\u202fkg", "2,161\u202flb"),
        (lambda: told.celsius(49), "49\u202f°C", "120\u202f°F"),
        (lambda: told.kelvin(5), "5\u202f°C", "9\u202f°F"),
        (lambda: told.mm(None), "–", "–"),
    ],
)
def test_figures_are_told_in_either(words: Any, metric: str, imperial: str) -> None:
    assert words() == metric
    with system.told_in(IMPERIAL):
        assert words() == imperial
    assert words() == metric


def test_what_is_to_be_sawn_is_never_told_smaller_than_it_is() -> None:
    assert [told.size_up(one) for one in (46, 131, 46.2)] == [46, 131, 47]
    with system.told_in(IMPERIAL):
        assert told.mm(told.size_up(46)) == "1\u00a013/16\u202fin"
        assert told.mm(told.size_up(131)) == "5\u00a03/16\u202fin"
        assert told.mm(told.size_up(350, finest=4)) == "14\u202fin"
        assert told.size_up(25.4) == 25.4, "what is of inches already stays"
        assert all(0 <= told.size_up(size) - size + 0.02 <= 25.4 / 16 for size in range(15, 400))


def test_a_form_says_its_units_and_one_that_says_none_is_metric() -> None:
    post = RequestFactory().post("/", {"units": "imperial"})
    assert system.said_in(post) == IMPERIAL
    assert system.said_in(RequestFactory().post("/", {"width": "150"})) == METRIC
    field = NumberField(unit="mm")
    form_type: Any = type("Form", (forms.Form,), {"width": field})
    with system.told_in(IMPERIAL):
        assert 'name="units" value="imperial"' in str(form_type(initial={"width": 31.75})["width"])
    assert "units" not in str(form_type(initial={"width": 31.75})["width"])
    with system.told_in(METRIC, typed=IMPERIAL):
        sent = form_type(QueryDict("width=1 1/8"))
        assert sent.is_valid()
        assert sent.cleaned_data == {"width": 28.575}


def test_a_pair_of_sizes_and_what_is_told_a_volume_are_in_one_unit() -> None:
    assert (told.mm_to(25.4, 26.2), per_volume(100)) == ("25.4–26.2\u202fmm", "100")
    with system.told_in(IMPERIAL):
        assert (told.mm_to(25.4, 26.2), per_volume(100)) == ("1–1\u00a01/32\u202fin", "0.24")


def test_the_axis_of_the_stock_is_in_round_figures_of_the_unit_below_it() -> None:
    month = MonthEnd(date(2026, 10, 31), dry_m3=0, kiln_m3=0, drying_m3=20)
    metric = stock_bars([month])
    with system.told_in(IMPERIAL):
        imperial = stock_bars([month])
    assert [line["text"] for line in metric["grid"]] == ["5", "10", "15", "20"]
    assert [line["text"] for line in imperial["grid"]] == ["5,000", "10,000"]
    top = 10_000 * 144 * 0.0254**3
    assert float(imperial["bars"][0]["parts"][0]["height"]) == pytest.approx(160 * 20 / top, abs=0.1)


def test_inches_of_several_sides_are_all_fractions() -> None:
    with system.told_in(IMPERIAL):
        told_sides = told.sides(1500, 120, 40).replace("\u00a0", " ").replace("\u202f", " ")
        assert told_sides == "59 1/16 × 4 3/4 × 1 9/16 in"
        assert told.sides(0.1, 25.4).replace("\u202f", " ") == "1/64 × 1 in"
        assert told.sides(told.size_down(41.5), told.size_down(25.4)).replace("\u00a0", " ") == "1 5/8 × 1\u202fin"
        assert told.size_down(26.9) == pytest.approx(25.4)
    with system.told_in(METRIC):
        assert (told.size_down(41.59), told.size_down(41.59, tenths=True)) == (41, 41.5)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Stay 300 mm from the ends, 25 mm deep.", "Stay 12 in from the ends, 1 in deep."),
        ("Für Bretter von 15 bis 100 mm", "Für Bretter von 5/8 bis 4 in"),
        ("Outside −1.1 to 98.9 °C, 5 to 95 %", "Outside 30 to 210 °F, 5 to 95 %"),
        ("For −20 to 90 °C, up to 2,500 m.", "For −4 to 194 °F, up to 8,200 ft."),
        ("Für −20 bis 90 °C, bis 2500 m. Unter 0 °C", "Für −4 bis 194 °F, bis 8,200 ft. Unter 32 °F"),
        ("More than 25 kg", "More than 55 lb"),
        ("570 kg/m³ and 3 m³ stand", "570 kg/m³ and 3 m³ stand"),
    ],
)
def test_round_figures_in_sentences_are_round_ones_of_the_reader_s_units(said: str, meant: str) -> None:
    assert in_reader_units(said) == said
    with system.told_in(IMPERIAL):
        assert in_reader_units(said).replace("\u202f", " ") == meant
