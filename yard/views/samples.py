"""A stack's sample boards: cut, and what they said each time they were weighed."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from yard.forms.sample import SampleForm
from yard.models import Method, SampleBoard, Stack
from yard.views.standing import any_stack, standing_stack


@require_http_methods(["GET", "HEAD", "POST"])
def stack_samples(request: HttpRequest, code: str) -> HttpResponse:
    stack = standing_stack(request, code) if request.method == "POST" else any_stack(code)
    boards = list(stack.sample_boards.all())
    initial = {"made_on": timezone.localdate(), "label": f"{len(boards) + 1}"}
    form = SampleForm(request.POST if request.method == "POST" else None, stack=stack, initial=initial)
    if request.method == "POST" and form.is_valid():
        board = form.save()
        dry = {"label": board.label, "dry": f"{board.oven_dry_mass_g:.0f}"}
        messages.success(request, _("Board %(label)s is kept; oven-dry it would weigh %(dry)s g.") % dry)
        return redirect("stack_samples", stack.code)
    context = {"stack": stack, "form": form, "boards": _with_weighings(stack, boards)}
    return render(request, "yard/stack_samples.html", context, status=422 if form.errors else 200)


def _with_weighings(stack: Stack, boards: list[SampleBoard]) -> list[dict[str, Any]]:
    """Each board with the days, masses and moistures of its weighings, the latest first."""
    readings = list(stack.readings.valid().filter(method=Method.SAMPLE_BOARD))
    weighings: dict[str, list[dict[str, Any]]] = {}
    for reading in readings:
        for label, mass, moisture in zip(reading.sample_labels, reading.raw, reading.corrected_pct, strict=True):
            weighings.setdefault(label, []).append({"at": reading.taken_at, "mass_g": mass, "moisture_pct": moisture})
    return [{"board": board, "weighings": weighings.get(board.label, [])} for board in boards]
