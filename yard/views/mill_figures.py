"""The figures that needs, cut plans and the sawing list go by."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from yard.actions.people import owners_only
from yard.forms.mill_figures import MillFiguresForm
from yard.models import MillFigures


@require_http_methods(["GET", "HEAD", "POST"])
@owners_only
def mill_figures(request: HttpRequest) -> HttpResponse:
    figures = MillFigures.current()
    form = MillFiguresForm(request.POST if request.method == "POST" else None, figures=figures)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Kept. Needs, cut plans and the sawing list go by it."))
        return redirect("mill_figures")
    context = {"form": form, "figures": figures}
    return render(request, "yard/mill_figures.html", context, status=422 if form.errors else 200)


@require_POST
@owners_only
def mill_figures_usual(request: HttpRequest) -> HttpResponse:
    MillFigures.objects.all().delete()
    messages.success(request, _("The usual figures hold again."))
    return redirect("mill_figures")
