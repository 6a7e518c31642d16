"""The sensors' address keeps to its own description: every call that the OpenAPI document allows, and many it does not.

The calls are made from the document alone, and each answer is held against what the document says of its status.
"""

import json
from copy import deepcopy
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openapi_schema_validator import OAS31Validator

from kilnruns.actions.sensing import add_device
from kilnruns.models import SensorDevice, SensorReading
from kilnruns.sensing.openapi import description
from tests.kilnruns.factories import KilnFactory
from yard.models import Tries

pytestmark = pytest.mark.django_db
DOCUMENT = description("https://yard.example")
[(PATH, ROUTE)] = DOCUMENT["paths"].items()
RESPONSES = ROUTE["post"]["responses"]
MESSAGE = ROUTE["post"]["requestBody"]["content"]["application/json"]["schema"]
# One database for all examples of a test: what they keep adds up, which the checks below allow for.
many = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])

ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


def whole(schema: dict[str, Any]) -> dict[str, Any]:
    """A schema of the document that can be checked by itself."""
    return deepcopy(schema) | {"components": DOCUMENT["components"]}


def rfc3339(moment: datetime, marks: tuple[str, str], digits: int) -> str:
    """A moment as the RFC lets it be written: T and Z in either case, any number of digits to the second."""
    fraction = f".{moment.microsecond:06d}000"[: digits + 1] if digits else ""
    return f"{moment:%Y-%m-%d}{marks[0]}{moment:%H:%M:%S}{fraction}{marks[1]}"


def moments() -> st.SearchStrategy[str]:
    some = st.datetimes(datetime(1970, 1, 1), datetime(2200, 1, 1))
    near = st.integers(0, 5 * 86400).map(lambda ago: datetime.now(UTC) - timedelta(seconds=ago))
    marks = st.tuples(st.sampled_from("Tt"), st.sampled_from(["Z", "z", "+00:00", "-00:00", "+05:30", "-11:00"]))
    return st.builds(rfc3339, some | near, marks, st.integers(0, 9))


