"""A kiln: making it, changing it, closing it for days."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns.actions.closing import take_over
from kilnruns.actions.kilns import save_kiln, trust
from kilnruns.closing.lessons import lessons
from kilnruns.closing.runs import beside, runs_of
from kilnruns.forms.kiln import ClosureForm, KilnForm
from kilnruns.models import Kiln
from kilnruns.planning.learned import kilns_learned
from yard.actions.people import is_owner, owners_only

TAKEN_SHOWN = 4


def kiln_page(request: HttpRequest, kiln: Kiln, form: KilnForm, closure: ClosureForm, status: int) -> HttpResponse:
    context = {
        "kiln": kiln,
        "form": form,
        "closure_form": closure,
        "own_schedules": kiln.own_schedules.kept().select_related("species", "from_charge", "made_by"),
        "closures": kiln.closures.filter(last_day__gte=timezone.localdate()),
        "is_known": kiln.has_finished_run,
        **taught(kiln),
    }
    return render(request, "kilnruns/kiln.html", context, status=status)


def taught(kiln: Kiln) -> dict[str, Any]:
    """Its finished runs side by side, what they tell of its walls and leaks, and what was taken over before."""
    runs = runs_of(kiln)
    return {
        "runs": beside(runs),
        "lessons": lessons(kiln, runs),
        "taken_over": list(kiln.lessons.select_related("by").order_by("-at")[:TAKEN_SHOWN]),
        "learned": kilns_learned().get(kiln.pk),
    }


@owners_only
def kiln_new(request: HttpRequest) -> HttpResponse:
    form = KilnForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        kiln = save_kiln(kiln=form.save(commit=False), name=form.cleaned_data["name"], by=request.user)
        messages.success(request, _("%(kiln)s is kept. Plan its first charge when stacks are ready.") % {"kiln": kiln})
        return redirect("kilns")
    return render(request, "kilnruns/kiln_new.html", {"form": form}, status=422 if form.errors else 200)


def kiln(request: HttpRequest, pk: int) -> HttpResponse:
    kiln = get_object_or_404(Kiln.objects.select_related("place"), pk=pk)
    if request.method == "POST" and not is_owner(request.user):
        return render(request, "403.html", status=403)
    form = KilnForm(request.POST or None, instance=kiln)
    if request.method == "POST" and form.is_valid():
        save_kiln(kiln=form.save(commit=False), name=form.cleaned_data["name"], by=request.user)
        messages.success(request, _("Kept. The next plan counts with it."))
        return redirect("kiln", pk=pk)
    return kiln_page(request, kiln, form, ClosureForm(), 422 if form.errors else 200)


@require_POST
@owners_only
def kiln_lesson(request: HttpRequest, pk: int) -> HttpResponse:
    """POST quantity: take over what the kiln's runs tell of it, reckoned anew from their records."""
    kiln = get_object_or_404(Kiln.objects.select_related("place"), pk=pk)
    told = lessons(kiln, runs_of(kiln)).of(request.POST.get("quantity", ""))
    if told is None:
        messages.error(request, _("Its runs no longer tell that; nothing was changed."))
        return redirect("kiln", pk=pk)
    value, band = round(told.found.value, 2), told.found.band
    take_over(
        kiln=kiln,
        quantity=told.quantity,
        value=value,
        band=band,
        runs=told.found.runs,
        by=request.user,
        at=timezone.now(),
    )
    messages.success(request, _("Taken over. The next plan counts with it, and says so."))
    return redirect("kiln", pk=pk)


@require_POST
@owners_only
def kiln_trust(request: HttpRequest, pk: int) -> HttpResponse:
    """POST trusted=yes or no: plan a kiln without a finished run as any other, or with an easy charge first."""
    kiln = get_object_or_404(Kiln.objects.select_related("place"), pk=pk)
    trust(kiln=kiln, trusted=request.POST.get("trusted") == "yes", by=request.user, at=timezone.now())
    as_any, easy = _("The next plan treats %(kiln)s as any other."), _("%(kiln)s gets an easy charge first.")
    said = as_any if kiln.trusted else easy
    messages.success(request, said % {"kiln": kiln})
    return redirect("kiln", pk=pk)
