"""The list of all stacks, by how near ready they are."""

from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from yard import outlook
from yard.forms.yardfilter import YardFilter
from yard.models import Place, Stack, keptwords, tagcode
from yard.models.listed import Forecast
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
    stacks = _filtered(wanted, today)
    state = wanted.get("state", "")
    parts = by_due(stacks, today, state) if "due" in wanted else by_readiness(stacks, state)
    listed: Any = Chained(stacks, parts)
    page = Paginator(listed, PER_PAGE).get_page(request.GET.get("page"))
    return {
        "form": form,
        "page": page,
        "rows": [outlook.standing(stack, today) for stack in page],
        "today": today,
        "is_filtered": bool(set(wanted) - {"due"}),
        "has_places": bool(page.paginator.count) or Place.objects.outdoors().exists(),
    }


class Chained:
    """Stacks in parts that follow each other, each in the order of an index, for a Paginator: of a yard of any size a
    page reads its own rows, and the keys of those before it. One query a part."""

    def __init__(self, stacks: Any, parts: list[Any]) -> None:
        self._stacks, self._parts = stacks, parts

    def count(self) -> int:
        return int(self._stacks.count())

    def __getitem__(self, wanted: slice) -> list[Stack]:
        keys = [key for part in self._parts for key in part.values_list("pk", flat=True)[: wanted.stop]]
        keys = keys[wanted.start or 0 : wanted.stop]
        found = {row.pk: row for row in outlook.with_last_reading(Stack.objects.for_lists().filter(pk__in=keys))}
        return [found[key] for key in keys if key in found]


def by_readiness(stacks: Any, state: str = "") -> list[Any]:
    """Ready ones first, by the day they were or will be; then those without a day; in kilns or dry; never ones last.

    Of stacks in one state, the parts that they can be in."""
    under_way = stacks.filter(kiln_dried_on=None).outside_kilns()
    told = {kind: under_way.filter(forecast=kind).order_by("ready_on", "code") for kind in Forecast}
    kilns = list(Place.objects.filter(kind="kiln").values_list("pk", flat=True))
    inside = stacks.filter(kiln_dried_on=None, place__in=kilns).order_by("place", "code")
    dried = stacks.exclude(kiln_dried_on=None).order_by("code")
    without_a_day = [told[Forecast.NONE], told[Forecast.LATE]]
    parts = {
        "ready": [told[Forecast.DATED]],
        "drying": [told[Forecast.DATED], *without_a_day],
        "never": [told[Forecast.NEVER]],
        "kiln": [inside, dried],
        "dried": [dried],
    }
    return parts.get(state) or [told[Forecast.DATED], *without_a_day, inside, dried, told[Forecast.NEVER]]


def by_due(stacks: Any, today: date, state: str) -> list[Any]:
    """Those that nobody has read in READING_DUE_DAYS days, the nearest ready first, before the others."""
    due = stacks.due_reading(today)
    kinds = (Forecast.DATED, Forecast.NONE, Forecast.LATE, Forecast.NEVER)
    nearest = [due.filter(forecast=kind).order_by("ready_on", "code") for kind in kinds]
    return [*nearest, *by_readiness(stacks.not_due_reading(today), state)]


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
        return drying.exclude(forecast=Forecast.DATED, ready_on__lte=today).exclude(forecast=Forecast.NEVER)
    if state == "never":
        return drying.filter(forecast=Forecast.NEVER)
    if state == "kiln":
        return Stack.objects.standing().filter(place__kind="kiln")
    if state == "dried":
        return Stack.objects.standing().outside_kilns().exclude(kiln_dried_on=None)
    if state == "gone":
        return Stack.objects.filter(~Q(used_at=None) | ~Q(joined_into=None))
    return Stack.objects.standing()


def _matches(text: str) -> Q:
    code = tagcode.normalise(text)
    wood = Q(species__name__icontains=text) | Q(species__name__in=kept_as(text))
    words = wood | Q(note__icontains=text) | Q(set_aside_for__icontains=text)
    ends = keptwords.set_aside_parts(text)
    if ends:
        words |= Q(set_aside_for__istartswith=ends[0], set_aside_for__endswith=ends[1])
    return words | Q(code__contains=code) if code else words
