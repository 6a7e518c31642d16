"""Places: where stacks stand, with their climate."""

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from yard import outlook
from yard.actions.places import keep_place
from yard.forms.place import TYPED, PlaceForm
from yard.models import Place, PlaceKind

STANDING = Count("stacks", filter=Q(stacks__used_at=None, stacks__joined_into=None))


@require_safe
def places(request: HttpRequest) -> HttpResponse:
    rows = Place.objects.exclude(kind=PlaceKind.KILN).annotate(standing=STANDING).order_by("given_up", "name")
    shown = [{"place": place, "air": outlook.place_emc(place)} for place in rows]
    return render(request, "yard/places.html", {"places": shown})


@require_http_methods(["GET", "HEAD", "POST"])
def place_new(request: HttpRequest) -> HttpResponse:
    form = PlaceForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        place = keep_place(place=form.save(commit=False), by=request.user)
        messages.success(request, _("%(name)s is ready for stacks.") % {"name": place.name})
        return redirect("place", place.pk)
    return render(request, "yard/place_new.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, pk: int) -> HttpResponse:
    outdoors = Place.objects.exclude(kind=PlaceKind.KILN).annotate(standing=STANDING)
    row = get_object_or_404(outdoors, pk=pk)
    air = outlook.place_emc(row)  # before the form writes what was typed into the row
    form = PlaceForm(
        request.POST if request.method == "POST" else None, instance=row, initial={"preset": TYPED if air else None}
    )
    if request.method == "POST" and form.is_valid():
        keep_place(place=form.save(commit=False), by=request.user, since=form.cleaned_data["kind_since"])
        messages.success(request, _("Kept. The forecasts of the stacks here follow."))
        return redirect("place", row.pk)
    context = {
        "place": row,
        "form": form,
        "air": air,
        "months": _months(row, air),
        "weather_until": outlook.weather_until(row),
        "former": row.former_kinds.all(),
    }
    return render(request, "yard/place.html", context, status=422 if form.errors else 200)


def _months(place: Place, air: outlook.PlaceAir | None) -> list[tuple[str, float, float, float]]:
    """Of each month its name, temperature, humidity and equilibrium moisture; nothing without a climate."""
    if air is None:
        return []
    names = [str(name) for name in MONTHS.values()]
    return list(zip(names, place.temperatures_c, place.humidities_pct, air.emc_pct, strict=True))
