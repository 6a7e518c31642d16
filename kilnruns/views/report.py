"""The report of a finished charge: a page to print, files, and what it cost."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kilnruns.actions.closing import keep_costs
from kilnruns.closing import sheet
from kilnruns.closing.report import Report, report
from kilnruns.closing.rows import charges, powered, rows_of
from kilnruns.forms.closing import CostsForm
from kilnruns.models import Charge, RunCosts
from kilnruns.views.run_page import sensed
from yard.models import Mill
from yard.models.mill import currency


def told_of(pk: int) -> tuple[Charge, Report | None]:
    charge = get_object_or_404(charges(), pk=pk)
    (rows,) = powered([rows_of(charge)])
    return charge, report(rows)


def _page(request: HttpRequest, pk: int, form: CostsForm | None = None) -> HttpResponse:
    charge, told = told_of(pk)
    costs = getattr(charge, "costs", None)
    if form is None:
        form = CostsForm(instance=costs, initial={} if costs else {"hourly_rate": last_rate()})
    context = {
        "charge": charge,
        "items": charge.stacks.all(),
        "report": told,
        "history": sensed(charge, charge.unloaded_at) if told and charge.unloaded_at else None,
        "form": form,
        "mill": Mill.current(),
        "columns": sheet.COLUMNS,
    }
    return render(request, "kilnruns/report.html", context, status=422 if form.errors else 200)


def last_rate() -> float | None:
    """What an hour cost in the run noted last, to be offered again."""
    rows = RunCosts.objects.exclude(hourly_rate=None).order_by("-changed_at")
    return rows.values_list("hourly_rate", flat=True).first()


@require_safe
def charge_report(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, pk)


@require_POST
def charge_costs(request: HttpRequest, pk: int) -> HttpResponse:
    charge = get_object_or_404(Charge, pk=pk)
    form = CostsForm(request.POST)
    if not form.is_valid():
        return _page(request, pk, form)
    keep_costs(charge=charge, figures=form.cleaned_data, by=request.user)
    messages.success(request, _("Kept."))
    return redirect("charge_report", pk=pk)


@require_safe
def charge_report_csv(request: HttpRequest, pk: int) -> HttpResponse:
    return _file(pk, "csv", "text/csv; charset=utf-8", sheet.as_csv)


@require_safe
def charge_report_json(request: HttpRequest, pk: int) -> HttpResponse:
    return _file(pk, "json", "application/json; charset=utf-8", sheet.as_json)


def _file(pk: int, ending: str, kind: str, written: Any) -> HttpResponse:
    charge, told = told_of(pk)
    if told is None:
        raise Http404
    response = HttpResponse(written(told, currency()), content_type=kind)
    name = f"{slugify(str(charge.kiln))}-{charge.start_on.isoformat()}.{ending}"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
