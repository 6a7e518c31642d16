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
from django.views.decorators.http import require_safe

from kilnruns.models import Charge, Kiln, Plan, Proposal
from kilnruns.reminding.rules import charges_ahead, due_charges, ready_stacks, warnings
from kilnruns.views.plans import in_work, proposals_of
from kilnruns.views.run_page import runs_due
from yard import outlook
from yard.firstday import guide_for
from yard.models import Place, Receipt, Stack
from yard.models.listed import Forecast

SHOWN = 5
WARNINGS_SHOWN = 3
MOST_COUNTED = 500  # beyond that nobody minds the number, and a large yard takes long to count
DECIDE_DAYS = 7  # so long before its start a proposed charge is a thing to decide


@dataclass(frozen=True, slots=True)
class Coming:
    """Something ahead: kind is load, done, proposal or ready; `what` the charge, proposal or stack."""

    on: date
    kind: str
    what: Any


def next_proposal(plan: Plan | None, on: date) -> Proposal | None:
    """The first proposal of the plan in force that nobody has accepted yet and whose start is not past."""
    return proposals_of(plan).filter(charge=None, start_on__gte=on).first() if plan else None


def upcoming(on: date) -> Stack | None:
    """The next stack to become ready, for when nothing is due."""
    dated = Stack.objects.drying().filter(forecast=Forecast.DATED, ready_on__gt=on)
    return next(iter(first_of(dated.order_by("forecast", "ready_on", "code"), 1)), None)


def coming(charges: Sequence[Charge], proposal: Proposal | None, stack: Stack | None, on: date) -> list[Coming]:
    """What comes next, the nearest first."""
    found = [Coming(one.start_on, "load", one) for one in charges if one.state == "planned" and one.start_on > on]
    found += [Coming(one.ends_on, "done", one) for one in charges if one.state == "drying" and one.ends_on > on]
    if proposal:
        found.append(Coming(proposal.start_on, "proposal", proposal))
    if stack and stack.outlook.ready_p50:
        found.append(Coming(stack.outlook.ready_p50, "ready", stack))
    return sorted(found, key=lambda one: one.on)[:SHOWN]


def first_of(stacks: Any, count: int) -> list[Stack]:
    """Their keys first, read off an index of theirs: with other tables joined SQLite may begin with one of those, and
    sort all that the yard has."""
    keys = list(stacks.values_list("pk", flat=True)[:count])
    found = {row.pk: row for row in outlook.with_last_reading(Stack.objects.for_lists().filter(pk__in=keys))}
    return [found[key] for key in keys if key in found]


def standings(stacks: Any, on: date) -> list[outlook.Standing]:
    return [outlook.standing(stack, on) for stack in first_of(stacks, SHOWN)]


def stacks_due(on: date) -> dict[str, Any]:
    ready = ready_stacks(on)
    due = Stack.objects.due_reading(on).order_by("known_on", "code")
    found = warnings(on)
    return {
        "warnings": found[:WARNINGS_SHOWN],
        "warnings_more": len(found) - WARNINGS_SHOWN,
        "ready": standings(ready, on),
        "ready_count": ready.count(),
        "due": standings(due, on),
        "due_count": due[:MOST_COUNTED].count(),
        "most_counted": MOST_COUNTED,
    }


@login_not_required
@require_safe
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
        "slipped": outlook.slipped(on),
        "plan": plan,
        **in_work(plan, on),
        "plan_is_of_today": plan is not None and plan.first_day >= on,
        "proposal": proposal if is_near else None,
        "coming": coming(charges, None if is_near else proposal, upcoming(on), on),
        "guide": guide_for(request),
        "to_sort_out": Receipt.objects.to_sort_out().count(),
        "has_kiln": Kiln.objects.filter(retired=False).exists(),
        "has_place": Place.objects.outdoors().exists(),
        "has_stack": bool(charges) or Stack.objects.standing().exists(),
    }
    return render(request, "kilnruns/today.html", context)
