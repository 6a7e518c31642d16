"""The weather of a place: its log shown, added to, taken out of, given out; what the place was before."""

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from yard import outlook
from yard.actions.weather import forget_kind, keep_weather, remove_weather
from yard.forms.weather import SHOWN_CHARACTERS, DaysForm, WeatherForm
from yard.models import FormerKind, Place, PlaceKind

SHOWN_FAULTS, SHOWN_GAPS, SHOWN_MONTHS = 40, 12, 24


@require_http_methods(["GET", "HEAD", "POST"])
def place_weather(request: HttpRequest, pk: int) -> HttpResponse:
    place = _outdoors(pk)
    if request.method != "POST":
        return _page(request, place, form=WeatherForm())
    form = WeatherForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, place, form=form, status=422)
    sheet = form.sheet
    if not sheet.days:
        again = WeatherForm(initial={"text": form.given[:SHOWN_CHARACTERS]})
        return _page(request, place, form=again, sheet=sheet, status=422)
    kept = keep_weather(place=place, days=sheet.days, by=request.user)
    return _page(request, place, form=WeatherForm(initial={"text": sheet.refused}), sheet=sheet, kept=kept)


@require_POST
def place_weather_remove(request: HttpRequest, pk: int) -> HttpResponse:
    place = _outdoors(pk)
    form = DaysForm(request.POST)
    if not form.is_valid():
        return _page(request, place, form=WeatherForm(), days_form=form, status=422)
    count = remove_weather(place=place, **form.cleaned_data, by=request.user)
    words = ngettext("%(count)s day is out of the log.", "%(count)s days are out of the log.", count)
    messages.success(request, words % {"count": count} if count else _("The log has no day of these."))
    return redirect("place_weather", place.pk)


@require_safe
def place_weather_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The log as a file in the form that is taken back."""
    place = _outdoors(pk)
    answer = HttpResponse(outlook.write_weather(place.weather.all()), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="weather-{slugify(place.name) or place.pk}.csv"'
    return answer


@require_POST
def former_kind_remove(request: HttpRequest, pk: int) -> HttpResponse:
    former = get_object_or_404(FormerKind.objects.select_related("place"), pk=pk)
    forget_kind(former=former, by=request.user)
    messages.success(request, _("Taken back. The forecasts of the stacks here follow."))
    return redirect("place", former.place_id)


def _outdoors(pk: int) -> Place:
    return get_object_or_404(Place.objects.exclude(kind=PlaceKind.KILN), pk=pk)


def _page(
    request: HttpRequest,
    place: Place,
    *,
    form: WeatherForm,
    days_form: DaysForm | None = None,
    sheet: Any = None,
    kept: Any = None,
    status: int = 200,
) -> HttpResponse:
    rows = list(place.weather.all())
    gaps = outlook.weather_gaps(rows)
    months = outlook.weather_months(place, rows)
    groups = _grouped(sheet.faults) if sheet else []
    context = {
        "place": place,
        "form": form,
        "days_form": days_form or DaysForm(),
        "sheet": sheet,
        "kept": kept,
        "groups": groups[:SHOWN_FAULTS],
        "more_groups": len(groups) - SHOWN_FAULTS,
        "refused_days": sum(1 for fault in sheet.faults if not fault.taken and fault.line) if sheet else 0,
        "days": len(rows),
        "first": rows[0].day if rows else None,
        "last": rows[-1].day if rows else None,
        "gaps": gaps[-SHOWN_GAPS:],
        "older_gaps": len(gaps) - SHOWN_GAPS,
        "missing": sum((last - first).days + 1 for first, last in gaps),
        "months": months[-SHOWN_MONTHS:],
        "has_older_months": len(months) > SHOWN_MONTHS,
    }
    return render(request, "yard/place_weather.html", context, status=status)


def _grouped(faults: Any) -> list[list[Any]]:
    """Faults that say the same of neighbouring lines, told once."""

    def says(fault: Any) -> tuple[str, str]:
        same_day = fault.figures.get("day") if fault.code == "part_day" else None
        return fault.code, str(same_day or fault.figures)

    return [list(group) for _says, group in groupby(faults, key=says)]
