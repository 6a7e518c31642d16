"""Needs: what is wanted when, which stacks could serve it, what is kept for it, and the day that is promised."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from yard import outlook
from yard.actions import needs as actions
from yard.forms.need import LineForm, NeedForm
from yard.models import MillFigures, Need, NeedLine, Reservation, Stack

LATEST_MET, NEAREST = 10, 20


@require_safe
def needs(request: HttpRequest) -> HttpResponse:
    wanted = _wanted(Need.objects.open().with_lines())
    met = Need.objects.exclude(met_at=None).with_lines().order_by("-met_at")[:LATEST_MET]
    today = timezone.localdate()
    gets = outlook.share(wanted, today)
    rows = [(one, gets[one.need.pk]) for one in wanted]
    return render(request, "yard/needs.html", {"wanted": rows, "met": met, "today": today})


@require_http_methods(["GET", "HEAD", "POST"])
def need_new(request: HttpRequest) -> HttpResponse:
    """With its first line; the others are added at its page, one by one."""
    data = request.POST if request.method == "POST" else None
    form, line = NeedForm(data), LineForm(data)
    if request.method == "POST" and form.is_valid() & line.is_valid():
        new = form.save(commit=False)
        need = actions.make_need(need=new, by=request.user, at=timezone.now(), **line.fields_of_line())
        messages.success(request, _("Kept: %(name)s.") % {"name": need.name})
        return redirect("need", need.pk)
    status = 422 if form.errors or line.errors else 200
    return render(request, "yard/need_new.html", {"form": form, "line_form": line}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def need(request: HttpRequest, pk: int) -> HttpResponse:
    row = _need(pk)
    form = NeedForm(request.POST if request.method == "POST" else None, instance=Need.objects.get(pk=pk))
    if request.method == "POST" and form.is_valid():
        actions.change_need(need=form.save(commit=False), by=request.user, at=timezone.now())
        messages.success(request, _("Kept."))
        return redirect("need", row.pk)
    return _page(request, row, form=form)


@require_POST
def need_line_new(request: HttpRequest, pk: int) -> HttpResponse:
    row, form = _need(pk), LineForm(request.POST)
    if not form.is_valid():
        return _page(request, row, line_form=form)
    actions.add_line(need=row, by=request.user, **form.fields_of_line())
    messages.success(request, _("Added."))
    return redirect("need", row.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def need_line(request: HttpRequest, pk: int) -> HttpResponse:
    """One line is changed, or dropped."""
    line = get_object_or_404(NeedLine.objects.select_related("need"), pk=pk)
    if request.POST.get("drop"):
        actions.drop_line(line=line, by=request.user)
        messages.success(request, _("The line is gone."))
        return redirect("need", line.need_id)
    form = LineForm(request.POST if request.method == "POST" else None, line=line)
    if request.method == "POST" and form.is_valid():
        actions.change_line(line=line, by=request.user, **form.fields_of_line())
        messages.success(request, _("Kept."))
        return redirect("need", line.need_id)
    return render(request, "yard/need_line.html", {"form": form, "line": line}, status=422 if form.errors else 200)


@require_POST
def need_reserve(request: HttpRequest, pk: int) -> HttpResponse:
    """As much of a stack as the line still lacks, or all that is free of it, whichever is less."""
    line = get_object_or_404(NeedLine.objects.select_related("need"), pk=pk)
    stack = get_object_or_404(Stack.objects.standing(), code=request.POST.get("stack", "").upper())
    row = _need(line.need_id)
    among = outlook.kept_for([row]) | Q(pk=stack.pk)
    served = next(one for one in outlook.serve([row], timezone.localdate(), among)[row.pk] if one.line.pk == pk)
    server = served.server_of(stack.pk)
    if server is None or served.lacking_m3 <= 0 or server.free_m3 <= 0:
        messages.error(request, _("Nothing of this stack is free for it, or nothing is lacking."))
        return redirect("need", line.need_id)
    volume = server.kept_m3 + min(server.free_m3, served.lacking_m3)
    actions.reserve(line=line, stack=stack, volume_m3=volume, by=request.user, at=timezone.now())
    messages.success(request, _("Reserved."))
    return redirect("need", line.need_id)


@require_POST
def need_release(request: HttpRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(NeedLine, pk=pk)
    for one in Reservation.objects.filter(line=line, stack__code=request.POST.get("stack", "").upper()):
        actions.release(reservation=one, by=request.user)
    messages.success(request, _("It is free again."))
    return redirect("need", line.need_id)


@require_POST
def need_promise(request: HttpRequest, pk: int) -> HttpResponse:
    """The middle day, or the sure one, as they stand now."""
    [wanted] = outlook.wanted([_need(pk)], timezone.localdate(), kept_only=True)
    if wanted.promise is None:
        messages.error(request, _("Nobody can say a day: reserve stacks whose day is known."))
        return redirect("need", pk)
    day = wanted.promise.middle if request.POST.get("which") == "middle" else wanted.promise.sure
    chance = wanted.promise.chance(day)
    actions.promise(need=wanted.need, day=day, chance=chance, by=request.user, at=timezone.now())
    messages.success(request, _("Promised."))
    return redirect("need", pk)


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


def _need(pk: int) -> Need:
    return get_object_or_404(Need.objects.with_lines(), pk=pk)


def _page(request: HttpRequest, row: Need, **forms: Any) -> HttpResponse:
    """A form with errors stands open; the other is as it was."""
    given = {"form": NeedForm(instance=row), "line_form": LineForm()} | forms
    context = {"need": row, "today": timezone.localdate(), "figures": MillFigures.current(), **given}
    context |= _served(row, whole="all" in request.GET)
    return render(request, "yard/need.html", context, status=422 if any(one.errors for one in forms.values()) else 200)


@dataclass(frozen=True, slots=True)
class _Row:
    """A line with the stacks of its page, and what to saw for it, when all open needs have their share, and by when."""

    served: outlook.Served
    dry: list[tuple[outlook.Server, outlook.Standing]]
    drying: list[tuple[outlook.Server, outlook.Standing]]
    saw: outlook.SawLine | None = None
    when: outlook.SawDays | None = None

    @property
    def is_cut_short(self) -> bool:
        return len(self.dry) + len(self.drying) < self.served.count


def _served(row: Need, *, whole: bool) -> dict[str, Any]:
    """What serves it: of each line the nearest alone unless the `whole` is asked for."""
    today = timezone.localdate()
    if row.met_at:
        mine = _wanted([row])[0]
        return {"wanted": mine, "rows": _rows(mine.lines, {}, whole)}
    every = _wanted(Need.objects.open().with_lines())
    mine = next(one for one in every if one.need.pk == row.pk)
    lines = [one for one in outlook.saw_lines(every, today, MillFigures.current()) if one.need.pk == row.pk]
    days = outlook.days_of_lines(lines, outlook.usual_place() if lines else None, today, today=today)
    found = {one.line.pk: (one, when) for one, when in zip(lines, days, strict=True)}
    return {"wanted": mine, "rows": _rows(mine.lines, found, whole)}


def _rows(lines: list[outlook.Served], saw: dict[int, Any], whole: bool) -> list[_Row]:
    picked = [[one.nearest(one.count if whole else NEAREST, dry=dry) for dry in (True, False)] for one in lines]
    stands = outlook.standings({one.stack.pk for line in picked for some in line for one in some}, timezone.localdate())
    known = [[[(one, stands[one.stack.pk]) for one in some if one.stack.pk in stands] for some in line]
             for line in picked]  # fmt: skip
    return [
        _Row(one, dry, drying, *saw.get(one.line.pk, (None, None)))
        for one, (dry, drying) in zip(lines, known, strict=True)
    ]


def _wanted(rows: Any) -> list[outlook.Wanted]:
    return outlook.wanted(rows, timezone.localdate())
