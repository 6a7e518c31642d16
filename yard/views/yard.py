"""The list of all stacks, by how near ready they are."""

from datetime import date, timedelta
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Case, Exists, F, IntegerField, OuterRef, Q, QuerySet, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from yard import outlook
from yard.forms.yardfilter import YardFilter
from yard.models import Place, Reading, Stack, tagcode
from yard.models.stack import READING_DUE_DAYS
from yard.models.woodname import kept_as

PER_PAGE = 50


@require_safe
def yard(request: HttpRequest) -> HttpResponse:
    return render(request, "yard/yard.html", listed(request))


def listed(request: HttpRequest) -> dict[str, Any]:
    """What the list shows of the query's filters, order and page; a stack's page may have it at its side."""
    outlook.refresh_missing()
    today = timezone.localdate()
    form = YardFilter(request.GET)
    wanted = form.wanted()
    stacks = by_readiness(_filtered(wanted, today), today, due_first="due" in wanted)
    page = Paginator(outlook.with_last_reading(stacks.for_lists()), PER_PAGE).get_page(request.GET.get("page"))
    return {
        "form": form,
        "page": page,
        "rows": [outlook.standing(stack, today) for stack in page],
        "today": today,
        "is_filtered": bool(set(wanted) - {"due"}),
        "has_places": bool(page.paginator.count) or Place.objects.outdoors().exists(),
    }


def by_readiness(stacks: Any, today: date, *, due_first: bool = False) -> Any:
    """Ready ones first, by the day they were or will be; then those without a day; in kilns or dry; never ones last."""
    under_way = Q(kiln_dried_on=None) & ~Q(place__kind="kiln")
    rank = Case(
        When(under_way & Q(outlook__ready_p50__isnull=False), then=Value(0)),
        When(under_way & Q(outlook__never=True), then=Value(3)),
        When(under_way, then=Value(1)),
        default=Value(2),
        output_field=IntegerField(),
    )
    first = [_is_due(today).desc()] if due_first else []
    return stacks.order_by(*first, rank, F("outlook__ready_p50").asc(nulls_last=True), "code")


def _is_due(today: date) -> Case:
    """1 for a stack under way that nobody has read in READING_DUE_DAYS days."""
    before = today - timedelta(days=READING_DUE_DAYS)
    recent = Reading.objects.valid().filter(stack=OuterRef("pk"), taken_at__date__gt=before)
    due = ~Exists(recent) & Q(cut_on__lte=before, kiln_dried_on=None, used_at=None) & ~Q(place__kind="kiln")
    return Case(When(due, then=Value(1)), default=Value(0), output_field=IntegerField())


def _filtered(wanted: dict[str, Any], today: date) -> QuerySet[Stack]:
    stacks = _in_state(wanted.get("state", ""), today)
    if "species" in wanted:
        stacks = stacks.filter(species=wanted["species"])
    if "place" in wanted:
        stacks = stacks.filter(place=wanted["place"])
    if "thickness" in wanted:
        stacks = stacks.filter(thickness_mm=float(wanted["thickness"]))
    if "text" in wanted:
        stacks = stacks.filter(_matches(wanted["text"]))
    return stacks


def _in_state(state: str, today: date) -> Any:
    drying = Stack.objects.drying()
    if state == "ready":
        return Stack.objects.ready(today)
    if state == "drying":
        return drying.exclude(outlook__ready_p50__lte=today).exclude(outlook__never=True)
    if state == "never":
        return drying.filter(outlook__never=True).exclude(outlook__ready_p50__lte=today)
    if state == "kiln":
        return Stack.objects.standing().filter(place__kind="kiln")
    if state == "dried":
        return Stack.objects.standing().exclude(place__kind="kiln").exclude(kiln_dried_on=None)
    if state == "gone":
        return Stack.objects.filter(~Q(used_at=None) | ~Q(joined_into=None))
    return Stack.objects.standing()


def _matches(text: str) -> Q:
    code = tagcode.normalise(text)
    wood = Q(species__name__icontains=text) | Q(species__name__in=kept_as(text))
    words = wood | Q(note__icontains=text) | Q(set_aside_for__icontains=text)
    return words | Q(code__contains=code) if code else words
