"""Histories: who changed what of a thing, when, and what stood there before; and taking the last change back."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from yard.actions.roles import MONEY, may
from yard.actions.undoing import last_changes, undo
from yard.changes import PEOPLE, kind_of
from yard.changes.kinds import UNDONE
from yard.changes.tables import Subject, subject_of
from yard.changes.words import told
from yard.models import Change, Stack

PER_PAGE = 50
FIRST = ("need", "charge", "kiln", "place", "species", "mill", "stack")
"""Whose page comes after undoing what stands in several histories."""


@require_safe
def history(request: HttpRequest, key: str, pk: int) -> HttpResponse:
    """`key`: what it is of, `pk`: which one."""
    subject = subject_of(key)
    if subject is None:
        raise Http404
    thing = get_object_or_404(subject.model, pk=pk) if subject.model else None
    if isinstance(thing, Stack):
        return redirect("stack_history", code=thing.code)
    rows = Change.objects.filter(about__what=key, about__key=pk).select_related("by", "undoes", "undone_by__by")
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "heading": subject.heading(thing),
        "back": subject.page(thing),
        **last_changes(key, pk, request.user),
    }
    return _page_of_changes(request, page, context)


@require_safe
def people_history(request: HttpRequest) -> HttpResponse:
    """Who may do what, who was let in and out, by whom. For owners."""
    rows = Change.objects.filter(about__what=PEOPLE[0], about__key=PEOPLE[1]).select_related(
        "by", "undoes", "undone_by"
    )
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    return _page_of_changes(request, page, {"heading": _("People"), "back": reverse("people")})


def _page_of_changes(request: HttpRequest, page: Any, context: dict[str, Any]) -> HttpResponse:
    lines = told(list(page.object_list), money=may(request.user, MONEY))
    return render(request, "yard/history.html", {**context, "page": page, "told": lines, "today": timezone.localdate()})


@require_POST
def undo_change(request: HttpRequest, pk: int) -> HttpResponse:
    change = get_object_or_404(Change.objects.select_related("undoes").prefetch_related("about"), pk=pk)
    try:
        undo(change=change, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        if change.kind == UNDONE and change.undoes is not None:
            said, kind = _("Done again: %(what)s."), change.undoes.kind
        else:
            said, kind = _("Undone: %(what)s."), change.kind
        messages.success(request, said % {"what": kind_of(kind).words})
    return redirect(_page_of(change))


def _page_of(change: Change) -> str:
    """The page of what it was about, or the list that it stood in."""
    about = {one.what: one.key for one in change.about.all()}
    for what in FIRST:
        subject = subject_of(what)
        if what in about and subject is not None:
            return _page(subject, about[what])
    return reverse("today")


def _page(subject: Subject, key: Any) -> str:
    if subject.model is None:
        return subject.page(None)
    thing = subject.model._base_manager.filter(pk=key).first()
    return subject.page(thing) if thing else reverse(subject.gone)
