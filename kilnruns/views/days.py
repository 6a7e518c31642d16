"""On which days kilns are loaded: the mill's weekdays, and days off."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns.actions.rules import keep_days_off, keep_rules, lift_days_off
from kilnruns.forms.rules import DayOffForm, LoadingDaysForm
from kilnruns.models import DayOff, PlanningRules
from yard.actions.people import owners_only


def page(request: HttpRequest, days: LoadingDaysForm, off: DayOffForm) -> HttpResponse:
    wrong = days.errors or off.errors
    context = {"form": days, "off_form": off, "off": DayOff.from_day(timezone.localdate())}
    return render(request, "kilnruns/loading_days.html", context, status=422 if wrong else 200)


@owners_only
def loading_days(request: HttpRequest) -> HttpResponse:
    form = LoadingDaysForm(request.POST if request.method == "POST" else None, rules=PlanningRules.current())
    if request.method == "POST" and form.is_valid():
        keep_rules(rules=form.rules_changed(), by=request.user, at=timezone.now())
        messages.success(request, _("Kept. The next plan loads on these days alone."))
        return redirect("loading_days")
    return page(request, form, DayOffForm())


@require_POST
@owners_only
def days_off(request: HttpRequest) -> HttpResponse:
    """Add days off."""
    form = DayOffForm(request.POST)
    if not form.is_valid():
        return page(request, LoadingDaysForm(rules=PlanningRules.current()), form)
    keep_days_off(off=form.save(commit=False), by=request.user, at=timezone.now())
    messages.success(request, _("Kept. The next plan loads nothing on these days; what runs goes on."))
    return redirect("loading_days")


@owners_only
def day_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Change days off."""
    off = get_object_or_404(DayOff, pk=pk)
    form = DayOffForm(request.POST or None, instance=off)
    if request.method == "POST" and form.is_valid():
        keep_days_off(off=form.save(commit=False), by=request.user, at=timezone.now())
        messages.success(request, _("Kept. The next plan goes by it."))
        return redirect("loading_days")
    return render(request, "kilnruns/day_off.html", {"form": form, "off": off}, status=422 if form.errors else 200)


@require_POST
@owners_only
def day_off_lift(request: HttpRequest, pk: int) -> HttpResponse:
    lift_days_off(off=get_object_or_404(DayOff, pk=pk), by=request.user, at=timezone.now())
    messages.success(request, _("Lifted. The next plan may load on these days."))
    return redirect("loading_days")
