"""A reading: taken standing at the stack, or voided."""

from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from yard import outlook
from yard.actions.readings import ImpossibleReadingError, add_reading, void_reading
from yard.forms.reading import FORMS, VoidForm
from yard.forms.visit import VisitForm
from yard.models import Method, Outlook, Reading, Stack
from yard.models.tagcode import normalise
from yard.receipts import clock_notes, moment
from yard.templatetags.amounts import pct, pct_band
from yard.views.standing import standing_stack

REMEMBERED = timedelta(hours=6)
"""How long a wood temperature typed at one stack is offered at the next."""


@require_http_methods(["GET", "HEAD", "POST"])
def reading_new(request: HttpRequest, code: str) -> HttpResponse:
    stack = standing_stack(request, code, related=["outlook"])
    now = moment(request)
    mine = Reading.objects.filter(made_by_id=request.user.pk).order_by("-pk").first()
    method = _method(request, stack, mine)
    form = _form(request, stack, method, mine, now)
    expected = _expected(stack, now)
    if request.method == "POST" and form.is_valid():
        reading = _keep(form, stack, method, request)
        if reading:
            _say(request, reading, expected)
            return redirect(stack)
    context = {"stack": stack, "form": form, "method": method, "methods": Method.choices, "expected": expected}
    return render(request, "yard/reading_new.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def reading_void(request: HttpRequest, pk: int) -> HttpResponse:
    reading = get_object_or_404(Reading.objects.select_related("stack__species", "made_by"), pk=pk)
    form = VoidForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            void_reading(reading=reading, reason=form.reason(), by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Voided. It stays in the list, and the forecast no longer counts it."))
            return redirect(reading.stack)
    context = {"reading": reading, "stack": reading.stack, "form": form}
    return render(request, "yard/reading_void.html", context, status=422 if form.errors else 200)


def _method(request: HttpRequest, stack: Stack, mine: Reading | None) -> str:
    """As asked for, else as this person did last, else pins."""
    asked = request.POST.get("method") or request.GET.get("method") or (mine.method if mine else "")
    if asked not in FORMS:
        return Method.PINS
    said = "method" in request.POST or "method" in request.GET
    if asked == Method.SAMPLE_BOARD and not said and not stack.sample_boards.exists():
        return Method.PINS
    return asked


def _form(request: HttpRequest, stack: Stack, method: str, mine: Reading | None, now: datetime) -> VisitForm:
    known: dict[str, Any] = {"stack": stack, "now": now}
    if method == Method.PINS:
        known["usual_c"] = outlook.usual_temperature_c(stack.place, timezone.localtime(now).date())
    if mine and mine.method == method:
        recent = mine.taken_at > now - REMEMBERED
        temperature_c = mine.wood_temperature_c if recent else None
        known["initial"] = {"meter_set_to": mine.meter_set_to, "wood_temperature_c": temperature_c}
    board = stack.boards.filter(code=normalise(request.GET["board"])).first() if "board" in request.GET else None
    known["initial"] = {**known.get("initial", {}), "board": board}
    return FORMS[method](request.POST if request.method == "POST" else None, **known)


def _expected(stack: Stack, now: datetime) -> tuple[float, float] | None:
    """P10 and P90 of the stack's mean today, by the forecast made of what was known before."""
    if not hasattr(stack, "outlook") or stack.place.is_kiln or stack.kiln_dried_on:
        return None
    low, _middle, high = stack.outlook.moisture_on(timezone.localtime(now).date())
    return low, high


def _keep(form: VisitForm, stack: Stack, method: str, request: HttpRequest) -> Reading | None:
    """The reading kept; None when the core refuses it, with its reason in the form."""
    try:
        return add_reading(
            stack=stack, method=method, by=request.user, extra_notes=clock_notes(request), **form.visit()
        )
    except ImpossibleReadingError as error:
        form.add_error(None, str(error))
        return None


def _say(request: HttpRequest, reading: Reading, expected: tuple[float, float] | None) -> None:
    count = reading.count
    kept = ngettext("Kept: %(mean)s.", "Kept: %(mean)s, mean of %(count)d.", count)
    words = kept % {"mean": pct(reading.moisture_pct), "count": count}
    band = {"band": pct_band(*expected)} if expected else {}
    now = Outlook.objects.filter(pk=reading.stack_id).first()
    if band and now and reading.pk in now.unexpected:
        messages.warning(request, words + " " + _("That is far from the %(band)s expected: see below.") % band)
    elif band:
        messages.success(request, words + " " + _("Expected: %(band)s.") % band)
    else:
        messages.success(request, words)
