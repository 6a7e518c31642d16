"""Two whole runs through the app: an easy softwood by its advice, and a thick hardwood run too hard against it."""

import json

import pytest
from django.utils import timezone

from drying import diffusion
from drying.stresssofar import WoodInside, stress_so_far
from kilnruns.models import Charge, Degrade
from tests.factories import SpeciesFactory
from tests.kilnruns.factories import KilnFactory
from tests.kilnruns.simulated_run import HOURS, Clock, Wood, as_asked, begin, finish

pytestmark = pytest.mark.django_db
LONGEST_VISITS = 200


@pytest.fixture
def clock(monkeypatch):
    turned = Clock(timezone.now())
    monkeypatch.setattr(timezone, "now", lambda: turned.now)
    return turned


def pace_of(model, stack, moisture_pct, air, hours=120.0):
    """The truth's coefficient at which it dries in steady air as far as the model's wood does in some days."""
    [told] = stress_so_far([WoodInside(model, stack["thickness_mm"], moisture_pct, "softwood")], [0], *air, hours)
    low, high = 1e-12, 1e-8
    for _ in range(30):
        middle = (low * high) ** 0.5
        trial = Wood(type("Stack", (), {**stack, "species": None}), moisture_pct / 100, middle)
        trial._index = lambda _c: 0.0
        trial.stand(hours, air[0][0], air[1][0])
        low, high = (low, middle) if trial.moisture_pct[2] < told.mean_pct else (middle, high)
    return (low * high) ** 0.5


def report(client, charge):
    return json.loads(client.get(f"/charges/{charge.pk}/report.json").content)


def figures(told):
    """By section and quantity."""
    return {(row["section"], row["quantity"]): row["value"] for row in told["rows"]}


def by_advice(run, cooling=((30.0, 50.0),)):
    """The operator does what the page says, and looks once a day; late on the third day, twice on none. `cooling`: the
    air while it cools, looked at between."""
    air, note = as_asked_first(run)
    for number in range(LONGEST_VISITS):
        told = run.visit(air, note)
        if told.next == "unload":
            return
        if told.next == "stress_test":
            sizes = {"prong_mm": "100", "fresh_mm": "20", "rested_mm": "20"}
            run.post("stress/?kind=prong", stack=run.wood.stack.code, **sizes, note="")
            told = run.look(air)
        if told.next not in ("wait", "hold", "weigh"):
            air, note = as_asked(run.next)
            run.post("records/new/", **note)
        if told.next == "cool" or run.next.code == "cool":
            run.post("records/new/", phase="cooling")
            for number, air in enumerate(cooling):
                if number:
                    run.visit(cooling[number - 1], {"phase": ""})
                run.stand(2 * HOURS, air)
            air, note = (20.0, 60.0), {"phase": ""}
            continue
        run.stand(36 if number == 3 else 24, air)
        note = {"phase": ""}
    raise AssertionError(f"never done: {run.visits[-1]}")


def as_asked_first(run):
    run.look((20.0, 60.0))
    assert run.visits[-1].next == "sample", "without a weighing nobody knows the step"
    return (20.0, 60.0), {"phase": ""}


def test_an_easy_softwood_run_by_the_advice_ends_in_its_band_even_and_reported(signed_in, clock):
    spruce = SpeciesFactory(name="norway spruce")
    stack = {"thickness_mm": 27.0}
    model = diffusion.Wood(400, 5, float(spruce.rate), 0.45, "softwood")
    kiln = KilnFactory(humidifies=True, heater_kw=12, heater_phases=3)
    pace = 0.9 * pace_of(model, stack, 20.0, ([50.0], [55.0]))
    run = begin(signed_in, clock, kiln, spruce, 20.0, pace, **stack)
    began = clock.now
    by_advice(run)
    days = (clock.now - began).total_seconds() / 86400
    band = run.charge.course["run"]["band"]["days"]
    assert band["low"] <= days <= band["high"] + 3, f"{days} of {band}: three days are conditioning and cooling"
    assert run.wood.limit_passed_h is None
    acts = [code for visit in run.visits for code, one in visit.watches.items() if one.level == "act"]
    assert acts == [], "a run by the advice alarms nobody"
    seen = [visit.next for visit in run.visits]
    order = [seen.index(code) for code in ("sample", "warm_up", "go_on", "cool", "unload") if code in seen]
    assert order == sorted(order)
    assert {"sample", "cool", "unload"} <= set(seen)
    finish(run)
    assert Charge.objects.get().state == "done"
    page = signed_in.get(f"/charges/{run.charge.pk}/report/")
    assert page.status_code == 200
    told = figures(report(signed_in, run.charge))
    assert told["charge", "moisture_after_pct"] == pytest.approx(8, abs=1.0)
    assert told["charge", "moisture_before_pct"] == pytest.approx(20, abs=1.5)


