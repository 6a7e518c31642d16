"""A sensor's message is read without trust."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnruns.sensing.message import MOST_READINGS, RANGES, MessageError, Refused, Sent, read, rows

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)
WHOLE = {"quantity": "dry_bulb_c", "value": 51.2, "at": "2026-03-01T11:59:00Z", "probe": "1"}

ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


def one(**given):
    return next(iter(read([WHOLE | given], NOW)))


def test_a_whole_reading_is_taken():
    assert one() == Sent("dry_bulb_c", "1", int(NOW.timestamp()) - 60, 51.2)


def test_without_a_time_the_arrival_counts():
    row = {name: value for name, value in WHOLE.items() if name != "at"}
    assert next(iter(read([row], NOW))).second == int(NOW.timestamp())


@pytest.mark.parametrize("at", ["2026-03-01T13:59:00+02:00", int(NOW.timestamp()) - 60, float(NOW.timestamp()) - 59.5])
def test_a_time_with_another_offset_or_in_seconds_is_the_same(at):
    assert one(at=at).second == int(NOW.timestamp()) - 60


@pytest.mark.parametrize(
    ("given", "fate"),
    [
        ({"value": "51"}, "garbled"),
        ({"value": True}, "garbled"),
        ({"value": float("nan")}, "garbled"),
        ({"value": 10**400}, "garbled"),
        ({"value": None}, "garbled"),
        ({"quantity": "dry_bulb_f"}, "garbled"),
        ({"quantity": ["dry_bulb_c"]}, "garbled"),
        ({"probe": "no spaces"}, "garbled"),
        ({"probe": {"a": 1}}, "garbled"),
        ({"at": "yesterday"}, "garbled"),
        ({"at": "2026-03-01T11:59:00"}, "garbled"),
        ({"at": 1e300}, "garbled"),
        ({"value": 850.0}, "out_of_range"),
        ({"value": -127.0}, "out_of_range"),
        ({"at": (NOW + timedelta(minutes=6)).isoformat()}, "ahead"),
        ({"at": (NOW - timedelta(days=3, seconds=1)).isoformat()}, "late"),
    ],
)
def test_what_can_not_be_kept_is_refused_with_its_reason(given, fate):
    refused = one(**given)
    assert isinstance(refused, Refused)
    assert (refused.index, refused.fate) == (0, fate)
    assert refused.why


@pytest.mark.parametrize("body", [b"", b"[", b"[]", b"{}", b'{"readings": 3}', b"\xff\xfe", b"[" * 100_000])
def test_what_is_no_message_says_what_one_is(body):
    with pytest.raises(MessageError):
        rows(body)


def test_too_many_at_a_time_are_refused_whole():
    with pytest.raises(MessageError, match="1000 at a time"):
        rows(json.dumps({"readings": [0] * (MOST_READINGS + 1)}))


@given(st.lists(ANYTHING | st.fixed_dictionaries(dict.fromkeys(WHOLE, ANYTHING)), max_size=5))
def test_nothing_at_all_breaks_the_reader_and_each_row_has_one_fate(found):
    fates = list(read(found, NOW))
    assert len(fates) == len(found)
    for fate in fates:
        if isinstance(fate, Sent):
            low, high = RANGES[fate.quantity]
            assert low <= fate.value <= high
