"""Import and export: sheets given out, files tried row by row, and taken once a person has seen what they would do."""

import hashlib
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_safe

from yard.actions.readings import ImpossibleReadingError
from yard.actions.sentsheets import keep_sheet, take
from yard.exchange import sheets
from yard.exchange.columns import SHEETS
from yard.exchange.fates import SAME, Fate, counted
from yard.exchange.files import MOST_ROWS, TYPES
from yard.forms.exchange import SheetForm
from yard.models import SentSheet

TITLES = {
    "stacks": gettext_lazy("Stacks"),
    "boards": gettext_lazy("Boards"),
    "readings": gettext_lazy("Readings"),
    "needs": gettext_lazy("Needs"),
}


@require_safe
def exchange(request: HttpRequest) -> HttpResponse:
    waiting = SentSheet.objects.filter(by=request.user.pk).defer("content")
    return render(request, "yard/exchange/all.html", {"titles": TITLES.items(), "waiting": waiting})


@require_http_methods(["GET", "HEAD", "POST"])
def exchange_sheet(request: HttpRequest, key: str) -> HttpResponse:
    """One kind of sheet: its files, its columns, and a file sent in, which is kept for its trial."""
    _known(key)
    form = SheetForm(request.POST or None, request.FILES or None) if request.method == "POST" else SheetForm()
    if request.method == "POST" and form.is_valid():
        file, now = form.cleaned_data["file"], timezone.now()
        content = file.read()
        try:
            sheets.fates(key, content, now)
        except ValidationError as error:
            form.add_error("file", error)
        else:
            kept = keep_sheet(kind=key, name=file.name, content=content, by=request.user, at=now)
            return redirect("exchange_sent", kept.pk)
    context = {"key": key, "title": TITLES[key], "columns": SHEETS[key], "form": form, "most_rows": MOST_ROWS}
    return render(request, "yard/exchange/sheet.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def exchange_sent(request: HttpRequest, pk: int) -> HttpResponse:
    """What each row of a file would do; POST with its mark takes it, POST with `drop` lets it go."""
    sheet = get_object_or_404(SentSheet, pk=pk, by=request.user)
    if "drop" in request.POST:
        sheet.delete()
        messages.success(request, _("The file is gone; nothing was written."))
        return redirect("exchange_sheet", sheet.kind)
    now = timezone.now()
    found = sheets.fates(sheet.kind, bytes(sheet.content), now)
    mark, wrong = _mark(found), ""
    if request.method == "POST":
        wrong = _taken(request, sheet, found, mark)
        if not wrong:
            return redirect("exchange_sheet", sheet.kind)
    counts = counted(found)
    context = {
        "sheet": sheet,
        "title": TITLES[sheet.kind],
        "told": [fate for fate in found if fate.kind != SAME],
        "counts": counts,
        "writes": counts["new"] + counts["changed"],
        "mark": mark,
        "wrong": wrong,
    }
    return render(request, "yard/exchange/sent.html", context, status=422 if wrong else 200)


def _taken(request: HttpRequest, sheet: SentSheet, found: list[Fate], mark: str) -> str:
    """Take the sheet; else why not, as a sentence."""
    if request.POST.get("mark") != mark:
        return _("The yard has changed since this page was made. Look through the rows again.")
    steps = [fate.step for fate in found if fate.step]
    try:
        take(sheet=sheet, steps=steps, by=request.user, at=timezone.now())
    except (ValidationError, ImpossibleReadingError) as error:
        why = " ".join(error.messages) if isinstance(error, ValidationError) else str(error)
        return _("Nothing was written: %(why)s") % {"why": why}
    said = ngettext("%(count)d row written.", "%(count)d rows written.", len(steps))
    messages.success(request, said % {"count": len(steps)})
    return ""


@require_safe
def exchange_file(request: HttpRequest, key: str, name: str) -> HttpResponse:
    return _file(key, name, sheets.export)


@require_safe
def exchange_example(request: HttpRequest, key: str, name: str) -> HttpResponse:
    return _file(key, name, sheets.example)


def _file(key: str, name: str, make: Any) -> HttpResponse:
    _known(key)
    form = name.removeprefix(f"{key}.")
    if form not in TYPES:
        raise Http404
    answer = HttpResponse(make(key, form), content_type=TYPES[form])
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _known(key: str) -> None:
    if key not in SHEETS:
        raise Http404


def _mark(found: list[Fate]) -> str:
    """The same for the same fates: what was seen is what is taken."""
    told = [(fate.line, fate.kind, fate.changes, fate.faults) for fate in found]
    return hashlib.sha256(repr(told).encode()).hexdigest()
