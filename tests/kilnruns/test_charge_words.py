"""The words about charges: what wood, which step first, what was changed on a schedule."""

from types import SimpleNamespace

import pytest

from drying import schedules
from kilnruns.templatetags import charges

STEPS = [{"from_pct": None}, {"from_pct": 40.0}, {"from_pct": 30.0}, {"from_pct": 20.0}]


def item(species, thickness):
    stack = SimpleNamespace(species=SimpleNamespace(name=species), thickness_mm=float(thickness))
    return SimpleNamespace(stack=stack)


@pytest.mark.parametrize(
    ("items", "words"),
    [
        ([], "Nothing"),
        ([item("ash", 32)], "Ash 32 mm"),
        ([item("ash", 32), item("ash", 27)], "Ash 27 to 32 mm"),
        ([item("ash", 32), item("beech", 32)], "Ash and beech 32 mm"),
        ([item("ash", 32), item("beech", 32), item("oak", 25.5)], "3 woods 25.5 to 32 mm"),
    ],
)
def test_what_wood_is_in_it(items, words):
    assert charges.wood_of(items).replace("\u202f", " ") == words


@pytest.mark.parametrize(
    ("group", "words"), [("softwood@15", "softwood for 15 %"), ("slow_hardwood@8", "slow hardwood for 8 %")]
)
def test_a_drying_group_in_words(group, words):
    assert charges.group_words(group).replace("\u202f", " ") == words


@pytest.mark.parametrize(("wettest", "first"), [(55, None), (40, 40), (31, 40), (30, 30), (12, 20), (None, None)])
def test_a_run_begins_with_the_step_in_force_at_its_wettest_stacks_moisture(wettest, first):
    assert charges.from_moisture(STEPS, wettest)[0]["from_pct"] == first


def test_the_first_step_agrees_with_the_cores():
    given = schedules.schedule("T8-C2")
    steps = [{"from_pct": step.from_moisture_pct, "step": index} for index, step in enumerate(given.steps)]
    for wettest in (80, 40, 33, 22, 15, 9):
        assert charges.from_moisture(steps, wettest)[0]["step"] == int(given.step_index(wettest))


def test_every_note_of_a_fitted_schedule_has_its_sentence():
    doc = schedules.for_wood.__doc__ or ""
    named = [word.strip('",.') for word in doc.split() if word.startswith('"') and "_" in word]
    assert {*named, "capped"} == set(charges.SCHEDULE_NOTES)


def test_only_what_ruled_much_of_the_run_held_it_back():
    assert charges.held_back_by({"schedule": 0.5, "heater": 0.3, "vents": 0.2}) == "the heater and the vents"
    assert charges.held_back_by({"schedule": 0.9, "heater": 0.1}) == ""
