"""Single boards with a tag of their own."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from yard.actions.boards import make_board
from yard.forms.board import BoardForm, BoardOfStackForm
from yard.models import Tag, Why
from yard.models.tagcode import normalise
from yard.receipts import UnplacedError, is_from_outbox
from yard.views.standing import any_board, standing_stack


@require_http_methods(["GET", "HEAD", "POST"])
def stack_boards(request: HttpRequest, code: str) -> HttpResponse:
    """A stack's tagged boards, and one more."""
    stack = standing_stack(request, code)
    form = BoardForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        blank = form.cleaned_data["code"] or None
        try:
            board = make_board(stack=stack, code=blank, by=request.user, at=timezone.now(), **form.sizes())
        except ValidationError as error:
            form.add_error("code", error)
        else:
            messages.success(request, _("The board is kept.") if blank else _("The board is kept; print its tag."))
            return redirect("board", code=board.code)
    context = {"stack": stack, "boards": stack.boards.all(), "form": form}
    return render(request, "yard/stack_boards.html", context, status=422 if form.errors else 200)


@require_safe
def board(request: HttpRequest, code: str) -> HttpResponse:
    found = any_board(code)
    readings = found.readings.filter(voided_at=None)[:20]
    return render(request, "yard/board.html", {"board": found, "stack": found.stack, "readings": readings})


@require_http_methods(["GET", "HEAD", "POST"])
def tag_board(request: HttpRequest, code: str) -> HttpResponse:
    """A blank tag at hand becomes a board's."""
    tag = tag_at_hand(request, code)
    if tag is None:
        return redirect("tag", code=code)
    form = BoardOfStackForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid() and still_blank(request, form, tag):
        stack = form.cleaned_data["stack"]
        try:
            made = make_board(stack=stack, code=tag.code, by=request.user, at=timezone.now(), **form.sizes())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("The board is kept."))
            return redirect("board", code=made.code)
    return render(request, "yard/tag_board.html", {"tag": tag, "form": form}, status=422 if form.errors else 200)


def tag_at_hand(request: HttpRequest, code: str) -> Tag | None:
    """The tag of a code; None for a page about one that isn't blank. UnplacedError for a form under an unknown one."""
    tag = Tag.objects.filter(code=normalise(code)).first()
    if request.method != "POST":
        return tag if tag and tag.is_blank else None
    if tag is None:
        raise UnplacedError(Why.UNKNOWN)
    return tag


def still_blank(request: HttpRequest, form: Form, tag: Tag) -> bool:
    """Whether the tag is; if someone claimed it meanwhile, the form says so, and a phone's is to be sorted out."""
    if tag.is_blank:
        return True
    if is_from_outbox(request):
        raise UnplacedError(Why.TAKEN)
    form.add_error(None, f"{Why.TAKEN.label} " + _("Take another tag and type this once more there."))
    return False
