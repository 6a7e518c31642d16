"""Today: what is due, and nothing else; when nothing is, what comes next."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from kilnruns.models import Charge, Kiln, Plan, Proposal
from kilnruns.views.plans import in_work, proposals_of
from kilnruns.views.run_page import runs_due
from yard import outlook
from yard.models import Place, Receipt, Stack

SHOWN = 5
WARNINGS_SHOWN = 3
DECIDE_DAYS = 7  # so long before its start a proposed charge is a thing to decide
WATCHED = 150  # stacks looked at for warnings: enough for a day's walk, and a bound on the page's work


@dataclass(frozen=True, slots=True)
class Coming:
    """Something ahead: kind is load, done, proposal or ready; `what` the charge, proposal or stack."""

    on: date
    kind: str
    what: Any


def warnings(on: date) -> list[dict[str, Any]]:
    """The watches of the drying stacks that ask for something, the gravest first."""
    stacks = Stack.objects.drying().filter(outlook__isnull=False).for_lists().order_by("-outlook__loss_pct_per_day")
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
        kind = _asks_for(charge, on)
        if kind:
            found[kind].append(charge)
    return found


def _asks_for(charge: Charge, on: date) -> str:
    if charge.state == "loading":
        return "loading"
    if charge.state == "planned":
        return "to_load" if charge.start_on <= on else ""
    if any(item.unloaded_at for item in charge.stacks.all()):
        return "unloading"
    return "ending" if charge.ends_on <= on else "running"


def next_proposal(plan: Plan | None, on: date) -> Proposal | None:
    """The first proposal of the plan in force that nobody has accepted yet and whose start is not past."""
    return proposals_of(plan).filter(charge=None, start_on__gte=on).first() if plan else None


def upcoming(on: date) -> Stack | None:
    """The next stack to become ready, for when nothing is due."""
    return Stack.objects.drying().filter(outlook__ready_p50__gt=on).for_lists().order_by("outlook__ready_p50").first()


def coming(charges: Sequence[Charge], proposal: Proposal | None, stack: Stack | None, on: date) -> list[Coming]:
    """What comes next, the nearest first."""
    found = [Coming(one.start_on, "load", one) for one in charges if one.state == "planned" and one.start_on > on]
    found += [Coming(one.ends_on, "done", one) for one in charges if one.state == "drying" and one.ends_on > on]
    if proposal:
        found.append(Coming(proposal.start_on, "proposal", proposal))
    if stack and stack.outlook.ready_p50:
        found.append(Coming(stack.outlook.ready_p50, "ready", stack))
    return sorted(found, key=lambda one: one.on)[:SHOWN]


def standings(stacks: Any, on: date) -> list[outlook.Standing]:
    return [outlook.standing(stack, on) for stack in outlook.with_last_reading(stacks)[:SHOWN]]


def stacks_due(on: date) -> dict[str, Any]:
    ready = Stack.objects.ready(on).filter(set_aside_for="").for_lists().order_by("outlook__ready_p50", "code")
    due = Stack.objects.due_reading(on).for_lists().order_by("outlook__as_of", "code")
    found = warnings(on)
    return {
        "warnings": found[:WARNINGS_SHOWN],
        "warnings_more": len(found) - WARNINGS_SHOWN,
        "ready": standings(ready, on),
        "ready_count": ready.count(),
        "due": standings(due, on),
        "due_count": due.count(),
    }


@login_not_required
def today(request: HttpRequest) -> HttpResponse:
    if not request.user.is_authenticated:
        return redirect("login" if get_user_model().objects.exists() else "welcome")
    on = timezone.localdate()
    outlook.refresh_missing()
    charges, plan = charges_ahead(), Plan.objects.in_force()
    now = timezone.now()
    proposal = next_proposal(plan, on)
    is_near = proposal is not None and proposal.start_on <= on + timedelta(days=DECIDE_DAYS)
    context = {
        "on": on,
        **due_charges(charges, on),
        "runs_due": runs_due(charges, now),
        **stacks_due(on),
        "plan": plan,
        **in_work(plan, on),
        "plan_is_of_today": plan is not None and plan.first_day >= on,
        "proposal": proposal if is_near else None,
        "coming": coming(charges, None if is_near else proposal, upcoming(on), on),
        "to_sort_out": Receipt.objects.to_sort_out().count(),
        "has_kiln": Kiln.objects.filter(retired=False).exists(),
        "has_place": Place.objects.outdoors().exists(),
        "has_stack": bool(charges) or Stack.objects.standing().exists(),
    }
    return render(request, "kilnruns/today.html", context)
