"""What the planner answers: charges, the reason for every stack left out, the gap to the proven bound."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from drying.layout import Layout, PackLayout
from drying.offers import Fixing

Figures = Mapping[str, float | int | str | None]

HELD = "held"
TOO_LONG = "too_long"
TOO_LARGE = "too_large"
TOO_WET = "too_wet"
NO_PARTNERS = "no_partners"
KILN_BLOCKED = "kiln_blocked"
NO_TIME_LEFT = "no_time_left"
SPACE_WORTH_MORE = "space_worth_more"
NARROWLY_OUT = "narrowly_out"
WAIT_FOR_DUE = "wait_for_due"
PART_ONLY = "part_only"
NO_KILN = "no_kiln"
FIXED_OUT = "fixed_out"


@dataclass(frozen=True, slots=True)
class Share:
    """What goes of one stack: `pieces` counts the boards taken from each of its tally lines (whole boards)."""

    code: str
    share: float
    volume_m3: float
    pieces: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PlannedCharge:
    """One run: kiln, first day, days until it is unloaded.

    `space_taken` is the share of the chamber's height (boards) or volume (packs) that the load takes. `fill` is wood
    over the net layer space (boards) or packs over the stacking space; `fill_bound` is a proven upper bound of it for
    all the stock that could have gone along on that day; `of_attainable` = fill / fill_bound. `driver` is the stack
    that sets the days. `cost` is the kiln's, `value` the stacks' in it, both in EUR within the horizon; `late` the
    penalties in EUR that remain.
    """

    kiln: str
    start_day: int
    days: int
    group: str
    shares: tuple[Share, ...]
    volume_m3: float
    fill: float
    fill_bound: float
    of_attainable: float
    space_taken: float
    layout: Layout | PackLayout
    value: float
    cost: float
    late: float
    driver: str
    moisture_from_pct: float
    moisture_to_pct: float
    due_slack_days: int | None = None

    @property
    def end_day(self) -> int:
        return self.start_day + self.days

    @property
    def codes(self) -> tuple[str, ...]:
        return tuple(share.code for share in self.shares)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a stack (or the rest of it) is in no charge; the words are made from `why` and `figures` elsewhere.

    held: until (day or None, where a person's fixing holds it). fixed_out (what is fixed for other stacks leaves
    none of its places): -. too_long: longest_mm, limit_mm, kiln. too_large: kiln, needed (share of that kiln, or None).
    no_kiln (none can dry it to its target): target_pct. too_wet: ready_p10, ready_p50, ready_p90 (days or None),
    moisture_now_pct, target_pct. no_partners: fill, needed, have_m3, needed_m3 (wood that may go along, and that a
    charge would need), cut_by ("volume", "thickness" or "moisture"), group. kiln_blocked: kiln, until. no_time_left:
    ready, horizon. space_worth_more: kiln, day, brings, rent, short (EUR). narrowly_out: kiln, day, brings, rent,
    space_taken (of the emptiest charge it could have joined, if any). wait_for_due: due, latest_start, kiln.
    part_only: share_in, rest_m3, kiln, day.
    """

    code: str
    why: str
    figures: Figures = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Missing:
    """What would fill a charge: `charge` is its index in the plan, or None for a group that lacks stock for one.

    Wood of `group`, between the two thicknesses, of `volume_m3`, ready by `by_day`. `lane_rest_mm` is the commonest
    length left over at the lanes' ends: boards up to it would go in without a new lane (None: no useful rest).
    Boards from `lane_from_mm` to `lane_to_mm` would fill `lanes` of them, `lane_m3` in all.
    """

    charge: int | None
    kiln: str
    group: str
    thinnest_mm: float
    thickest_mm: float
    volume_m3: float
    by_day: int
    lane_rest_mm: float | None
    lane_from_mm: float | None = None
    lane_to_mm: float | None = None
    lanes: int = 0
    lane_m3: float = 0.0


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another choice for a charge of the plan: fuller later, or sooner and less full.

    `gain` is the plan's value with it less that without (EUR; below 0: it costs that much).
    """

    charge: int
    kind: str
    kiln: str
    start_day: int
    days: int
    space_taken: float
    space_taken_now: float
    codes: tuple[str, ...]
    gain: float


@dataclass(frozen=True, slots=True)
class Clash:
    """A rule that a fixing collides with, a clash for each: the plan is made without that fixing.

    By `why`, with its figures (days from day 0, codes of kilns and stacks):
    unknown: stack (not among those to plan for). waits: -. no_such_kiln: kiln. longer: kiln, longest_mm, limit_mm.
    larger: kiln, needed (share of it, or None). cannot_dry: kiln, target_pct. not_ready: start, ready_p10, ready_p50,
    ready_p90. held_back: start, until. outside: start, horizon. no_work_day: start. blocked: kiln, start, begin,
    until, days (of the run, that would last into it). other_group, other_thickness, other_moisture: stack, mine,
    theirs. apart: stack. too_much: kiln, start, share (of the kiln, all that are fixed into that charge). overlap:
    kiln, stack, begin, end (of the other run). other_place: kiln, start (where it is fixed already). no_day: kiln,
    ready. pinned: kiln, start. itself, too_many: -. no_room (planned for, yet no place was found): kiln, start.
    """

    fixing: Fixing
    why: str
    figures: Figures = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Plan:
    """Charges by start and kiln; `value` (EUR) never exceeds `bound`; `gap` = (bound - value) / bound.

    `cut_by_clock` says that time ran out: then another run of the same input may find another plan.
    """

    charges: tuple[PlannedCharge, ...]
    reasons: tuple[Reason, ...]
    value: float
    bound: float
    gap: float
    seconds: float
    cut_by_clock: bool
    alternatives: tuple[Alternative, ...] = ()
    missing: tuple[Missing, ...] = ()
    unmet: tuple[Clash, ...] = ()
    method: str = "columns"
