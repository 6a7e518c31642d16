"""The small calculators: a list, and a page for each. Its address holds the figures, so that it can be shared."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from yard.forms.figures import ToolForm
from yard.forms.tools import TOOLS
from yard.forms.tools_drying import DryingForm
from yard.forms.woodfield import OfWood


@require_safe
def tools(request: HttpRequest) -> HttpResponse:
    return render(request, "yard/tools.html", {"tools": TOOLS.values()})


@require_safe
def tool(request: HttpRequest, key: str) -> HttpResponse:
    if key not in TOOLS:
        raise Http404
    form = _form(request, TOOLS[key])
    is_refused = form.is_bound and not form.is_valid()
    keep = request.GET.urlencode() if key == DryingForm.key and form.found else ""
    return render(request, "yard/tool.html", {"form": form, "keep": keep}, status=422 if is_refused else 200)


@require_safe
@never_cache
@gzip_page
def drying_table(request: HttpRequest) -> JsonResponse:
    """The what-if for every month and the usual thicknesses, which the phone keeps for where there is no reception."""
    form = _form(request, DryingForm)
    if not isinstance(form, DryingForm) or not form.is_valid():
        return JsonResponse({"errors": form.errors}, status=422)
    return JsonResponse(form.table())


def _form(request: HttpRequest, kind: type[ToolForm]) -> ToolForm:
    known: dict[str, Any] = {"woods": True} if issubclass(kind, OfWood) else {}
    if kind is DryingForm:
        known["today"] = timezone.localdate()
    return kind(request.GET if request.GET else None, **known)
