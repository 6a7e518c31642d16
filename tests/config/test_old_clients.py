"""What phones of an earlier version kept is taken as they send it: each form of each frozen version, against today's.

A file of tests/yard/operations stays 180 days after the next version came (DEVELOPERS.md); it is never altered.
"""

import json
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from PIL import Image

from kilnruns.actions.charges import load
from kilnruns.actions.starting import start
from kilnruns.models import Charge, Degrade, FinalMeasurement, RunRecord, StressTest
from tests.factories import PlaceFactory, StackFactory, TagFactory, UserFactory
from tests.kilnruns.factories import charge_of, ready_stack
from yard.models import Event, Need, Photo, Reading, SampleBoard, Stack

FROZEN = [json.loads(path.read_text()) for path in Path(__file__).parents[1].joinpath("yard/operations").glob("*.json")]
OPERATIONS = [
    pytest.param(frozen["headers"], operation, id=f"{frozen['client']}-{operation['what']}")
    for frozen in FROZEN
    for operation in frozen["operations"]
]
EFFECTS = (Event, Reading, Stack, SampleBoard, Photo, Need, RunRecord, StressTest, FinalMeasurement, Degrade)


@pytest.fixture
def person(db: None) -> Any:
    return UserFactory()


@pytest.fixture
def names(person: Any) -> dict[str, str]:
    """A yard with all that the operations name."""
    stack, other_place = StackFactory(species__name="Ash"), PlaceFactory()
    sample = SampleBoard.objects.create(
        stack=stack, label="A", green_mass_g=3200, oven_dry_mass_g=1900, made_on="2025-04-03"
    )
    loaded, dried, now = ready_stack(), ready_stack(), timezone.now()
    charge, running = charge_of(loaded, ready_stack()), charge_of(dried, ready_stack())
    board = {"label": "B", "green_mass_g": 1600, "oven_dry_mass_g": 1000, "made_on": "2025-04-03"}
    in_kiln = SampleBoard.objects.create(stack=dried, **board)
    load(charge=running, stack=dried, by=None, at=now)
    start(charge=running, by=None, at=now)
    rows = {"species": stack.species, "place": stack.place, "other_place": other_place, "sample": sample}
    rows |= {"charge": charge, "running": running, "user": person}
    rows |= {"dried_key": dried, "dried_sample": in_kiln} | _in_the_kiln(running, stack, now)
    codes = {"code": stack.code, "blank": TagFactory().code, "loaded": loaded.code, "dried": dried.code}
    codes["in_there"] = rows["loaded_charge"].stacks.get(loaded_at__isnull=False).stack.code
    codes["prongs_key"] = str(rows["prongs"].key)
    times = {"taken": now.isoformat(), "sent": now.isoformat(), "key": str(uuid4())}
    return {name: str(row.pk) for name, row in rows.items()} | codes | times


def _in_the_kiln(running: Charge, stack: Stack, now: Any) -> dict[str, Any]:
    """A charge that waits for its start, prongs for their second look, a board for its oven-dry masses."""
    inside = ready_stack()
    waiting = charge_of(inside, ready_stack())
    load(charge=waiting, stack=inside, by=None, at=now)
    prongs = StressTest.objects.create(
        charge=running, stack=running.stacks.first().stack, kind="prong", at=now, prong_mm=90, fresh_mm=20, key=uuid4()
    )
    board = {"label": "C", "green_mass_g": 3200, "oven_dry_mass_g": 1900, "made_on": "2025-04-03"}
    in_oven = SampleBoard.objects.create(stack=stack, section_masses_g=[[68.0, None]], **board)
    return {"loaded_charge": waiting, "prongs": prongs, "in_oven": in_oven}


def filled(text: str, names: dict[str, str]) -> str:
    for name, value in names.items():
        text = text.replace(f"{{{name}}}", value)
    return text


def body(operation: dict[str, Any], names: dict[str, str]) -> dict[str, Any]:
    fields: dict[str, Any] = {"outbox_words": "[]"}
    for name, value in operation["fields"]:
        fields.setdefault(filled(name, names), []).append(filled(value, names))
    for name in operation.get("files", []):
        out = BytesIO()
        Image.new("RGB", (64, 48)).save(out, "JPEG")
        fields[name] = SimpleUploadedFile("photo.jpg", out.getvalue(), content_type="image/jpeg")
    return fields


def effects() -> list[int]:
    looked_at = StressTest.objects.exclude(rested_mm=None).count()
    started = Charge.objects.exclude(started_at=None).count()
    return [*(model.objects.count() for model in EFFECTS), looked_at, started]


@pytest.mark.parametrize(("headers", "operation"), OPERATIONS)
def test_each_is_applied_as_it_was_sent_then(
    person: Any, names: dict[str, str], headers: dict[str, str], operation: dict[str, Any]
) -> None:
    if operation["what"] == "take back":
        charge = Stack.objects.get(code=names["loaded"]).charge_stacks.get().charge
        load(charge=charge, stack=Stack.objects.get(code=names["loaded"]), by=None, at=timezone.now())
    phone = Client(enforce_csrf_checks=True)
    phone.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    names["csrf"] = phone.get("/probe").json()["csrf"]
    before = effects()
    given = {name: filled(value, names) for name, value in headers.items()}
    answer = phone.post(filled(operation["path"], names), body(operation, names), headers=given)
    assert answer.status_code == 200, answer.content
    told = answer.json()
    assert told["receipt"] == names["key"]
    assert "sort_out" not in told
    assert told["location"].startswith(filled(operation["leads_to"], names))
    assert effects() != before


def test_each_version_in_use_is_frozen() -> None:
    source = Path(__file__).parents[2].joinpath("static/js/outbox.js").read_text()
    used = [frozen for frozen in FROZEN if f'const CLIENT = "{frozen["client"]}"' in source]
    assert sum(len(frozen["operations"]) for frozen in used) >= 29
