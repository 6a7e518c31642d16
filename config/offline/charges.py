"""What a phone keeps of a charge: enough to load, start, visit, close and unload it without reception."""

from datetime import timedelta
from typing import Any

from django.db.models import Prefetch, Q
from django.utils import timezone

from kilnruns.closing.due import due
from kilnruns.models import Charge, ChargeStack, FinalMeasurement, StressTest
from yard.measures.told import celsius, m3, metres, mm
from yard.models import SampleBoard
from yard.templatetags.amounts import pct

CLOSED = timedelta(days=14)
"""After its unloading a charge is still measured, and its degrade noted."""


def open_charges() -> Any:
    """Planned, in the kiln or unloaded lately, with all that `charge_row` shows, in a fixed number of queries."""
    waiting = StressTest.objects.filter(kind=StressTest.Kind.PRONG, rested_mm=None, voided_at=None)
    final = FinalMeasurement.objects.filter(reading__voided_at=None).select_related("reading")
    return (
        Charge.objects.filter(called_off_at=None)
        .filter(Q(unloaded_at=None) | Q(unloaded_at__gte=timezone.now() - CLOSED))
        .select_related("kiln__place")
        .prefetch_related(
            "stacks__stack__sample_boards",
            "stacks__stack__lines",
            Prefetch("stress_tests", waiting.select_related("stack"), to_attr="to_look_at"),
            Prefetch("final_measurements", final, to_attr="measured"),
        )
    )


def charge_row(charge: Any) -> dict[str, Any]:
    """`samples`: key, name, oven-dry mass; `tests`: prongs that wait for their second look; `steps` to run it by."""
    read = {one.reading.stack_id: one.reading.moisture_pct for one in charge.measured}
    boards = [board for s in charge.stacks.all() if not s.unloaded_at for board in s.stack.sample_boards.all()]
    return {
        "id": charge.pk,
        "name": str(charge.kiln),
        "state": charge.state,
        "start": charge.start_on.isoformat(),
        "began": charge.started_at and timezone.localtime(charge.started_at).isoformat(timespec="minutes"),
        "m3": m3(charge.volume_m3, 1),
        "stacks": [_stack(item, read.get(item.stack_id)) for item in charge.stacks.all()],
        "samples": [_board(board) for board in boards],
        "tests": [_test(one) for one in charge.to_look_at],
        "steps": [_step(number, one) for number, one in enumerate(charge.course.get("steps", []), 1)],
    }


def _board(board: SampleBoard) -> dict[str, Any]:
    row = {"board": board.pk, "label": board.label, "dry": round(board.oven_dry_mass_g)}
    return {**row, "byMeter": True} if board.provisional else row


def _stack(item: ChargeStack, final_pct: float | None) -> dict[str, Any]:
    """Code, key, volume, whether it is in and whether it is out; its last final measurement, and how it is taken."""
    row = {
        "code": item.stack.code,
        "key": item.stack_id,
        "m3": m3(item.volume_m3),
        "in": bool(item.loaded_at),
        "out": bool(item.unloaded_at),
        "final": pct(final_pct) if final_pct is not None else "",
    }
    found = due(item.stack)
    if found is None:
        return row
    depths = {"deep": found.depth_mm, "edge": found.from_edge_mm, "core": found.core_mm, "shell": found.shell_mm}
    row |= {name: mm(value, 0) for name, value in depths.items()}
    return {**row, "due": found.boards, "of": found.of, "along": ", ".join(map(metres, found.from_end_mm))}


def _test(test: StressTest) -> dict[str, Any]:
    on = timezone.localtime(test.at).date().isoformat()
    return {"test": test.pk, "code": test.stack.code, "on": on, "prong": mm(test.prong_mm), "fresh": mm(test.fresh_mm)}


def _step(number: int, step: dict[str, Any]) -> dict[str, Any]:
    """In words, as its table has it; the first begins with the run."""
    air = {"dry": celsius(step["dry_bulb_c"]), "wet": celsius(step["wet_bulb_c"]), "rh": pct(step["humidity_pct"], 0)}
    return {"n": number, "from": pct(step["from_pct"], 0) if number > 1 else "", **air}
