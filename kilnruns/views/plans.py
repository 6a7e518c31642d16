"""Plans: made anew, looked at, and their proposals."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kilnruns import advice
from kilnruns.actions.plannings import ask
from kilnruns.forms.plan import PlanForm, weeks_of
from kilnruns.models import (
    Charge,
    Closure,
    DayOff,
    Fixing,
    Kiln,
    KilnLesson,
    LeftOut,
    Plan,
    Planning,
    Proposal,
    ProposalStack,
)
from kilnruns.planning import codes_of, since
from kilnruns.planning.horizon import horizon_of
from kilnruns.planning.own_steps import rows
from yard.models import Mill, Stack

DONE_SHOWN = 5


def proposals_of(plan: Plan) -> Any:
    shares = ProposalStack.objects.select_related("stack__species", "stack__place")
    return plan.proposals.select_related("kiln__place", "charge").prefetch_related(Prefetch("shares", shares))


def kiln_names() -> dict[str, str]:
    return {str(kiln.pk): str(kiln) for kiln in Kiln.objects.select_related("place")}


def named(codes: set[str]) -> dict[str, Stack]:
    return {stack.code: stack for stack in Stack.objects.filter(code__in=codes).select_related("species")}


def left_out_of(plan: Plan) -> Any:
    return LeftOut.objects.filter(plan=plan).select_related("stack__species", "stack__place")


def kilns_in_use() -> list[Kiln]:
    return list(Kiln.objects.filter(retired=False).select_related("place").prefetch_related("closures"))


def bookings_from(on: date, kilns: Sequence[Kiln]) -> dict[str, Any]:
    """What is booked or off from a day on; the kilns' closures must be at hand. One query."""
    off = list(DayOff.from_day(on))
    closures = [(kiln, one) for kiln in kilns for one in kiln.closures.all() if one.last_day >= on]
    for kiln, one in closures:
        one.kiln = kiln
    return {"bookings": sorted((one for _, one in closures), key=_first_day), "off": off, "off_count": len(off)}


def _first_day(one: Closure) -> date:
    return one.first_day


def charges_with_stacks(charges: Any) -> Any:
    return charges.select_related("kiln__place").prefetch_related("stacks__stack__species")


def in_work(plan: Plan | None, on: date) -> dict[str, Any]:
    """What a page says of the plan in force besides itself: a newer one in work or failed, and what has changed."""
    last = Planning.objects.order_by("-asked_at", "-pk").first()
    is_failed = bool(last and last.state == "failed" and (plan is None or last.asked_at > plan.made_at))
    return {
        "planning": last if last and (last.is_in_work or is_failed) else None,
        "is_first": bool(plan and last and last.is_in_work and last.first_plan_id == plan.pk),
        "since": since(plan, on) if plan else None,
        "weeks_again": weeks_of(plan.horizon_days) if plan else None,
    }


@require_safe
def kilns(request: HttpRequest) -> HttpResponse:
    return _kilns_page(request)


def _kilns_page(request: HttpRequest, form: PlanForm | None = None) -> HttpResponse:
    on, plan, in_use = timezone.localdate(), Plan.objects.in_force(), kilns_in_use()
    done = charges_with_stacks(Charge.objects.filter(unloaded_at__isnull=False)).order_by("-unloaded_at")
    context = {
        "on": on,
        "form": form or PlanForm(),
        "plan": plan,
        "proposals": list(proposals_of(plan).filter(charge=None, start_on__gte=on)) if plan else [],
        "left_out_count": plan.left_out.count() if plan else 0,
        "charges": list(charges_with_stacks(Charge.objects.ahead())),
        "done": done[:DONE_SHOWN],
        "kilns": in_use,
        "horizon": horizon_of(plan, on, to_come=True),
        **bookings_from(on, in_use),
        **in_work(plan, on),
    }
    return render(request, "kilnruns/kilns.html", context, status=422 if form else 200)


@require_POST
def plans(request: HttpRequest) -> HttpResponse:
    """Ask for a plan from the yard as it is now; it is made off the request."""
    form = PlanForm(request.POST)
    if not Kiln.objects.filter(retired=False).exists():
        messages.error(request, _("There is no kiln to plan for. Add one first."))
        return redirect("kilns")
    if not form.is_valid():
        return _kilns_page(request, form)
    planning, is_new = ask(
        first_day=timezone.localdate(),
        horizon_days=7 * form.cleaned_data["weeks"],
        careful=form.cleaned_data["careful"],
        freely=form.cleaned_data["freely"],
        by=request.user,
    )
    if planning.plan_id:
        return redirect("plan", pk=planning.plan_id)
    if not is_new:
        messages.info(request, _("A plan is being made already; wait for it, or cancel it first."))
    return redirect("kilns")


def lessons_used(made_at: datetime) -> list[KilnLesson]:
    """What was taken over of the kilns' own runs and stood when a plan was made: of each figure the latest."""
    rows = KilnLesson.objects.filter(at__lte=made_at, kiln__retired=False).select_related("kiln__place")
    latest = {(row.kiln_id, row.quantity): row for row in rows}
    return [row for row in latest.values() if getattr(row.kiln, row.quantity) == row.value]


@require_safe
def plan(request: HttpRequest, pk: int) -> HttpResponse:
    plan, on = get_object_or_404(Plan, pk=pk), timezone.localdate()
    proposals = list(proposals_of(plan))
    is_newest = plan == Plan.objects.in_force()
    context = {
        "on": on,
        "plan": plan,
        "proposals": proposals,
        "open_proposals": [one for one in proposals if not hasattr(one, "charge")],
        "charges": list(charges_with_stacks(Charge.objects.ahead())),
        "left_out": list(left_out_of(plan)),
        "fixings": list(Fixing.objects.in_force(timezone.localdate()).for_lists()),
        "kilns": kilns_in_use(),
        "horizon": horizon_of(plan, on),
        "kiln_names": kiln_names(),
        "moved_stacks": named(codes_of(plan.moved)),
        "is_newest": is_newest,
        "lessons_used": lessons_used(plan.made_at),
        **(in_work(plan, on) if is_newest else {}),
        "mill": Mill.current(),
    }
    return render(request, "kilnruns/plan.html", context)


@require_safe
def proposal(request: HttpRequest, pk: int) -> HttpResponse:
    related = Proposal.objects.select_related("kiln__place", "plan", "charge")
    shares = ProposalStack.objects.select_related("stack__species", "stack__place", "stack__outlook").prefetch_related(
        "stack__tags"
    )
    proposal = get_object_or_404(related.prefetch_related(Prefetch("shares", shares)), pk=pk)
    stacks = [share.stack for share in proposal.shares.all()]
    given = advice.schedule(proposal.kiln, stacks)
    context = {
        "proposal": proposal,
        "items": proposal.shares.all(),
        "kg_per_m3": advice.kg_per_m3(stacks, proposal.start_on),
        "wettest_pct": advice.wettest_pct(stacks, proposal.start_on),
        "steps": rows(given.steps, proposal.kiln.place.altitude_m),
        "schedule": given,
        "kiln_names": kiln_names(),
        "on": timezone.localdate(),
        "mill": Mill.current(),
    }
    return render(request, "kilnruns/proposal.html", context)
