"""The last measured moisture of a stack or of one of its boards, as facts."""

from datetime import timedelta
from statistics import stdev
from typing import Any

from django.utils import timezone

from kilnruns.papers.runs import Run
from yard.models import Board, Method

SAME_DAY = timedelta(hours=12)  # so long before the last stack is out the boards may be measured in the kiln


def moisture_of(stack: Any, board: Board | None, run: Run | None, depth_mm: float | None) -> dict[str, Any] | None:
    """The latest valid reading, of the board itself where it has one; None where there is none.

    `before_run`: it was taken before the kiln run ended, so that it does not tell what the wood has since.
    `depth_mm` is what the person says who issues the paper; it is for pins alone.
    """
    reading = _latest(stack, board)
    if reading is None:
        return None
    values = [float(value) for value in reading.corrected_pct] or [reading.moisture_pct]
    final = run.final if run else None
    is_final = final is not None and reading.pk == final.reading_id
    ended = run.charge.unloaded_at if run else None
    return {
        "method": reading.method,
        "on": timezone.localtime(reading.taken_at).date().isoformat(),
        "count": len(values),
        "mean_pct": round(reading.moisture_pct, 2),
        "sd_pct": round(stdev(values), 2) if len(values) > 1 else None,
        "low_pct": round(min(values), 2),
        "high_pct": round(max(values), 2),
        "one_a_board": is_final,
        "of_stack": board is not None and reading.board_id is None,
        "before_run": bool(ended and not is_final and reading.taken_at < ended - SAME_DAY),
        "depth_mm": depth_mm if reading.method == Method.PINS else None,
        "wood_temperature_c": reading.wood_temperature_c,
        "core_shell": core_shell(final) if is_final else None,
    }


def _latest(stack: Any, board: Board | None) -> Any:
    """Of its own, or else the stack's."""
    own = [row for row in stack.valid_readings if board and row.board_id == board.pk]
    rows = own or [row for row in stack.valid_readings if row.board_id is None]
    return rows[-1] if rows else None


def core_shell(final: Any) -> dict[str, Any] | None:
    pairs = final.pairs_pct
    if not pairs:
        return None
    core, shell = ([float(pair[side]) for pair in pairs] for side in (0, 1))
    return {
        "count": len(pairs),
        "core_pct": round(sum(core) / len(core), 2),
        "shell_pct": round(sum(shell) / len(shell), 2),
    }