def test_a_kiln_that_cannot_condition_cools_once_and_is_unloaded(signed_in, clock):
    """Weighed each day while it cools, in air that the boards take up water from: cooling stays cooling."""
    spruce = SpeciesFactory(name="norway spruce")
    stack = {"thickness_mm": 27.0}
    model = diffusion.Wood(400, 5, float(spruce.rate), 0.45, "softwood")
    pace = 0.9 * pace_of(model, stack, 16.0, ([50.0], [55.0]))
    run = begin(signed_in, clock, KilnFactory(heater_kw=12, heater_phases=3), spruce, 16.0, pace, **stack)
    by_advice(run, cooling=((45.0, 45.0), (38.0, 55.0), (30.0, 65.0)))
    seen = [visit.next for visit in run.visits]
    first = seen.index("cool")
    assert set(seen[first + 1 : -1]) <= {"wait", "unload"} and seen[-1] == "unload"
    assert len(seen) > first + 3
    assert max(run.wood.moisture_pct) > 8, "the damp air of cooling brought boards back above the target"


def test_a_thick_hardwood_run_too_hard_is_spoken_of_before_its_limit_is_passed(signed_in, clock):
    """After two good days the operator turns the heat up and the vents open, against the advice, and notes it."""
    oak = SpeciesFactory(
        name="white oak", wood_class="hardwood", drying_group="slow_hardwood", basic_density_kg_m3=600, rate=0.32
    )
    stack = {"thickness_mm": 52.0}
    model = diffusion.Wood(600, 1, 0.32, 0.45)
    kiln = KilnFactory(humidifies=True, heater_kw=12, max_temperature_c=70)
    pace = 0.2 * pace_of(model, stack, 60.0, ([45.0], [80.0]))
    run = begin(signed_in, clock, kiln, oak, 60.0, pace, **stack, kiln_entry_pct=60)
    run.visit((20.0, 60.0), {"phase": ""})
    air, note = as_asked(run.next)
    run.stand(HOURS, air)
    run.visit(air, note)
    for _day in range(2):
        run.stand(24, air)
        told = run.visit(air, {"phase": ""})
        if told.next not in ("wait", "weigh", "hold"):
            air, note = as_asked(run.next)
            run.visit(air, note)
    assert not any(one.level == "act" for visit in run.visits for one in visit.watches.values())
    assert run.wood.limit_passed_h is None
    hard, spoke = (58.0, 30.0), None
    for _visit in range(8):
        told = run.visit(hard, {"phase": ""})  # noted when the kiln has come to it
        acting = {code for code, one in told.watches.items() if one.level == "act"}
        if spoke is None and acting & {"stress_ahead", "too_fast"}:
            spoke = run.wood.hours
        run.stand(HOURS * 2, hard)
    assert run.wood.limit_passed_h is not None, "it was run too hard in truth"
    assert spoke is not None
    assert spoke < run.wood.limit_passed_h, "the watch speaks before the wood does"
    assert run.visits[-1].watches["air_dry"].level == "act"
    acts = [code for code, one in run.visits[-1].watches.items() if one.level == "act"]
    assert set(acts) & {"stress_ahead", "too_fast", "air_dry"}
    eased = run.visit((45.0, 88.0), {"phase": "drying", "step": 1})
    assert "stress_past" in eased.watches or "stress_ahead" in eased.watches, "what was done is told"
    finish(run)  # given up: taken out wet, sawn open, and found torn
    code = run.wood.stack.code
    run.post(f"degrade/{code}/", by_volume="", surface_checks="25", honeycomb="10")
    shares = dict(Degrade.objects.values_list("kind", "share_pct"))
    assert (shares["surface_checks"], shares["honeycomb"]) == (25, 10)
    told = [row for row in report(signed_in, run.charge)["rows"] if row["section"] == "degrade"]
    assert {row["value"] for row in told} >= {25, 10}
