"""A plan in work: how far it is, given up, or ended with the best found so far."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns.actions import plannings as actions
from kilnruns.models import Planning


def planning(request: HttpRequest, pk: int) -> HttpResponse:
    """How far it is, for the page that shows it; by itself it has none."""
    planning = get_object_or_404(Planning.objects.select_related("plan"), pk=pk)
    if not request.headers.get("HX-Request"):
        return redirect("kilns")
    return render(request, "kilnruns/_planning.html", {"planning": planning})


@require_POST
def planning_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    planning = get_object_or_404(Planning, pk=pk)
    if actions.cancel(planning=planning, at=timezone.now()):
        messages.success(request, _("Cancelled. The plan in force stays as it is."))
    return redirect("kilns")


@require_POST
def planning_best(request: HttpRequest, pk: int) -> HttpResponse:
    planning = get_object_or_404(Planning, pk=pk)
    if actions.want_best(planning=planning, at=timezone.now()):
        messages.success(request, _("It ends now, with the best plan found so far."))
    return redirect("kilns")
