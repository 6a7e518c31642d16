"""The next thing to do at a running kiln, as plain data."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from drying.operating import Setting


@dataclass(frozen=True, slots=True)
class NextThing:
    """What to do (`code`) and when it is due; `setting` is the air called for, `set_step` what it was last set to.

    Codes: no_schedule, sample, warm_up, weigh, go_on, back, equalise, condition, cool, unload, wait; while it is
    conditioned stress_test, look_again, hold; steam, steam_on (while it lasts), steam_over. `late_days`: since the
    weighings passed the bound, None where not late. `figures`: moistures in %, days, hours. `by`: what tells of its
    wood, "boards", "pins" left in it, or "both".
    """

    code: str
    due: datetime
    setting: Setting | None = None
    set_step: int | None = None
    vents: str = ""
    late_days: float | None = None
    figures: Mapping[str, float] = field(default_factory=dict)
    by: str = "boards"
