"""The schedule of a charge: written anew by hand, put back to what was proposed, kept for the kiln's next charges."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from kilnruns import advice
from kilnruns.actions import schedules as actions
from kilnruns.forms.schedule import ClosingForm, Steps, StepsFormSet, shown
from kilnruns.models import Charge, KilnSchedule
from kilnruns.planning.own_steps import harder, rows, steps_of
from kilnruns.views.charges import found
from yard.actions.people import owners_only
from yard.measures.told import thick
from yard.models import Mill


@require_http_methods(["GET", "HEAD", "POST"])
def charge_schedule(request: HttpRequest, pk: int) -> HttpResponse:
    """POST do=reckon shows what follows from the figures typed, do=more adds a step, do=keep keeps them."""
    charge = found(pk)
    if charge.unloaded_at or charge.called_off_at or not charge.course.get("steps"):
        return redirect(charge)
    if request.method != "POST":
        here = rows(steps_of(charge.course["steps"]), charge.kiln.place.altitude_m)
        return _page(request, charge, _steps(charge, here), _closing(charge))
    if request.POST.get("do") == "more":
        typed = [*_typed(request), {}]
        return _page(request, charge, _steps(charge, typed, as_typed=True), _closing(charge, _said(request)))
    return _judged(request, charge)


def _judged(request: HttpRequest, charge: Charge) -> HttpResponse:
    steps: Steps = StepsFormSet(request.POST, prefix="step", form_kwargs=_kiln(charge))
    closing = ClosingForm(request.POST, charge=charge)
    if not (steps.is_valid() & closing.is_valid()):
        return _page(request, charge, steps, closing, status=422)
    proposed = (charge.course.get("proposed") or charge.course)["steps"]
    more = harder(steps.rows, proposed)
    if request.POST.get("do") != "keep":
        follows = advice.predicted_by(charge, steps.rows) if charge.started_at is None else {}
        return _page(request, charge, _steps(charge, steps.rows), closing, harder=more, is_reckoned=True, run=follows)
    if more and not closing.cleaned_data["harder_seen"]:
        closing.add_error("harder_seen", _("It is harder than what was proposed: say that you know."))
        return _page(request, charge, _steps(charge, steps.rows), closing, harder=more, status=422)
    given: dict[str, Any] = {"steps": steps.rows, "closing": closing.figures, "harder": more}
    try:
        actions.rewrite(charge=charge, **given, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("Kept: the run is told and watched by these steps."))
    return redirect(charge)


def _page(
    request: HttpRequest, charge: Charge, steps: Any, closing: ClosingForm, *, status: int = 200, **said: Any
) -> HttpResponse:
    context = {
        "charge": charge,
        "steps": steps,
        "closing": closing,
        "mill": Mill.current(),
        "changes": charge.schedule_changes.select_related("by"),
        "on": timezone.localdate(),
        **said,
    }
    return render(request, "kilnruns/schedule_edit.html", context, status=status)


def _steps(charge: Charge, kept: list[dict[str, Any]], *, as_typed: bool = False) -> Any:
    initial = kept if as_typed else shown(kept)
    return StepsFormSet(initial=initial, prefix="step", form_kwargs=_kiln(charge))


def _kiln(charge: Charge) -> dict[str, float]:
    """What a step's form has to know of the kiln."""
    return {"most_c": charge.kiln.max_temperature_c, "altitude_m": charge.kiln.place.altitude_m}


def _closing(charge: Charge, said: dict[str, Any] | None = None) -> ClosingForm:
    return ClosingForm(initial=charge.course | (said or {}), charge=charge)


def _typed(request: HttpRequest) -> list[dict[str, str]]:
    """What stands in each step, as it was typed."""
    names = ("from_pct", "dry_bulb_c", "wet_bulb_c", "humidity_pct", "emc_pct", "out", "was")
    total = min(int(request.POST.get("step-TOTAL_FORMS", "0") or 0), StepsFormSet.max_num - 1)
    return [{name: request.POST.get(f"step-{index}-{name}", "") for name in names} for index in range(total)]


def _said(request: HttpRequest) -> dict[str, str]:
    return {name: str(value) for name, value in request.POST.items() if name in ClosingForm.base_fields}


@require_POST
def charge_schedule_restore(request: HttpRequest, pk: int) -> HttpResponse:
    charge = get_object_or_404(Charge, pk=pk)
    try:
        actions.restore(charge=charge, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The proposed steps are back."))
    return redirect(charge)


@require_POST
@owners_only
def charge_schedule_for_kiln(request: HttpRequest, pk: int) -> HttpResponse:
    charge = get_object_or_404(Charge.objects.select_related("kiln__place"), pk=pk)
    try:
        kept = actions.keep_for_kiln(charge=charge, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        words = {"kiln": charge.kiln, "wood": kept.species.name, "size": thick(kept.thickness_mm)}
        messages.success(request, _("%(kiln)s starts the next %(wood)s of about %(size)s from these steps.") % words)
    return redirect(charge)


@require_POST
@owners_only
def kiln_schedule_drop(request: HttpRequest, pk: int) -> HttpResponse:
    kept = get_object_or_404(KilnSchedule.objects.kept().select_related("kiln__place"), pk=pk)
    actions.drop(schedule=kept, by=request.user, at=timezone.now())
    messages.success(request, _("Dropped: the next such charge starts from the published schedule."))
    return redirect("kiln", pk=kept.kiln_id)
