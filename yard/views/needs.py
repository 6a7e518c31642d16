"""Needs: what is wanted when, and which stacks could serve it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from yard import outlook
from yard.actions import needs as actions
from yard.forms.need import NeedForm
from yard.models import Need, Stack
from yard.views.yard import by_readiness

LATEST_MET = 10


@dataclass(frozen=True, slots=True)
class Serving:
    """A stack that could serve a need; `dry_mm` is what its thinnest boards measure then, None where not known."""

    standing: outlook.Standing
    dry_mm: float | None


@dataclass(frozen=True, slots=True)
class Wanted:
    """A need with the stacks that could serve it, the nearest ready first."""

    need: Need
    serving: list[Serving]

    @property
    def volume_m3(self) -> float:
        return sum(one.standing.stack.volume_m3 for one in self.serving)

    @property
    def is_enough(self) -> bool:
        return self.volume_m3 >= self.need.volume_m3


@require_safe
def needs(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    wanted = _wanted(Need.objects.open().select_related("species"), today)
    met = Need.objects.exclude(met_at=None).select_related("species").order_by("-met_at")[:LATEST_MET]
    return render(request, "yard/needs.html", {"wanted": wanted, "met": met, "today": today})


@require_http_methods(["GET", "HEAD", "POST"])
def need_new(request: HttpRequest) -> HttpResponse:
    form = NeedForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        need = form.save()
        messages.success(request, _("Kept: %(name)s.") % {"name": need.name})
        return redirect("need", need.pk)
    return render(request, "yard/need_new.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def need(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Need.objects.select_related("species"), pk=pk)
    today = timezone.localdate()
    wanted = _wanted([row], today)[0]
    form = NeedForm(request.POST if request.method == "POST" else None, instance=Need.objects.get(pk=pk))
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Kept."))
        return redirect("need", row.pk)
    context = {"wanted": wanted, "need": row, "form": form, "today": today}
    return render(request, "yard/need.html", context, status=422 if form.errors else 200)


@require_POST
def need_met(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Need, pk=pk)
    if request.POST.get("again"):
        actions.reopen(need=row, by=request.user)
        messages.success(request, _("%(name)s is wanted again.") % {"name": row.name})
        return redirect("need", row.pk)
    actions.meet(need=row, by=request.user, at=timezone.now())
    messages.success(request, _("%(name)s is met.") % {"name": row.name})
    return redirect("needs")


def _wanted(rows: Iterable[Need], today: date) -> list[Wanted]:
    """Each need with its stacks, in one pass over the stacks of all the species wanted."""
    rows = list(rows)
    stacks = by_readiness(Stack.objects.standing().filter(species__in={row.species_id for row in rows}), today)
    standings = [outlook.standing(stack, today) for stack in outlook.with_last_reading(stacks.for_lists())]
    return [Wanted(row, [one for each in standings if (one := _serves(row, each))]) for row in rows]


def _serves(need: Need, standing: outlook.Standing) -> Serving | None:
    """Of the species, not meant for another, and thick enough when dried to what is wanted."""
    stack = standing.stack
    if stack.species_id != need.species_id or stack.set_aside_for not in ("", need.name):
        return None
    size = outlook.dry_size(stack, need.target_pct)
    thickness_mm = size.quarter_sawn_mm if size else stack.thickness_mm
    return Serving(standing, size.quarter_sawn_mm if size else None) if thickness_mm >= need.thickness_mm else None
