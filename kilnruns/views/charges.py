"""A charge: its page, its printed sheet, starting it, calling it off."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from kilnruns import advice
from kilnruns.actions import charges as actions
from kilnruns.models import Charge, Proposal
from kilnruns.views.run_page import run_context
from yard.models import Mill


def found(pk: int) -> Charge:
    """The charge with all that its pages show, in a fixed number of queries."""
    names = ("species", "place", "outlook", "tags", "sample_boards")
    related = [f"stacks__stack__{name}" for name in names]
    charges = Charge.objects.select_related("kiln__place").prefetch_related(*related)
    return get_object_or_404(charges, pk=pk)


def charge_page(request: HttpRequest, pk: int, template: str) -> HttpResponse:
    charge = found(pk)
    stacks = [item.stack for item in charge.stacks.all()]
    context = {
        "charge": charge,
        "items": charge.stacks.all(),
        "kg_per_m3": advice.kg_per_m3(stacks, charge.start_on),
        "wettest_pct": advice.wettest_pct(stacks, charge.start_on),
        "sample_boards": advice.sample_boards(list(charge.stacks.all()), charge.start_on),
        "pins_left": {item.stack_id: item.pins_left for item in charge.stacks.all() if item.pins_left},
        "on": timezone.localdate(),
        "mill": Mill.current(),
    }
    if charge.state == "drying" and template == "kilnruns/charge.html":
        context |= run_context(charge, timezone.now())
    return render(request, template, context)


@require_safe
def charge(request: HttpRequest, pk: int) -> HttpResponse:
    return charge_page(request, pk, "kilnruns/charge.html")


@require_safe
def charge_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    return charge_page(request, pk, "kilnruns/charge_sheet.html")


@never_cache
@require_safe
def charge_drawing(request: HttpRequest, pk: int) -> HttpResponse:
    """The drawing to load by: a page, or with ?part what of it a phone keeps for where there is no reception."""
    return charge_page(request, pk, f"kilnruns/{'_drawing' if 'part' in request.GET else 'charge_drawing'}.html")


@require_POST
def proposal_charge(request: HttpRequest, pk: int) -> HttpResponse:
    """Accept a proposal."""
    proposal = get_object_or_404(Proposal, pk=pk)
    try:
        charge = actions.accept(proposal=proposal, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("proposal", pk=pk)
    messages.success(request, _("Accepted: its stacks are set aside, and later plans leave them alone."))
    return redirect(charge)


def _tried(request: HttpRequest, pk: int, action: Callable[..., Any], done: str) -> HttpResponse:
    charge = get_object_or_404(Charge, pk=pk)
    try:
        action(charge=charge, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, done)
    return redirect(charge)


@require_POST
def charge_call_off(request: HttpRequest, pk: int) -> HttpResponse:
    return _tried(request, pk, actions.call_off, _("Called off. Its stacks are free for the next plan."))
