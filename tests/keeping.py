"""What each form keeps of itself in the history of changes, by the name of its address; watched at every form that any
test sends (`watch`, put on by tests/conftest.py), and held to the table of roles by tests/config/test_keeping.py.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection
from django.db.models.signals import post_save
from django.urls import Resolver404, resolve

from yard.models import Change, Stack

KEPT = {
    "board_retag": "retagged",
    "charge_call_off": "called_off",
    "charge_costs": "costs_kept",
    "charge_degrade": "degrade_noted",
    "charge_loading": "loaded",
    "charge_look_again": "looked_again",
    "charge_measure": "measured",
    "charge_schedule": "schedule_changed",
    "charge_schedule_for_kiln": "schedule_kept",
    "charge_schedule_restore": "schedule_restored",
    "charge_start": "started",
    "charge_stress": "stress_tested",
    "charge_take_back": "taken_back",
    "charge_unloading": "unloaded",
    "closure": "kiln_booked",
    "closure_lift": "booking_lifted",
    "closure_new": "kiln_booked",
    "day_off": "days_off_kept",
    "day_off_lift": "days_off_lifted",
    "days_off": "days_off_kept",
    "drying_group": "group_kept",
    "drying_group_dissolve": "group_dissolved",
    "drying_group_move": "species_moved",
    "drying_group_new": "group_kept",
    "fixing": "fixed",
    "fixing_lift": "fixing_lifted",
    "fixing_new": "fixed",
    "former_kind_remove": "kind_forgotten",
    "invitation": "invitation_used",
    "invitation_withdraw": "invitation_withdrawn",
    "kiln": "kiln_changed",
    "kiln_closures": "kiln_booked",
    "kiln_lesson": "lesson_taken",
    "kiln_new": "kiln_changed",
    "kiln_schedule_drop": "schedule_dropped",
    "kiln_trust": "kiln_changed",
    "loading_days": "rules_changed",
    "mill_figures": "figures_changed",
    "mill_figures_usual": "figures_changed",
    "need": "need_changed",
    "need_line": "line_changed line_dropped",
    "need_line_new": "line_added",
    "need_met": "met reopened",
    "need_new": "need_made",
    "need_promise": "promised",
    "need_release": "let_go",
    "need_reserve": "reserved",
    "paper_link": "paper_shown",
    "paper_link_end": "paper_hidden",
    "paper_new": "paper_issued paper_shown",
    "paper_withdraw": "paper_withdrawn",
    "people": "person_added",
    "person_admission": "let_in shut_out",
    "person_factor_end": "factor_ended",
    "person_invite": "invited",
    "person_password": "password_renewed",
    "person_role": "role_set",
    "person_sessions": "signed_out",
    "photo_delete": "photo_deleted",
    "photo_put_back": "photo_put_back",
    "photo_remove": "photo_removed",
    "pins_left": "pins_left",
    "place": "place_changed",
    "place_new": "place_changed",
    "place_weather": "weather_kept",
    "place_weather_remove": "weather_removed",
    "planning_rules": "rules_changed",
    "planning_rules_usual": "rules_changed",
    "prices": "prices_kept",
    "proposal_charge": "accepted",
    "proposal_choose": "fixed",
    "reading_new": "read",
    "reading_void": "voided",
    "run_photo_new": "run_noted",
    "run_record_new": "run_noted",
    "run_record_void": "run_voided",
    "second_factor": "factor_begun",
    "second_factor_codes": "codes_renewed",
    "second_factor_end": "factor_ended",
    "sensor_new": "sensor_added",
    "sensor_shut_out": "sensor_shut_out",
    "sensor_token": "sensor_renewed",
    "sign_in_end": "signed_out",
    "species": "species_changed",
    "species_new": "species_changed",
    "stack_boards": "board_tagged",
    "stack_costs": "stack_costs_kept",
    "stack_edit": "corrected",
    "stack_join": "joined",
    "stack_move": "moved",
    "stack_new": "stacked",
    "stack_photos": "photo_added",
    "stack_retag": "retagged",
    "stack_samples": "sampled made_good",
    "stack_split": "split",
    "stack_use": "put_back used",
    "stress_test": "looked_again test_voided",
    "tag_board": "board_tagged",
    "tag_replaces": "retagged",
}
"""The kinds of change that a form of this address may keep."""
ANY = {
    "undo": "what takes a change back is one itself, and so is what does it again",
    "sort_out_one": "the form that was sent keeps its own, as it would have by itself",
    "welcome": "the first owner makes the yard and its first kiln: nothing was there before",
}
NOT_KEPT = {
    "stack_note": "a note is a line of the stack's own history, which nothing alters",
    "learned_stack": "each decision is a row of its own with who and when, which nothing alters",
    "learned_reset": "each decision is a row of its own with who and when, which nothing alters",
    "exchange_sheet": "a sheet that waits to be looked at; it goes after a day",
    "exchange_sent": "the stacks' own histories tell of a sheet taken in, row by row",
    "tag_sheet": "blank tags, on nothing yet",
    "plans": "a plan is reckoned and changes nothing until a charge is accepted",
    "planning": "a plan is reckoned and changes nothing until a charge is accepted",
    "planning_best": "a plan is reckoned and changes nothing until a charge is accepted",
    "planning_cancel": "a plan is reckoned and changes nothing until a charge is accepted",
    "fixing_cost": "what a fixing costs is reckoned again",
    "me": "one's own language and units",
    "reminders": "one's own reminders",
    "calendar_new": "one's own calendar's address",
    "calendar_end": "one's own calendar's address",
    "push_device_new": "one's own phone",
    "push_device_try": "one's own phone",
    "push_device_end": "one's own phone",
    "login": "a sign-in has a list of its own",
    "logout": "a sign-in has a list of its own",
    "sign_in_code": "a sign-in has a list of its own",
    "look": "kept in the browser",
    "first_day": "kept in the browser",
    "scan": "looks a tag up",
    "stack_preview": "a form's figures, shown",
    "sensor_readings": "readings of a device, not of a person; they are thinned",
    "backups": "a copy changes nothing",
    "backup_check": "a copy changes nothing",
}
"""Forms that keep no change, each with its reason."""
BESIDE = re.compile(
    r"django_session|django_tasks_database_\w+|axes_\w+|otp_\w+"  # sign-ins, tasks
    r"|yard_(change|changeabout|event|receipt|signin|tries|outlook)"  # histories, each once, counts, forecasts
    r"|kilnruns_reckoning"  # what is reckoned in the background
)
WRITE = re.compile(r'\s*(?:INSERT (?:OR IGNORE )?INTO|UPDATE|DELETE FROM) "(\w+)"')


class Seen:
    """Of one form: what it wrote, and the changes kept."""

    def __init__(self) -> None:
        self.tables: set[str] = set()
        self.kinds: set[str] = set()

    def note(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        answer, found = execute(sql, params, many, context), WRITE.match(sql)
        if found and not BESIDE.fullmatch(found[1]) and context["cursor"].rowcount and not _is_derived(found[1], sql):
            self.tables.add(found[1])
        return answer

    def kept(self, sender: Any, instance: Change, created: bool, **_more: Any) -> None:
        if created:
            self.kinds.add(instance.kind)


def _is_derived(table: str, sql: str) -> bool:
    """Columns of stacks that lists are read off, copied out of forecasts."""
    return table == Stack._meta.db_table and any(f'"{name}" = ' in sql for name in Stack.DERIVED)


def watch(answer: Callable[..., Any]) -> Callable[..., Any]:
    """The test client's handler, which fails where a form that was taken wrote what no history tells."""

    def watched(self: Any, request: Any) -> Any:
        if request.method != "POST":
            return answer(self, request)
        with _seen() as seen:
            response = answer(self, request)
        if response.status_code < 400:
            wrong = fault(_name(request.path_info), seen)
            assert not wrong, wrong
        return response

    return watched


def fault(name: str, seen: Seen) -> str:
    """What is wrong with what a form kept of itself; empty where nothing is."""
    if name in ANY or name in NOT_KEPT:
        return ""
    if not seen.kinds <= set(KEPT.get(name, "").split()):
        return f"{name} kept {sorted(seen.kinds)}: say so in tests/keeping.py"
    if seen.tables and not seen.kinds:
        return f"{name} wrote {sorted(seen.tables)} and kept no change of it (see yard/changes)"
    return ""


@contextmanager
def _seen() -> Iterator[Seen]:
    found = Seen()
    post_save.connect(found.kept, sender=Change, weak=False)
    try:
        with connection.execute_wrapper(found.note):
            yield found
    finally:
        post_save.disconnect(found.kept, sender=Change)


def _name(path: str) -> str:
    try:
        return str(resolve(path).url_name)
    except Resolver404:
        return ""
