"""The sensors' pages, and the address that devices send to."""

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from openapi_spec_validator import validate

from kilnruns.actions.sensing import add_device
from kilnruns.models import SensorDevice, SensorReading
from tests.kilnruns.factories import KilnFactory, SensorDeviceFactory

pytestmark = pytest.mark.django_db
ADDRESS = "/sensors/readings/"
GOOD = {"readings": [{"quantity": "dry_bulb_c", "value": 51.2}, {"quantity": "dry_bulb_c", "value": 999, "at": 0}]}


@pytest.fixture
def token(owner):
    return add_device(kiln=KilnFactory(), name="Rear wall", by=owner)[1]


def post(token, body, **headers):
    client = Client(enforce_csrf_checks=True)
    given = body if isinstance(body, bytes | str) else json.dumps(body)
    return client.post(ADDRESS, given, "application/json", headers={"Authorization": f"Bearer {token}", **headers})


def test_a_device_sends_and_is_told_what_became_of_each_reading(token):
    answer = post(token, GOOD)
    assert answer.status_code == 200
    told = answer.json()
    assert (told["kept"], told["doubled"]) == (1, 0)
    assert told["refused"] == [{"index": 1, "fate": "out_of_range", "why": "999; dry_bulb_c is -40 to 150"}]
    assert SensorReading.objects.get().value == 51.2


@pytest.mark.parametrize("given", ["Bearer nobody.xyz", "Basic abc", "", "Bearer"])
def test_without_its_token_nothing_is_kept(token, given):
    answer = Client().post(ADDRESS, json.dumps(GOOD), "application/json", headers={"Authorization": given})
    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Bearer")
    assert not SensorReading.objects.exists()


def test_a_person_who_is_signed_in_is_no_device(owner_in, token):
    assert owner_in.post(ADDRESS, json.dumps(GOOD), "application/json").status_code == 401


def test_what_is_no_message_is_counted_and_told(token):
    answer = post(token, b"51.2 degrees")
    assert answer.status_code == 400
    assert "not JSON" in answer.json()["error"]
    assert SensorDevice.objects.get().garbled == 1


def test_a_message_too_long_is_refused_unread(token):
    assert post(token, b" " * (129 * 1024)).status_code == 413


def test_a_message_costs_the_same_queries_whatever_its_length(token, django_assert_max_num_queries):
    rows = [{"quantity": "dry_bulb_c", "value": 50, "at": 1_000_000_000 + one} for one in range(900)]
    with django_assert_max_num_queries(12):
        post(token, {"readings": rows})


def test_an_owner_adds_a_device_and_sees_its_token_this_once(owner_in):
    kiln = KilnFactory()
    page = owner_in.post("/sensors/new/", {"kiln": kiln.pk, "name": "Rear wall", "silent_after_minutes": "20"})
    device = SensorDevice.objects.get()
    assert f"{device.key}." in page.content.decode()
    assert f"{device.key}." not in owner_in.get(device.get_absolute_url()).content.decode()
    assert device.silent_after_minutes == 20


@pytest.mark.parametrize(("field", "value"), [("name", ""), ("silent_after_minutes", "1"), ("kiln", "999")])
def test_a_field_that_is_wrong_is_told_and_nothing_typed_is_lost(owner_in, field, value):
    given = {"kiln": KilnFactory().pk, "name": "By the fan", "silent_after_minutes": "45"} | {field: value}
    page = owner_in.post("/sensors/new/", given)
    assert page.status_code == 422
    assert ("By the fan" if field != "name" else "45") in page.content.decode()
    assert not SensorDevice.objects.exists()


def test_the_same_name_twice_in_a_kiln_is_told_at_the_form(owner_in):
    device = SensorDeviceFactory()
    given = {"kiln": device.kiln_id, "name": device.name, "silent_after_minutes": "30"}
    assert owner_in.post("/sensors/new/", given).status_code == 422


def test_only_owners_add_renew_or_shut_out(signed_in):
    device = SensorDeviceFactory()
    for address in ("/sensors/new/", f"/sensors/{device.pk}/token/", f"/sensors/{device.pk}/shut-out/"):
        assert signed_in.post(address).status_code == 403


def test_shut_out_it_is_refused_and_its_page_says_so(owner_in, token):
    device = SensorDevice.objects.get()
    owner_in.post(f"/sensors/{device.pk}/shut-out/")
    assert post(token, GOOD).status_code == 401
    assert "Shut out" in owner_in.get(f"/sensors/{device.pk}/").content.decode()


def test_lists_cost_the_same_queries_however_many_devices(signed_in, django_assert_num_queries):
    for _ in range(2):
        SensorDeviceFactory()
    with django_assert_num_queries(6) as few:
        signed_in.get("/sensors/")
    for _ in range(6):
        SensorDeviceFactory()
    with django_assert_num_queries(len(few)):
        signed_in.get("/sensors/")


def test_a_device_s_page_asks_as_often_for_four_series_as_for_one(
    signed_in, token, django_assert_max_num_queries, django_assert_num_queries
):
    device = SensorDevice.objects.get()

    def send(quantities):
        ago = (timezone.now() - timedelta(minutes=2)).isoformat()
        readings = [{"quantity": one, "value": 41 + step, "at": ago} for step, one in enumerate(quantities)]
        assert post(token, {"readings": readings}).json()["kept"] == len(quantities)

    send(["dry_bulb_c"])
    with django_assert_max_num_queries(30) as few:
        page = signed_in.get(f"/sensors/{device.pk}/")
        count = len(few)
    assert [len(points) for _one, points in page.context["series"]] == [1]
    send(["wet_bulb_c", "humidity_pct", "wood_pct"])
    with django_assert_num_queries(count):
        page = signed_in.get(f"/sensors/{device.pk}/")
    means = {one.quantity: [point.mean for point in points] for one, points in page.context["series"]}
    assert means == {"dry_bulb_c": [41], "wet_bulb_c": [41], "humidity_pct": [42], "wood_pct": [43]}


def test_the_description_is_valid_openapi_and_names_every_quantity(signed_in):
    told = signed_in.get("/sensors/openapi.json").json()
    validate(told)
    from kilnruns.models import Quantity

    assert set(told["components"]["schemas"]["Reading"]["properties"]["quantity"]["enum"]) == set(Quantity.values)


def test_the_guide_shows_the_address_to_send_to(signed_in):
    assert "http://testserver/sensors/readings/" in signed_in.get("/sensors/guide/").content.decode()
