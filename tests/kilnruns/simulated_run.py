"""A kiln's whole run, from the proposal to the report, driven through the app's own pages by an operator who looks once
or twice a day. The wood is not the model's: finer cells, other laws of diffusion and of the face
(tests/bench/true_drying), boards that differ, a balance that is read to a gram. All invented."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.utils import timezone

from drying import watch, wood
from kilnruns.models import Charge
from tests.bench.true_drying import SECONDS, WIDTHS, TrueBoards, _step
from tests.factories import OutlookFactory, PlaceFactory, StackFactory
from tests.kilnruns.factories import propose, tally
from yard.models import SampleBoard, Stack

OVEN_DRY_G = 1000.0
HOURS = SECONDS / 3600
SPEEDS = np.array([1.25, 1.1, 1.0, 0.9, 0.8])  # of the boards, to the middling one


class Wood:
    """Five boards of a stack in the kiln's air; `limit_passed_h`: when the middling board's own gradient passed what
    it bears (`watch.ACT`), None while it has not."""

    def __init__(self, stack: Stack, moisture: float, inside_m2_s: float) -> None:
        count, ones = len(SPEEDS), np.ones(len(SPEEDS))
        self.stack = stack
        self.boards = TrueBoards(
            initial=moisture * ones,
            half_m=stack.thickness_mm / 2000 * ones,
            inside_m2_s=inside_m2_s * SPEEDS,
            activation_k=4300.0 * ones,
            slope=5.0 * ones,
            emission_m_s=1.5e-7 * ones,
            capped=ones,
            free=ones,
            frost=ones,
            uncovered=0 * ones,
        )
        self.profile = np.full((len(WIDTHS), count), moisture)
        self.hours, self.limit_passed_h = 0.0, None

    @property
    def moisture_pct(self) -> np.ndarray:
        return 100 * (WIDTHS @ self.profile)

    def stand(self, hours: float, dry_bulb_c: float, humidity_pct: float) -> None:
        """In steady air for so long, a multiple of HOURS."""
        slow = np.exp(-self.boards.activation_k * (1 / (dry_bulb_c + 273.15) - 1 / 293.15))
        pull = np.exp(5280 * (1 / 293.15 - 1 / (dry_bulb_c + 273.15)))  # about as saturation pressure
        emission, emc = self.boards.emission_m_s * pull * 2, wood.equilibrium_moisture_pct(dry_bulb_c, humidity_pct)
        for _ in range(round(hours / HOURS)):
            inside = self.boards.inside_m2_s * slow
            self.profile = _step(self.profile, self.boards, inside, emission, np.full(len(SPEEDS), float(emc) / 100))
            self.hours += HOURS
            if self.limit_passed_h is None and self._index(dry_bulb_c) > watch.ACT:
                self.limit_passed_h = self.hours

    def _index(self, dry_bulb_c: float) -> float:
        saturation = float(wood.equilibrium_moisture_pct(dry_bulb_c, 100))
        if self.moisture_pct[2] < max(saturation, 100 * self.boards.initial[0] * 2 / 3):
            return 0.0
        safe = min(watch.GROUP_SAFE_EMC_PCT[self.stack.species.drying_group], saturation - 5)
        middling = 100 * self.profile[:, 2]
        return float(watch.stress_index(middling[:, None], WIDTHS, middling[-1], saturation, safe)[0])


@dataclass
class Clock:
    """The app's clock, which the tests turn on."""

    now: datetime

    def on(self, hours: float) -> None:
        self.now += timedelta(hours=hours)


@dataclass
class Visit:
    """What the run's page said after a visit: the next thing's code, and the watches by code."""

    hours: float
    next: str
    watches: dict[str, Any]
    air: tuple[float, float]


@dataclass
class Run:
    """A charge in the kiln, its wood, and its operator's visits. `air` says what the kiln is set to after what the page
    asked for."""

    client: Any
    charge: Charge
    wood: Wood
    clock: Clock
    visits: list[Visit] = field(default_factory=list)
    meter_kwh: float = 1200.0

    def post(self, path: str, **data: Any) -> Any:
        answer = self.client.post(f"/charges/{self.charge.pk}/{path}", data)
        assert answer.status_code == 302, answer.context and [form.errors for form in [answer.context["form"]]]
        return answer

    def visit(self, air: tuple[float, float], note: dict[str, Any]) -> Visit:
        """Weigh the boards and note the air that there is, and what is set."""
        boards = SampleBoard.objects.filter(stack=self.wood.stack).order_by("label")
        masses = dict(zip(boards, self.wood.moisture_pct, strict=True))
        weighed = {f"mass_{board.pk}": f"{OVEN_DRY_G * (1 + pct / 100):.0f}" for board, pct in masses.items()}
        seen = {"dry_bulb_c": f"{air[0]:.1f}", "humidity_pct": f"{air[1]:.0f}", "meter_kwh": f"{self.meter_kwh:.0f}"}
        self.post("records/new/", **weighed, **seen, **note)
        return self.look(air)

    def look(self, air: tuple[float, float]) -> Visit:
        page = self.client.get(f"/charges/{self.charge.pk}/")
        watches = {one.code: one for one in page.context["watches"]}
        told = Visit(self.wood.hours, page.context["next"].code, watches, air)
        self.visits.append(told)
        self.next = page.context["next"]
        return told

    def stand(self, hours: float, air: tuple[float, float]) -> None:
        self.wood.stand(hours, *air)
        self.clock.on(hours)
        self.meter_kwh += 1.5 * hours


def begin(client: Any, clock: Clock, kiln: Any, species: Any, moisture_pct: float, pace: float, **stack: Any) -> Run:
    """A stack proposed, accepted, loaded by its tag, the kiln started; `pace`: the wood's coefficient inside, m²/s."""
    day = timezone.localdate()
    given = StackFactory(species=species, target_pct=8, **stack)
    curve = {"day": [day.toordinal()], **{name: [moisture_pct] for name in ("p10", "p50", "p90")}}
    OutlookFactory(stack=given, curve=curve, ready_p50=day)
    proposal = propose(kiln, {given: tally(given)}, start_on=day)
    assert client.post(f"/proposals/{proposal.pk}/charge/").status_code == 302
    charge = Charge.objects.get()
    for label in "ABCDE":
        SampleBoard.objects.create(
            stack=given, label=label, green_mass_g=2 * OVEN_DRY_G, oven_dry_mass_g=OVEN_DRY_G, made_on=day
        )
    run = Run(client, charge, Wood(given, moisture_pct / 100, pace), clock)
    run.post("loading/", code=given.code)
    run.post("start/")
    charge.refresh_from_db()
    return run


def finish(run: Run) -> None:
    """Out of the kiln to a store, twelve boards measured, and what became of them."""
    code = run.wood.stack.code
    run.post("unloading/", code=code, place=PlaceFactory(kind="closed_store").pk)
    values = " ".join(f"{one:.1f}" for one in np.resize(run.wood.moisture_pct, 12))
    run.post(f"closing/{code}/", method="capacitance", values=values, core="", shell="", dried_mm="")


def as_asked(next_thing: Any) -> tuple[tuple[float, float], dict[str, Any]]:
    """The air that the page calls for, and what is noted of the setting."""
    setting = next_thing.setting
    note: dict[str, Any] = {"phase": setting.phase}
    if setting.step and setting.phase == "drying":
        note["step"] = setting.step
    return (setting.dry_bulb_c, setting.humidity_pct), note


Asked = Callable[[Any], tuple[tuple[float, float], dict[str, Any]]]
