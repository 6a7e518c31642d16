"""What each role may do, by the names of addresses: one table, which the middleware keeps to at every request.

Owners may do all. Looking (GET) is open to everybody who is signed in, but for what owners alone see.
"""

from typing import Any

from yard.models import Person, Role

OWNER = "owner"
OWN_THINGS = frozenset({
    "logout", "reminders", "calendar_new", "calendar_end", "push_device_new", "push_device_try", "push_device_end",
    "stack_preview", "me",
})  # fmt: skip
"""What a guest sends, too: reminders of one's own, and a form's figures, which change nothing."""
DECISIONS = frozenset({
    # plans
    "plans", "planning", "planning_cancel", "planning_best", "proposal_charge", "proposal_choose",
    "fixing_new", "fixing", "fixing_cost", "fixing_lift",
    # kilns and their runs
    "charge_start", "charge_call_off", "charge_schedule", "charge_schedule_restore", "charge_schedule_for_kiln",
    "charge_costs", "kiln_schedule_drop", "kiln_lesson", "kiln_trust", "kiln_closures", "closure_new", "closure",
    "closure_lift", "drying_groups", "drying_group_new", "drying_group", "drying_group_dissolve",
    "drying_group_move", "planning_rules", "planning_rules_usual", "loading_days", "days_off", "day_off",
    "day_off_lift", "sensor_new", "sensor", "sensor_token", "sensor_shut_out",
    # what is told to others, and what the yard has learned
    "paper_new", "paper_withdraw", "paper_link", "paper_link_end", "need_promise", "learned_reset", "learned_stack",
    "learned_kind", "place_new", "place", "place_weather", "place_weather_remove", "former_kind_remove",
    "stack_costs", "exchange_sheet", "exchange_sent",
})  # fmt: skip
"""What a yard hand does not send: it decides on kilns, plans and promises, or on many stacks at once."""


def role_of(user: Any) -> str:
    """OWNER or a Role, read once a request."""
    if user.is_staff:
        return OWNER
    if not hasattr(user, "_role"):
        row: Person | None = getattr(user, "person", None)
        user._role = row.role if row else Role.OPERATOR.value
    return str(user._role)


def may_send(role: str, name: str) -> bool:
    """Whether somebody of this role may send (POST and the like) to the address of this name."""
    if role == Role.GUEST:
        return name in OWN_THINGS
    return role != Role.HAND or name not in DECISIONS
