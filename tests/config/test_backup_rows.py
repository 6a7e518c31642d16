"""Rows as lines of a backup: exact, in whatever order they are counted."""

import math
from datetime import UTC, date, datetime
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from config.backup.rows import line_of, read, sum_of
from yard.models import Event, Outlook, Receipt, Stack

moments = st.datetimes(datetime(1970, 1, 1), datetime(2200, 1, 1)).map(lambda one: one.replace(tzinfo=UTC))
days = st.dates(date(1970, 1, 1), date(2200, 1, 1))
floats = st.floats(allow_nan=False, allow_infinity=False)
words = st.text(st.characters(exclude_characters="\x00", exclude_categories=["Cs"]), max_size=40)
trees = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | floats | words,
    lambda one: st.lists(one, max_size=3) | st.dictionaries(words, one, max_size=3),
    max_leaves=8,
)


def same(row, model):
    again = read(model, line_of(row))
    for field in model._meta.concrete_fields:
        assert getattr(row, field.attname) == getattr(again, field.attname), field.name


@given(note=words, thickness=floats, cut_on=days, made_at=moments, used_at=st.none() | moments)
def test_figures_days_and_moments_come_back_to_the_last_bit(note, thickness, cut_on, made_at, used_at):
    stack = Stack(pk=7, species_id=1, place_id=2, code="234567ABCD", note=note, cut_on=cut_on)
    stack.thickness_mm, stack.made_at, stack.used_at = thickness, made_at, used_at
    same(stack, Stack)
    assert math.copysign(1, read(Stack, line_of(stack)).thickness_mm) == math.copysign(1, thickness)


@given(details=st.dictionaries(words, trees, max_size=4), at=moments)
def test_what_is_kept_as_a_tree_comes_back(details, at):
    same(Event(pk=1, stack_id=1, kind="read", at=at, details=details), Event)


@given(key=st.uuids(), curve=trees)
def test_other_keys_come_back(key, curve):
    receipt = Receipt(key=key)
    assert read(Receipt, line_of(receipt)).key == UUID(str(key))
    outlook = Outlook(stack_id=3, as_of=date(2026, 1, 1), reachable_pct=9.5, curve=curve, chance=[], made_at=None)
    same(outlook, Outlook)


@given(st.lists(st.binary(min_size=1, max_size=30), unique=True, max_size=20), st.randoms())
def test_the_sum_of_a_table_tells_other_rows_but_not_another_order(lines, chance):
    shuffled = list(lines)
    chance.shuffle(shuffled)
    assert sum_of(shuffled).checksum == sum_of(lines).checksum
    if lines:
        changed = [lines[0] + b"x", *lines[1:]]
        assert sum_of(changed).checksum != sum_of(lines).checksum
        assert sum_of([*lines, lines[0]]).checksum != sum_of(lines).checksum
