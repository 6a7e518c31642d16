"""One measured figure of a benchmark, as `manage.py bench` prints it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """`goal` says in words what is wanted; `ok` whether `value` (in `unit`) reaches it."""

    name: str
    value: float
    unit: str
    goal: str
    ok: bool
