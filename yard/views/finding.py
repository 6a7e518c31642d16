"""Looking for a board of a size: which stacks have it, and whether the one at hand would do."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from yard import outlook
from yard.forms.finding import FindForm
from yard.models import Stack, Tag


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """Its address holds what is looked for, so that it can be shared; with a tag's code it says how that one fits."""
    today = timezone.localdate()
    form = FindForm(request.GET if set(request.GET) & {"length", "width", "thickness"} else None)
    context: dict[str, Any] = {"form": form, "today": today}
    if form.is_bound and not set(form.errors) - {"code"}:  # a mistyped tag takes away nothing of what was found
        wish = form.wish()
        context |= {"wish": wish, "found": outlook.find_boards(wish, today)}
        context |= _at_hand(form, wish, today)
    return render(request, "yard/find.html", context, status=422 if form.errors else 200)


def _at_hand(form: FindForm, wish: outlook.Wish, today: Any) -> dict[str, Any]:
    """The stack or board whose tag was scanned, and how it fits; an error at the code where no stack bears it."""
    code = form.cleaned_data.get("code")
    if not code:
        return {}
    tag = Tag.objects.found(code)
    board = tag.board if tag else None
    stack = board.stack if board else getattr(tag, "stack", None)
    if stack is None:
        form.add_error("code", _("No stack or board bears this tag."))
        return {}
    last = Stack.objects.for_lists().get(pk=stack.at_last.pk)
    fits = outlook.fit_of(last, board, wish, today)
    return {"at_hand": last, "board": board, "fits": fits[:5]}
