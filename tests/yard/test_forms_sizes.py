"""Sizes as typed at the saw. The conversions are exact by definition: 1 in = 25.4 mm, 1 ft = 304.8 mm."""

import pytest
from django.core.exceptions import ValidationError

from yard.fields.numbers import NumberField
from yard.forms.sizes import LengthField, ThicknessField, WidthField


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("2.5", 2500),
        ("2,5", 2500),
        ("4", 4000),
        ("12.35", 12350),
        ("2500", 2500),
        ("2500 mm", 2500),
        ("2.5 m", 2500),
        ("250cm", 2500),
        ("800 mm", 800),
        (".8", 800),
        ("8'", 2438),
        ("8 ft", 2438),
        ("8' 6\"", 2591),
        ("8’6”", 2591),
        ("96 in", 2438),
        (" 2500 ", 2500),
    ],
)
def test_a_length_is_understood(typed, mm):
    assert LengthField().clean(typed) == mm


@pytest.mark.parametrize(
    ("typed", "written_instead"), [("250", "2.5"), ("400", "4"), ("25", "2.5"), ("999", "9.99"), ("21", "2.1")]
)
def test_a_length_that_could_be_two_things_is_refused_with_a_hint(typed, written_instead):
    with pytest.raises(ValidationError) as refusal:
        LengthField().clean(typed)
    assert f"like {written_instead}," in refusal.value.messages[0]
    assert f"{typed} mm" in refusal.value.messages[0]


@pytest.mark.parametrize("typed", ["25 m", "0.1", "99999", "0", "1 mm"])
def test_a_length_that_no_board_has_is_refused(typed):
    with pytest.raises(ValidationError, match=r"is not between 200 and 20000\\u202fmm"):
        LengthField().clean(typed)


@pytest.mark.parametrize("typed", ["two", "2..5", "2.5 parsecs", "-2", "1e3", "2_5"])
def test_what_is_no_length_is_refused_with_an_example(typed):
    with pytest.raises(ValidationError, match=r"like 2\.5"):
        LengthField().clean(typed)


@pytest.mark.parametrize(("typed", "mm"), [("150", 150), ("15 cm", 150), ("0.15 m", 150), ('6"', 152), ("30", 30)])
def test_a_width_is_understood(typed, mm):
    assert WidthField().clean(typed) == mm


@pytest.mark.parametrize(("typed", "written_instead"), [("15", "150"), ("0.15", "150"), ("6", "60")])
def test_a_width_that_was_hardly_meant_in_mm_is_refused_with_a_hint(typed, written_instead):
    with pytest.raises(ValidationError, match=f"like {written_instead},"):
        WidthField().clean(typed)


def test_thickness_keeps_its_decimals():
    field = ThicknessField(least_mm=15, most_mm=100)
    assert field.clean("25,4") == 25.4
    assert field.clean("1.25 in") == 31.75


def test_an_empty_size_is_none_where_it_may_be_and_asked_for_where_not():
    assert LengthField(required=False).clean("") is None
    with pytest.raises(ValidationError, match="required"):
        LengthField().clean("  ")


def test_a_number_may_have_a_comma():
    assert NumberField().clean("27,5") == 27.5
    for typed in ("nan", "inf", "many"):
        with pytest.raises(ValidationError):
            NumberField().clean(typed)


def test_kept_lengths_are_shown_in_metres_and_typed_ones_as_typed():
    assert LengthField().prepare_value(2500) == "2.5"
    assert LengthField().prepare_value(4000) == "4"
    assert LengthField().prepare_value("2,5") == "2,5"
