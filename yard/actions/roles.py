"""What each role may do, by the names of addresses: one table, which the middleware keeps to at every request and the
templates ask (`{% if user|may:"paper_new" %}`), so that nobody is shown a button that is refused.

What is not in the table is closed to all but owners and operators. Looking (GET) is open to everybody who is signed in,
but for what owners alone see, for money, and for pages that are nothing but the form of something one may not send.
"""

from typing import Any

from django.utils.translation import gettext as _

from yard.models import Person, Role

OWNER = "owner"
RANKS = (Role.GUEST.value, Role.HAND.value, Role.OPERATOR.value, OWNER)
"""From least to most: each may do what those before it may."""

BY_ANYBODY = frozenset({
    "logout", "reminders", "calendar_new", "calendar_end", "push_device_new", "push_device_try", "push_device_end",
    "stack_preview", "scan", "me", "second_factor", "second_factor_codes", "second_factor_end", "sign_in_end",
    "look", "first_day",
})  # fmt: skip
"""Reminders of one's own, and what changes nothing: a form's figures, looking a tag up."""
BY_HANDS = frozenset({
    # stacks, boards and their tags
    "stack_new", "tag_board", "tag_replaces", "stack_edit", "stack_move", "stack_split", "stack_join", "stack_use",
    "stack_retag", "board_retag", "stack_photos", "photo_remove", "photo_put_back", "stack_boards", "stack_samples",
    "stack_note", "tag_sheet", "reading_new", "reading_void", "undo", "sort_out_one",
    # needs
    "need_new", "need", "need_met", "need_line_new", "need_line", "need_reserve", "need_release",
    # loading, the run, its end
    "charge_loading", "charge_take_back", "charge_unloading", "charge_measure", "charge_stress", "charge_look_again",
    "charge_degrade", "stress_test", "run_record_new", "run_record_void", "run_photo_new", "pins_left",
})  # fmt: skip
BY_OPERATORS = frozenset({
    # plans
    "plans", "planning", "planning_cancel", "planning_best", "proposal_charge", "proposal_choose",
    "fixing_new", "fixing", "fixing_cost", "fixing_lift",
    # runs
    "charge_start", "charge_call_off", "charge_schedule", "charge_schedule_restore", "charge_costs",
    # what is told to others, and what the yard has learned
    "paper_new", "need_promise", "learned_stack", "place_new", "place", "place_weather", "place_weather_remove",
    "former_kind_remove", "stack_costs", "exchange_sheet", "exchange_sent",
})  # fmt: skip
"""What decides on kilns, plans and promises, or on many stacks at once."""
BY_OWNERS = frozenset({
    # kilns, days and rules
    "kiln_new", "kiln", "kiln_trust", "kiln_lesson", "kiln_closures", "closure_new", "closure", "closure_lift",
    "charge_schedule_for_kiln", "kiln_schedule_drop", "drying_group_new", "drying_group", "drying_group_dissolve",
    "drying_group_move", "planning_rules", "planning_rules_usual", "loading_days", "days_off", "day_off",
    "day_off_lift", "sensor_new", "sensor_token", "sensor_shut_out", "paper_link", "paper_link_end",
    "paper_withdraw", "species_new", "species", "mill_figures", "mill_figures_usual", "prices", "learned_reset",
    "photo_delete",
    # people and backups
    "people", "person_password", "person_invite", "person_role", "person_sessions", "person_admission",
    "person_factor_end", "invitation_withdraw", "backups", "backup_check",
})  # fmt: skip
BY_STRANGERS = frozenset({"login", "sign_in_code", "welcome", "invitation", "sensor_readings"})
"""Before there is a role: each has its own test of who may."""

FORMS = frozenset({
    "stack_new", "tag_board", "tag_replaces", "stack_edit", "stack_move", "stack_split", "stack_join", "stack_use",
    "stack_retag", "board_retag", "stack_note", "reading_new", "reading_void", "photo_delete", "sort_out_one",
    "need_new", "need_line", "charge_loading", "charge_unloading", "charge_stress", "charge_measure",
    "charge_degrade", "charge_schedule",
    "run_record_new", "run_record_void", "run_photo_new", "pins_left", "fixing_new", "fixing", "paper_new",
    "learned_stack", "learned_reset", "place_new", "stack_costs", "exchange_sheet", "exchange_sent",
    "kiln_new", "closure_new", "closure", "drying_group_new", "drying_group", "drying_group_move", "planning_rules",
    "loading_days", "day_off", "sensor_new", "species_new", "mill_figures", "prices",
})  # fmt: skip
"""Pages that are a form and no more: looked at by those who may send it."""
MONEY = "money"
"""Prices, costs and what wood is worth: a thing to see, no address."""
SEEN = {
    MONEY: Role.OPERATOR.value,
    **dict.fromkeys(("exchange", "exchange_file", "charge_report_csv", "charge_report_json"), Role.OPERATOR.value),
    **dict.fromkeys(("stack_split_done", "stack_retag_done", "board_retag_done"), Role.HAND.value),
    **dict.fromkeys(("people", "people_history", "person_sign_ins", "backups", "backup_file"), OWNER),
}  # fmt: skip
"""What is seen from that role on only."""


def role_of(user: Any) -> str:
    """OWNER or a Role, read once a request."""
    if user.is_staff:
        return OWNER
    if not hasattr(user, "_role"):
        row: Person | None = getattr(user, "person", None)
        user._role = row.role if row else Role.OPERATOR.value
    return str(user._role)


def least_to_send(name: str) -> str:
    """The role from which on one may send (POST and the like) to the address of this name."""
    if name in BY_OWNERS:
        return OWNER
    if name in BY_HANDS:
        return Role.HAND.value
    return Role.GUEST.value if name in BY_ANYBODY | BY_STRANGERS else Role.OPERATOR.value


def least_to_see(name: str) -> str:
    """The role from which on one may look at it."""
    return SEEN.get(name) or (least_to_send(name) if name in FORMS else Role.GUEST.value)


def is_at_least(role: str, least: str) -> bool:
    return RANKS.index(role) >= RANKS.index(least)


def may_send(role: str, name: str) -> bool:
    return is_at_least(role, least_to_send(name))


def may_see(role: str, name: str) -> bool:
    return is_at_least(role, least_to_see(name))


def is_sent(name: str) -> bool:
    """Whether the table knows it as something that is sent."""
    return name in BY_ANYBODY | BY_HANDS | BY_OPERATORS | BY_OWNERS | BY_STRANGERS


def may(user: Any, name: str) -> bool:
    """Whether to offer it: a form to send, or else a page or thing to see. What somebody may not do isn't shown."""
    if not getattr(user, "is_authenticated", False):
        return False
    role = role_of(user)
    return may_see(role, name) and (not is_sent(name) or may_send(role, name))


def words_of(least: str) -> str:
    """Why not, by the role from which on one may."""
    if least == Role.HAND:
        return _("You are a guest here: you may look, not change.")
    if least == OWNER:
        return _("Only an owner of the yard sees or changes this.")
    return _("This is decided by a kiln operator or an owner.")
