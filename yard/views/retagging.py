"""A lost tag is replaced, from the stack's or board's side or from a blank tag's."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from yard.actions.tags import replace
from yard.forms.tag import ReplacesForm, RetagForm
from yard.models import Board, Stack
from yard.views.boards import still_blank, tag_at_hand
from yard.views.standing import any_board, any_stack, standing_stack


@require_http_methods(["GET", "HEAD", "POST"])
def stack_retag(request: HttpRequest, code: str) -> HttpResponse:
    return retag(request, standing_stack(request, code))


@require_http_methods(["GET", "HEAD", "POST"])
def board_retag(request: HttpRequest, code: str) -> HttpResponse:
    return retag(request, any_board(code))


def retag(request: HttpRequest, bearer: Stack | Board) -> HttpResponse:
    """A blank tag's code, or none for a fresh tag to print. The old tag says from then on where to look."""
    old = bearer.code
    form = RetagForm(request.POST if request.method == "POST" else None)
    context = {"bearer": bearer, "is_board": isinstance(bearer, Board), "old": old}
    if request.method == "POST" and form.is_valid():
        blank = form.cleaned_data["code"] or None
        whose = {"board": bearer} if isinstance(bearer, Board) else {"stack": bearer}
        try:
            tag = replace(**whose, code=blank, by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error("code", error)
        else:
            name = "board_retag_done" if context["is_board"] else "stack_retag_done"
            return redirect(reverse(name, args=[tag.code]) + ("" if blank else "?print=1"))
    return render(request, "yard/retag.html", context | {"form": form}, status=422 if form.errors else 200)


@require_safe
def stack_retag_done(request: HttpRequest, code: str) -> HttpResponse:
    return retag_done(request, any_stack(code))


@require_safe
def board_retag_done(request: HttpRequest, code: str) -> HttpResponse:
    return retag_done(request, any_board(code))


def retag_done(request: HttpRequest, bearer: Stack | Board) -> HttpResponse:
    """Both tags, and the new one's label to print where it was made fresh."""
    tag = bearer.tags.get(replaced_by=None)
    old = tag.replaces.order_by("replaced_at").last()
    context = {"tag": tag, "old": old, "is_board": isinstance(bearer, Board), "to_print": "print" in request.GET}
    return render(request, "yard/retag_done.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def tag_replaces(request: HttpRequest, code: str) -> HttpResponse:
    """A blank tag at hand takes the place of a stack's lost one."""
    tag = tag_at_hand(request, code)
    if tag is None:
        return redirect("tag", code=code)
    form = ReplacesForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid() and still_blank(request, form, tag):
        try:
            replace(stack=form.cleaned_data["stack"], code=tag.code, by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("This tag hangs here now; the lost one says so when it turns up."))
            return redirect("tag", code=tag.code)
    return render(request, "yard/tag_replaces.html", {"tag": tag, "form": form}, status=422 if form.errors else 200)
