"""What is noted of a run in hand: a visit, its photo, and a record that was wrong."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_safe

from kilnruns.actions.running import keep_record, leave_pins, void_record
from kilnruns.forms.pins_left import PinsLeftForm
from kilnruns.forms.run_record import RunPhotoForm, RunRecordForm, VoidRecordForm
from kilnruns.models import Charge, RunRecord
from kilnruns.views.meanwhile import keep_to_sort_out
from kilnruns.views.run_page import next_of
from yard.actions.readings import ImpossibleReadingError
from yard.receipts import clock_notes, moment


def _running(pk: int) -> Charge:
    related = ("stacks__stack__species", "stacks__stack__place", "stacks__stack__sample_boards__stack__species")
    return get_object_or_404(Charge.objects.select_related("kiln__place").prefetch_related(*related), pk=pk)


@require_http_methods(["GET", "HEAD", "POST"])
def run_record_new(request: HttpRequest, pk: int) -> HttpResponse:
    charge = _running(pk)
    at = moment(request)
    stacks = [item.stack for item in charge.stacks.all() if not item.unloaded_at or item.unloaded_at > at]
    posted = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    pins_left = {item.stack_id: item.pins_left for item in charge.stacks.all() if item.pins_left}
    form = RunRecordForm(*posted, charge=charge, stacks=stacks, pins_left=pins_left)
    if form.of_others():
        words = _("A board or stack of this visit is not in this charge. Taken as it was sent, the rest alone is kept.")
        keep_to_sort_out(request, ValidationError(words))
    if request.method == "POST" and form.is_valid() and _kept(request, charge, form, form.visit(), "photo"):
        messages.success(request, _("Kept. See below what is next."))
        return redirect(charge)
    context = {"charge": charge, "form": form, "next": _next(charge)}
    return render(request, "kilnruns/run_record_new.html", context, status=422 if form.errors else 200)


def _next(charge: Charge) -> Any:
    """What the run page says, to be had in sight while the setting is changed; None where it does not run."""
    return next_of(charge, timezone.now()) if charge.state == "drying" else None


def _kept(request: HttpRequest, charge: Charge, form: Any, visit: dict[str, Any], photo_field: str) -> bool:
    """Whether the record is kept; if not, its reason is in the form."""
    try:
        keep_record(charge=charge, at=moment(request), by=request.user, extra_notes=clock_notes(request), **visit)
    except ImpossibleReadingError as error:
        form.add_error(None, str(error))
    except ValidationError as error:
        if charge.state != "drying":
            keep_to_sort_out(request, error)
        form.add_error(photo_field if charge.state == "drying" else None, error)
    else:
        return True
    return False


@require_http_methods(["GET", "HEAD", "POST"])
def run_photo_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A photo alone: what a phone sends after the record that it was taken with."""
    charge = _running(pk)
    form = RunPhotoForm(*((request.POST, request.FILES) if request.method == "POST" else ()))
    if request.method == "POST" and form.is_valid():
        visit = {"seen": {}, "photo": form.cleaned_data["photo"]}
        if _kept(request, charge, form, visit, "photo"):
            messages.success(request, _("The photo is kept."))
            return redirect(charge)
    context = {"charge": charge, "form": form}
    return render(request, "kilnruns/run_photo_new.html", context, status=422 if form.errors else 200)


@require_safe
@cache_control(private=True, max_age=86400)
def run_record_photo(request: HttpRequest, pk: int) -> HttpResponseBase:
    record = get_object_or_404(RunRecord.objects.exclude(photo=""), pk=pk)
    return FileResponse(record.photo.open("rb"), content_type="image/jpeg")


@require_http_methods(["GET", "HEAD", "POST"])
def pins_left(request: HttpRequest, pk: int) -> HttpResponse:
    """Which stacks are followed by pins that stay in the wood, instead of sample boards."""
    charge = _running(pk)
    items = [item for item in charge.stacks.all() if not item.unloaded_at]
    form = PinsLeftForm(request.POST if request.method == "POST" else None, items=items)
    if request.method == "POST" and form.is_valid():
        try:
            leave_pins(charge=charge, places=form.places)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Kept."))
            return redirect(charge)
    context = {"charge": charge, "form": form}
    return render(request, "kilnruns/pins_left.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def run_record_void(request: HttpRequest, pk: int) -> HttpResponse:
    record = get_object_or_404(RunRecord.objects.select_related("charge__kiln__place"), pk=pk)
    form = VoidRecordForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            void_record(record=record, reason=form.cleaned_data["reason"], by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Voided, and what was measured with it. It stays in the list."))
            return redirect(record.charge)
    context = {"record": record, "charge": record.charge, "form": form}
    return render(request, "kilnruns/run_record_void.html", context, status=422 if form.errors else 200)
