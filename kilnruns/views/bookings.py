"""Days on which a kiln takes no charge: lent, in service. Made and changed by touch; what stands in the way is told."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns.actions.kilns import book, lift_booking
from kilnruns.forms.kiln import BookingForm, ClosureForm, KilnForm
from kilnruns.models import Closure, Kiln
from kilnruns.views.kilns import kiln_page
from yard.actions.people import owners_only


def keep(request: HttpRequest, closure: Closure) -> None:
    """Keep it, and say which charges stand in its way: they stay until somebody moves them."""
    book(closure=closure, by=request.user, at=timezone.now())
    messages.success(request, _("Kept. The next plan leaves these days free."))
    for charge in closure.in_the_way():
        words = _("A charge stands in %(kiln)s from %(first)s to about %(last)s: call it off, or choose other days.")
        first, last = (date_format(day, "j F") for day in (charge.start_on, charge.ends_on))
        messages.warning(request, words % {"kiln": closure.kiln, "first": first, "last": last})


@owners_only
def closure_new(request: HttpRequest) -> HttpResponse:
    """From the calendar: which kiln, which days."""
    form = BookingForm(request.POST or None, initial=_asked(request))
    if request.method == "POST" and form.is_valid():
        keep(request, form.save(commit=False))
        return redirect("kilns")
    return render(request, "kilnruns/closure.html", {"form": form}, status=422 if form.errors else 200)


def _asked(request: HttpRequest) -> dict[str, Any]:
    kiln = request.GET.get("kiln", "")
    return {"kiln": kiln} if kiln.isdigit() else {}


@owners_only
def closure(request: HttpRequest, pk: int) -> HttpResponse:
    """Change it."""
    found = get_object_or_404(Closure.objects.select_related("kiln__place"), pk=pk)
    form = BookingForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        keep(request, form.save(commit=False))
        return redirect("kiln", pk=found.kiln_id)
    context = {"form": form, "closure": found, "in_the_way": [] if form.errors else found.in_the_way()}
    return render(request, "kilnruns/closure.html", context, status=422 if form.errors else 200)


@require_POST
@owners_only
def kiln_closures(request: HttpRequest, pk: int) -> HttpResponse:
    """From the kiln's own page."""
    kiln = get_object_or_404(Kiln.objects.select_related("place"), pk=pk)
    form = ClosureForm(request.POST, instance=Closure(kiln=kiln))
    if form.is_valid():
        keep(request, form.save(commit=False))
        return redirect("kiln", pk=pk)
    return kiln_page(request, kiln, KilnForm(instance=kiln), form, 422)


@require_POST
@owners_only
def closure_lift(request: HttpRequest, pk: int) -> HttpResponse:
    closure = get_object_or_404(Closure, pk=pk)
    lift_booking(closure=closure, by=request.user, at=timezone.now())
    messages.success(request, _("Lifted. The next plan may use these days."))
    return redirect("kiln", pk=closure.kiln_id)
