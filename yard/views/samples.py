"""A stack's sample boards: cut, and what they said each time they were weighed."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from yard.actions.samples import keep_sample, make_good
from yard.forms.sample import SampleForm, SectionsDryForm
from yard.models import Method, SampleBoard, Stack, Why
from yard.receipts import UnplacedError, is_from_outbox, is_settling, moment
from yard.views.standing import any_stack, standing_stack


@require_http_methods(["GET", "HEAD", "POST"])
def stack_samples(request: HttpRequest, code: str) -> HttpResponse:
    stack = standing_stack(request, code) if request.method == "POST" else any_stack(code)
    boards = list(stack.sample_boards.all())
    initial = {"made_on": timezone.localdate(), "label": f"{len(boards) + 1}"}
    drying = {board.pk: SectionsDryForm(board=board) for board in boards if board.provisional}
    if request.method == "POST" and "board" in request.POST:
        return _made_good(request, stack, boards, drying, initial)
    form = SampleForm(request.POST if request.method == "POST" else None, stack=stack, initial=initial)
    if request.method == "POST" and form.is_valid():
        board = form.save(commit=False)
        keep_sample(board=board, by=request.user, at=moment(request))
        dry = {"label": board.label, "dry": f"{board.oven_dry_mass_g:.0f}"}
        messages.success(request, _("Board %(label)s is kept; oven-dry it would weigh %(dry)s g.") % dry)
        return redirect("stack_samples", stack.code)
    context = {"stack": stack, "form": form, "boards": _with_weighings(stack, boards, drying)}
    return render(request, "yard/stack_samples.html", context, status=422 if form.errors else 200)


def _made_good(
    request: HttpRequest,
    stack: Stack,
    boards: list[SampleBoard],
    drying: dict[int, SectionsDryForm],
    initial: dict[str, Any],
) -> HttpResponse:
    """The sections of a provisional board came out of the oven."""
    board = next((one for one in boards if str(one.pk) == request.POST["board"]), None)
    if board is None:
        raise Http404
    form = SectionsDryForm(request.POST, board=board)
    if not board.provisional and not is_settling(request):
        if (
            is_from_outbox(request)
            and form.is_valid()
            and form.masses_g != [dry for _wet, dry in board.section_masses_g]
        ):
            raise UnplacedError(Why.CHANGED, f"other masses of board {board.pk} are kept")
        messages.info(request, _("The oven-dry masses of board %(label)s are kept already.") % {"label": board.label})
        return redirect("stack_samples", stack.code)
    drying[board.pk] = form
    if form.is_valid() and _take(request, form):
        return redirect("stack_samples", stack.code)
    fresh = SampleForm(stack=stack, initial=initial)
    context = {"stack": stack, "form": fresh, "boards": _with_weighings(stack, boards, drying)}
    return render(request, "yard/stack_samples.html", context, status=422)


def _take(request: HttpRequest, form: SectionsDryForm) -> bool:
    words = {"label": form.board.label}
    try:
        count = make_good(
            board=form.board, dry_g=form.masses_g, by=request.user, at=moment(request), is_right=is_settling(request)
        )
    except ValidationError as error:
        form.add_error(None, error)
        return False
    told = ngettext(
        "Board %(label)s is made good, and its %(n)d weighing reckoned anew.",
        "Board %(label)s is made good, and its %(n)d weighings reckoned anew.",
        count,
    )
    messages.success(request, told % {**words, "n": count})
    return True


def _with_weighings(
    stack: Stack, boards: list[SampleBoard], drying: dict[int, SectionsDryForm]
) -> list[dict[str, Any]]:
    """Each board with the days, masses and moistures of its weighings, the latest first."""
    readings = list(stack.readings.valid().filter(method=Method.SAMPLE_BOARD))
    weighings: dict[str, list[dict[str, Any]]] = {}
    for reading in readings:
        for label, mass, moisture in zip(reading.sample_labels, reading.raw, reading.corrected_pct, strict=True):
            weighings.setdefault(label, []).append({"at": reading.taken_at, "mass_g": mass, "moisture_pct": moisture})
    return [
        {"board": board, "weighings": weighings.get(board.label, []), "form": drying.get(board.pk)} for board in boards
    ]
