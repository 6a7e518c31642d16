"""The rules of what is due, which Today's page, the calendar and the reminders share."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Max
from django.utils import timezone

from kilnruns.models import Charge
from yard import outlook
from yard.models import Reading, Stack

WATCHED = 150  # stacks looked at for warnings: enough for a day's walk, and a bound on the work
WEIGHED_EVERY_DAYS = 1  # sample boards of a run in hand, as the charge's page says


def warnings(on: date) -> list[dict[str, Any]]:
    """The watches of the drying stacks that ask for something, the gravest first."""
    stacks = Stack.objects.drying().filter(loss_pct_per_day__isnull=False).for_lists().order_by("-loss_pct_per_day")
    watched = list(stacks[:WATCHED])
    logs = outlook.weather_lately([stack.place_id for stack in watched], on)
    found = [{"stack": stack, **watch} for stack in watched for watch in outlook.watches(stack, on, logs)]
    return sorted(found, key=lambda one: (one["level"] != "act", one["stack"].code))


def charges_ahead() -> list[Charge]:
    return list(Charge.objects.ahead().select_related("kiln__place").prefetch_related("stacks__stack__species"))


def due_charges(charges: Sequence[Charge], on: date) -> dict[str, list[Charge]]:
    """Charges by what they ask for: loading, unloading (some stacks are out), ending, to_load; running asks nothing."""
    found: dict[str, list[Charge]] = {kind: [] for kind in ("loading", "unloading", "ending", "to_load", "running")}
    for charge in charges:
        kind = asks_for(charge, on)
        if kind:
            found[kind].append(charge)
    return found


def asks_for(charge: Charge, on: date) -> str:
    """What a charge ahead asks for on a day; empty for one that is planned for later."""
    if charge.state == "loading":
        return "loading"
    if charge.state == "planned":
        return "to_load" if charge.start_on <= on else ""
    if any(item.unloaded_at for item in charge.stacks.all()):
        return "unloading"
    return "ending" if charge.ends_on <= on else "running"


def ready_stacks(by: date) -> Any:
    """Ready for the kiln by a day, and in no charge yet."""
    return Stack.objects.ready(by).filter(set_aside_for="").for_lists().order_by("forecast", "ready_on", "code")


def weighing_days(charges: Iterable[Charge]) -> dict[int, date]:
    """By charge in the kiln: the day on which its samples are to be weighed, which may be past."""
    running = {one.pk: one.started_at for one in charges if one.started_at}
    read = Reading.objects.valid().filter(stack__charge_stacks__charge__in=running)
    last = dict(read.values_list("stack__charge_stacks__charge").annotate(last=Max("taken_at")).order_by())
    seen = {key: max(began, last.get(key, began)) for key, began in running.items()}
    return {key: _day(moment) + timedelta(WEIGHED_EVERY_DAYS) for key, moment in seen.items()}


def _day(moment: datetime) -> date:
    return timezone.localtime(moment).date()
