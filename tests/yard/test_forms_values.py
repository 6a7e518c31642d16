"""Several numbers in one field."""

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from yard.fields.values import ValuesField

FIELD = ValuesField(least=3, most=150)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("24,1 22.6 25", [24.1, 22.6, 25]),
        ("  24.1;22,6\n25 ", [24.1, 22.6, 25]),
        ("24.1, 22.6, 25", [24.1, 22.6, 25]),
        ("7.", [7]),
    ],
)
def test_blanks_semicolons_and_lines_part_values_and_a_comma_is_a_decimal_sign(text, values):
    assert FIELD.clean(text) == values


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("24,1,22", "none"),
        ("-5", "none"),
        ("1e1", "none"),
        ("2", "low"),
        ("151", "high"),
        ("20 " * 61, "many"),
    ],
)
def test_what_is_no_value_is_refused_with_its_reason(text, code):
    with pytest.raises(ValidationError) as refusal:
        FIELD.clean(text)
    assert refusal.value.code == code


def test_a_forgotten_decimal_sign_is_guessed_in_the_hint():
    with pytest.raises(ValidationError, match=r"24\.1"):
        FIELD.clean("241")
    with pytest.raises(ValidationError, match=r"24\.1"):
        FIELD.clean("2410")


@given(st.lists(st.integers(30, 1500), min_size=1, max_size=60))
def test_what_is_shown_again_reads_the_same(tenths):
    values = [tenth / 10 for tenth in tenths]
    assert FIELD.clean(FIELD.prepare_value(values)) == values
