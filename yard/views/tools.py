"""The small calculators: a list, and a page for each. Its address holds the figures, so that it can be shared."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from yard.forms.tools import TOOLS
from yard.forms.woodfield import OfWood


@require_safe
def tools(request: HttpRequest) -> HttpResponse:
    return render(request, "yard/tools.html", {"tools": TOOLS.values()})


@require_safe
def tool(request: HttpRequest, key: str) -> HttpResponse:
    if key not in TOOLS:
        raise Http404
    kind = TOOLS[key]
    known = {"woods": True} if issubclass(kind, OfWood) else {}
    form = kind(request.GET if request.GET else None, **known)
    is_refused = form.is_bound and not form.is_valid()
    return render(request, "yard/tool.html", {"form": form}, status=422 if is_refused else 200)