def allowed(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    """What a schema of the document allows; a keyword that is not known here fails rather than being passed over."""
    known = {"$ref", "description", "type", "enum", "pattern", "format", "oneOf", "items", "maxItems", "required"}
    assert set(schema) <= known | {"properties", "minimum", "maximum"}, schema
    if "$ref" in schema:
        return allowed(DOCUMENT["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]])
    if "oneOf" in schema:
        return st.one_of([allowed(one) for one in schema["oneOf"]])
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    return {"object": _object, "array": _array, "string": _string, "number": _figure}[schema["type"]](schema)


def _object(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    fields = {name: allowed(one) for name, one in schema["properties"].items()}
    must = {name: fields.pop(name) for name in schema["required"]}
    return st.fixed_dictionaries(must, optional=fields)


def _array(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    return st.lists(allowed(schema["items"]), max_size=6)


def _string(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    if schema.get("format") == "date-time":
        return moments()
    return st.from_regex(schema["pattern"].removeprefix("^").removesuffix("$"), fullmatch=True)


def _figure(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    low, high = schema.get("minimum"), schema.get("maximum")
    wide = st.integers(low, high) | st.floats(low, high, allow_nan=False, allow_infinity=False)
    return wide | st.floats(-40, 100)  # what a kiln has, more often


@pytest.fixture
def token(owner):
    return add_device(kiln=KilnFactory(), name="Rear wall", by=owner)[1]


def call(body: bytes | str, **headers: str) -> Any:
    """Post it; the answer was told of in the document, in form and content, or this fails."""
    kind = headers.pop("content_type", "application/json")
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    answer = Client(enforce_csrf_checks=True).post(PATH, body, kind, headers=named)
    told = RESPONSES[str(answer.status_code)]
    [(content, described)] = told["content"].items()
    assert answer["Content-Type"] == content
    OAS31Validator(whole(described["schema"])).validate(answer.json())
    for name in told.get("headers", {}):
        assert answer[name]
    return answer


@many
@given(message=allowed(MESSAGE))
def test_what_the_document_allows_is_answered_with_the_fate_of_each_reading(token, message):
    before = SensorReading.objects.count()
    answer = call(json.dumps(message), Authorization=f"Bearer {token}")
    assert answer.status_code == 200
    told = answer.json()
    assert told["kept"] + told["doubled"] + len(told["refused"]) == len(message["readings"])
    assert SensorReading.objects.count() == before + told["kept"]
    assert not [one for one in told["refused"] if one["fate"] == "garbled"], "the document allows it"


@many
@given(message=st.builds(lambda rows: {"readings": rows}, st.lists(ANYTHING, max_size=4)) | ANYTHING, data=st.data())
def test_what_the_document_does_not_allow_is_refused_as_it_says(token, message, data):
    body = json.dumps(message)
    by_the_document = OAS31Validator(whole(MESSAGE)).is_valid(message)
    answer = call(body, Authorization=f"Bearer {token}")
    if by_the_document:
        assert answer.status_code == 200
    elif answer.status_code == 200:  # a message with readings that are none, each of them named
        assert answer.json()["refused"]
    call(data.draw(st.binary(max_size=40)), Authorization=f"Bearer {token}")


@many
@given(reading=allowed({"$ref": "#/components/schemas/Reading"}), field=st.sampled_from(["quantity", "value", "at"]))
@pytest.mark.parametrize("wrong", [None, True, [], {}, "", "dry"])
def test_one_wrong_field_is_garbled_and_named(token, wrong, reading, field):
    told = call(json.dumps({"readings": [reading | {field: wrong}]}), Authorization=f"Bearer {token}").json()
    assert [(one["index"], one["fate"]) for one in told["refused"]] == [(0, "garbled")]


@many
@given(stated=st.text(st.characters(min_codepoint=32, max_codepoint=255, exclude_characters="\x7f"), max_size=30))
def test_any_other_sign_in_is_a_401_and_keeps_nothing(token, stated):
    Tries.objects.all().delete()  # too many of them are a 429 (tests/config/test_limits.py)
    message = json.dumps({"readings": [{"quantity": "dry_bulb_c", "value": 50}]})
    for given_header in (stated, f"Bearer {stated}", f"Bearer {token[:13]}{stated}"):
        assert call(message, Authorization=given_header).status_code == 401
    assert not SensorReading.objects.exists()


@pytest.mark.parametrize("kind", ["", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data"])
@pytest.mark.parametrize("extra", [{}, {"Idempotency_Key": "x"}, {"X_Drystack_Outbox": "1"}, {"HX_Request": "true"}])
def test_a_device_that_names_another_kind_of_content_is_heard_all_the_same(token, kind, extra):
    body = json.dumps({"readings": [{"quantity": "dry_bulb_c", "value": 50}]})
    answer = call(body, content_type=kind, Authorization=f"Bearer {token}", **extra)
    assert (answer.status_code, answer.json()["kept"]) == (200, 1)


@pytest.mark.parametrize(
    ("length", "status"),
    [("", 400), ("abc", 400), ("-5", 400), ("1e3", 400), ("\u00b2", 400), ("9" * 18, 413), ("9" * 40, 400)],
)
def test_a_length_that_is_none_breaks_nothing(token, length, status):
    body = json.dumps({"readings": [{"quantity": "dry_bulb_c", "value": 50}]})
    headers = {"Authorization": f"Bearer {token}"}
    answer = Client().post(PATH, body, "application/json", headers=headers, CONTENT_LENGTH=length)
    assert answer.status_code == status
    OAS31Validator(whole({"$ref": "#/components/schemas/Error"})).validate(answer.json())
    assert not SensorReading.objects.exists()


def test_the_longest_list_that_is_allowed_is_taken_and_one_more_is_not(token):
    most = DOCUMENT["components"]["schemas"]["Message"]["properties"]["readings"]["maxItems"]
    rows = [{"quantity": "dry_bulb_c", "value": 50}] * most
    assert call(json.dumps({"readings": rows}), Authorization=f"Bearer {token}").status_code == 200
    assert call(json.dumps({"readings": [*rows, rows[0]]}), Authorization=f"Bearer {token}").status_code == 400
    assert SensorDevice.objects.get().garbled == 1


def test_milliseconds_are_told_from_seconds_and_small_letters_are_a_time(token):
    now = datetime.now(UTC) - timedelta(minutes=1)
    small = rfc3339(now, ("t", "z"), 3)
    rows = [{"quantity": "wood_c", "value": 50, "at": at} for at in (now.timestamp() * 1000, small)]
    told = call(json.dumps({"readings": rows}), Authorization=f"Bearer {token}").json()
    assert (told["kept"], [one["fate"] for one in told["refused"]]) == (1, ["garbled"])


@pytest.mark.parametrize("method", ["get", "put", "patch", "delete", "options", "head"])
def test_no_other_method_than_the_document_s_is_taken(token, method):
    assert method not in ROUTE
    answer = getattr(Client(), method)(PATH, headers={"Authorization": f"Bearer {token}"})
    assert (answer.status_code, answer["Allow"]) == (405, "POST")
