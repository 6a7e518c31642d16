"""The book of species, each figure with its source."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from yard.actions.species import keep_species
from yard.fields.naming import in_order
from yard.forms.species import SpeciesForm, column_words
from yard.measures.quantities import of_unit
from yard.measures.told import figure, number, unit_of
from yard.models import Species, sourcewords
from yard.models.woodname import kept_as

SHOWN = [field for field in SpeciesForm.Meta.fields if field not in ("name", "latin_name", "region")]
STANDING = Count("stacks", filter=Q(stacks__used_at=None, stacks__joined_into=None))


@require_safe
def species_list(request: HttpRequest) -> HttpResponse:
    text = request.GET.get("text", "").strip()
    rows = Species.objects.annotate(standing=STANDING)
    if text:
        rows = rows.filter(Q(name__icontains=text) | Q(name__in=kept_as(text)) | Q(latin_name__icontains=text))
    return render(
        request,
        "yard/species_list.html",
        {"species_list": sorted(rows, key=lambda row: (-row.standing, in_order(row))), "text": text},
    )


@require_http_methods(["GET", "HEAD", "POST"])
def species_new(request: HttpRequest) -> HttpResponse:
    _owner(request)
    form = SpeciesForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        row = keep_species(species=form.save(commit=False), by=request.user, at=timezone.now())
        messages.success(request, _("%(name)s is in the book.") % {"name": row.name})
        return redirect("species", row.key)
    return render(request, "yard/species_new.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def species(request: HttpRequest, key: str) -> HttpResponse:
    row = get_object_or_404(Species.objects.annotate(standing=STANDING), key=key)
    shown = {"name": row.name, "latin_name": row.latin_name, "figures": _figures(row)}
    form = (
        SpeciesForm(request.POST if request.method == "POST" else None, instance=row) if request.user.is_staff else None
    )
    if request.method == "POST":
        _owner(request)
        if form and form.is_valid():
            keep_species(species=form.save(commit=False), by=request.user, at=timezone.now())
            messages.success(request, _("Kept. The forecasts of its stacks follow."))
            return redirect("species", row.key)
    context = {"species": row, "shown": shown, "form": form}
    context["remarks"] = _remarks(row)
    return render(request, "yard/species.html", context, status=422 if form and form.errors else 200)


def _remarks(species: Species) -> list[sourcewords.Part]:
    """What the book remarks on it, begun as a sentence is."""
    parts = sourcewords.note(species.sources.get("note", {}).get("text", ""))
    return [replace(one, text=capfirst(one.text)) if at == 0 else one for at, one in enumerate(parts)]


def _owner(request: HttpRequest) -> None:
    """Only an owner changes the book."""
    if not request.user.is_staff:
        raise PermissionDenied(_("Only an owner may change the species."))


def _figures(row: Species) -> list[dict[str, Any]]:
    """Label, value and source of each figure; before a form writes what was typed into the row."""
    return [_figure(row, name) for name in SHOWN if getattr(row, name) not in (None, "")]


def _figure(row: Species, name: str) -> dict[str, Any]:
    column: Any = Species._meta.get_field(name)
    label, _comma, unit = column_words(name).partition(", ")
    value = getattr(row, f"get_{name}_display")() if column.choices else getattr(row, name)
    if isinstance(value, float):
        value = _told(value, unit)
    schedule = name.startswith("schedule_")
    source = row.sources.get(name, {})
    return {
        "label": f"{label}, {unit}" if schedule else label,
        "unit": "" if schedule else unit_of(unit),
        "value": value,
        "source": sourcewords.told(source.get("text", "")),
        "is_recalled": bool(source.get("from_memory")),
    }


def _told(value: float, unit: str) -> str:
    """A figure with as many decimals as the book has; a measured one in its reader's unit."""
    decimals = len(f"{value:g}".partition(".")[2])
    measure = of_unit(unit)
    return figure(value, decimals, measure, 1) if measure else number(value, decimals)
