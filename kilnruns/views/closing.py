"""Closing a run: boards measured, stress tests, degrade."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from kilnruns.actions import closing as actions
from kilnruns.closing.degrade import degrade
from kilnruns.closing.due import due
from kilnruns.closing.quality import measured, whole
from kilnruns.closing.rule import standing
from kilnruns.closing.stress import stress
from kilnruns.forms.closing import STRESS_FORMS, DegradeForm, MeasurementForm, RestedForm
from kilnruns.forms.run_record import wood_of
from kilnruns.models import Charge, ChargeStack, StressTest
from kilnruns.views.meanwhile import keep_to_sort_out
from yard.actions.readings import ImpossibleReadingError
from yard.models import Tag, Why
from yard.models.tagcode import normalise, shown
from yard.receipts import UnplacedError, clock_notes, form_key, is_settling, moment

READ, READ_POST = ["GET", "HEAD"], ["GET", "HEAD", "POST"]


def found(pk: int) -> tuple[Charge, list[ChargeStack]]:
    """A charge with the stacks that went in, and their tallies; a fixed number of queries."""
    related = ("stacks__stack__species", "stacks__stack__place", "stacks__stack__lines")
    charges = Charge.objects.select_related("kiln__place").prefetch_related(*related)
    charge = get_object_or_404(charges, pk=pk)
    return charge, [item for item in charge.stacks.all() if item.loaded_at or charge.unloaded_at]


def item_of(pk: int, code: str) -> tuple[Charge, ChargeStack]:
    """A stack of a charge, by its tag of now or of then; UnplacedError (a 404) for one that is not in it."""
    charge, _items = found(pk)
    tag = Tag.objects.found(normalise(code))
    wanted = {normalise(code), *([tag.stack.code] if tag and tag.stack else [])}
    for item in charge.stacks.all():
        if item.stack.code in wanted:
            item.charge = charge
            return charge, item
    raise UnplacedError(Why.REFUSED, told=_("%(code)s is not in this charge.") % {"code": shown(normalise(code))})


@require_http_methods(READ)
def charge_closing(request: HttpRequest, pk: int) -> HttpResponse:
    charge, items = found(pk)
    tests, stacks = stress(charge), measured(charge, items)
    context = {
        "charge": charge,
        "items": items,
        "stacks": stacks,
        "whole": whole(charge, stacks) if len(stacks) > 1 else None,
        "stress": tests,
        "standing": standing(charge, items, tests),
        "degrade": degrade(charge),
        "on": timezone.localdate(),
    }
    return render(request, "kilnruns/closing.html", context)


@require_http_methods(READ_POST)
def charge_measure(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    charge, item = item_of(pk, code)
    form = MeasurementForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            kept = actions.keep_measurement(
                item=item, notes=clock_notes(request), by=request.user, at=moment(request), **form.figures()
            )
        except ImpossibleReadingError as error:
            form.add_error(None, str(error))
        except ValidationError as error:
            keep_to_sort_out(request, error)
            form.add_error(None, error)
        else:
            words = {"code": shown(item.stack.code), "count": kept.reading.count}
            messages.success(request, _("Kept: %(count)d boards of %(code)s.") % words)
            return redirect("charge_closing", pk=pk)
    context = {"charge": charge, "item": item, "form": form, "due": due(item.stack)}
    return render(request, "kilnruns/closing_measure.html", context, status=422 if form.errors else 200)


@require_http_methods(READ_POST)
def charge_stress(request: HttpRequest, pk: int) -> HttpResponse:
    charge, items = found(pk)
    kind = request.POST.get("kind") or request.GET.get("kind") or StressTest.Kind.PRONG.value
    if kind not in STRESS_FORMS:
        raise Http404
    form: Any = STRESS_FORMS[kind](request.POST if request.method == "POST" else None, stacks=_choices(items))
    if request.method == "POST" and form.is_valid():
        by_code = {item.stack.code: item for item in items}
        item = by_code[form.cleaned_data["stack"]]
        item.charge = charge
        sizes = {name: form.cleaned_data[name] for name in form.names}
        try:
            test = actions.keep_stress_test(
                item=item, kind=kind, sizes=sizes, by=request.user, at=moment(request), key=form_key(request)
            )
        except ValidationError as error:
            keep_to_sort_out(request, error)
            form.add_error(None, error)
        else:
            messages.success(request, _("Kept. Look at it again tomorrow.") if test.is_waiting else _("Kept."))
            return redirect("charge_closing", pk=pk)
    context = {"charge": charge, "form": form, "kind": kind, "kinds": StressTest.Kind.choices}
    return render(request, "kilnruns/closing_stress.html", context, status=422 if form.errors else 200)


@require_http_methods(READ_POST)
def charge_look_again(request: HttpRequest, pk: int, receipt: UUID) -> HttpResponse:
    """The page of a test by the key of the form that told it: a phone without reception knows no other name of it."""
    test = StressTest.objects.filter(charge=pk, key=receipt).first()
    if test is None:
        raise UnplacedError(Why.REFUSED, told=_("The stress test that this looks at again is not kept here."))
    return stress_test(request, test.pk)


def _choices(items: list[ChargeStack]) -> list[tuple[str, str]]:
    names = [(item.stack.code, item.stack) for item in items]
    return [(code, f"{wood_of(stack)} {shown(code)}") for code, stack in names]


@require_http_methods(READ_POST)
def stress_test(request: HttpRequest, pk: int) -> HttpResponse:
    """A kept test: its second look (POST rested_mm), or that it was a mistake (POST void)."""
    rows = StressTest.objects.select_related("charge__kiln__place", "stack__species", "made_by")
    test = get_object_or_404(rows, pk=pk)
    if request.method == "POST" and "void" in request.POST:
        actions.void_stress_test(test=test, by=request.user, at=timezone.now())
        messages.success(request, _("Taken out: it no longer counts."))
        return redirect("charge_closing", pk=test.charge_id)
    form = RestedForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        is_right = is_settling(request)
        try:
            actions.look_again(test=test, by=request.user, at=moment(request), is_right=is_right, **form.cleaned_data)
        except ValidationError as error:
            keep_to_sort_out(request, error, Why.CHANGED if error.code == actions.LOOKED_AT else Why.REFUSED)
            form.add_error("rested_mm", error)
        else:
            messages.success(request, _("Kept."))
            return redirect("charge_closing", pk=test.charge_id)
    context = {"test": test, "charge": test.charge, "form": form, "on": timezone.localdate()}
    return render(request, "kilnruns/closing_stress_test.html", context, status=422 if form.errors else 200)


@require_http_methods(READ_POST)
def charge_degrade(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    charge, item = item_of(pk, code)
    known = {row.kind: row for row in degrade(charge).get(item.stack_id, ())}
    initial = {kind: f"{row.share_pct:g}" for kind, row in known.items()}
    form = DegradeForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        by_volume = bool(form.cleaned_data["by_volume"])
        try:
            actions.keep_degrade(
                item=item, shares=form.shares(), by_volume=by_volume, by=request.user, at=moment(request)
            )
        except ValidationError as error:
            keep_to_sort_out(request, error)
            form.add_error(None, error)
        else:
            messages.success(request, _("Kept for %(code)s.") % {"code": shown(item.stack.code)})
            _say_noted_later(request, item, list(form.shares()))
            return redirect("charge_closing", pk=pk)
    context = {"charge": charge, "item": item, "form": form}
    return render(request, "kilnruns/closing_degrade.html", context, status=422 if form.errors else 200)


def _say_noted_later(request: HttpRequest, item: ChargeStack, kinds: list[str]) -> None:
    """What waited on a phone may have been looked at again by another since: the later counts."""
    rows = item.charge.degrade.filter(stack=item.stack_id, kind__in=kinds, at__gt=moment(request))
    for row in rows.exclude(made_by=request.user.pk).select_related("made_by"):
        words = {"what": row.get_kind_display(), "share": f"{row.share_pct:g}", "who": row.made_by or "–"}
        messages.info(request, _("%(what)s: %(who)s noted %(share)s %% after that, which counts.") % words)
