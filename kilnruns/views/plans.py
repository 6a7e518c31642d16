"""Plans: made anew, looked at, and their proposals."""

from typing import Any

from django.contrib import messages
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns import advice
from kilnruns.actions.plans import make_plan
from kilnruns.forms.plan import PlanForm
from kilnruns.models import Charge, Kiln, LeftOut, Plan, Proposal, ProposalStack


def proposals_of(plan: Plan) -> Any:
    shares = ProposalStack.objects.select_related("stack__species", "stack__place")
    return plan.proposals.select_related("kiln__place", "charge").prefetch_related(Prefetch("shares", shares))


def left_out_of(plan: Plan) -> Any:
    return LeftOut.objects.filter(plan=plan).select_related("stack__species", "stack__place")


def kilns(request: HttpRequest) -> HttpResponse:
    plan = Plan.objects.in_force()
    charges = Charge.objects.ahead().select_related("kiln__place").prefetch_related("stacks__stack__species")
    done = Charge.objects.filter(unloaded_at__isnull=False).select_related("kiln__place").order_by("-unloaded_at")
    context = {
        "on": timezone.localdate(),
        "form": PlanForm(),
        "plan": plan,
        "proposals": proposals_of(plan).filter(charge=None) if plan else [],
        "charges": charges,
        "done": done[:5],
        "kilns": Kiln.objects.filter(retired=False).select_related("place"),
    }
    return render(request, "kilnruns/kilns.html", context)


@require_POST
def plans(request: HttpRequest) -> HttpResponse:
    """Make a plan from the yard as it is now."""
    form = PlanForm(request.POST)
    if not Kiln.objects.filter(retired=False).exists():
        messages.error(request, _("There is no kiln to plan for. Add one first."))
        return redirect("kilns")
    if not form.is_valid():
        messages.error(request, _("Choose how many weeks to look ahead."))
        return redirect("kilns")
    plan = make_plan(
        first_day=timezone.localdate(),
        horizon_days=7 * form.cleaned_data["weeks"],
        careful=form.cleaned_data["careful"],
        by=request.user,
    )
    return redirect("plan", pk=plan.pk)


def plan(request: HttpRequest, pk: int) -> HttpResponse:
    plan = get_object_or_404(Plan, pk=pk)
    context = {
        "plan": plan,
        "proposals": list(proposals_of(plan)),
        "left_out": list(left_out_of(plan)),
        "kilns": {str(kiln.pk): str(kiln) for kiln in Kiln.objects.select_related("place")},
        "is_newest": plan == Plan.objects.in_force(),
    }
    return render(request, "kilnruns/plan.html", context)


def proposal(request: HttpRequest, pk: int) -> HttpResponse:
    related = Proposal.objects.select_related("kiln__place", "plan", "charge")
    shares = ProposalStack.objects.select_related("stack__species", "stack__place", "stack__outlook")
    proposal = get_object_or_404(related.prefetch_related(Prefetch("shares", shares)), pk=pk)
    stacks = [share.stack for share in proposal.shares.all()]
    given = advice.schedule(proposal.kiln, stacks)
    context = {"proposal": proposal, "steps": advice.steps(given), "schedule": given}
    return render(request, "kilnruns/proposal.html", context)
