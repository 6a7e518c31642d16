"""What a scanned tag opens."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from yard.fields.tagcode import hint
from yard.forms.tag import ScanForm
from yard.models import Stack, Tag
from yard.models.tagcode import TagCodeError, check, normalise, shown


@require_safe
def tag(request: HttpRequest, code: str) -> HttpResponse:
    """A blank tag offers a new stack, a live one leads on, a replaced one says so, a wrong one gives a hint."""
    try:
        found = Tag.objects.found(check(code))
    except TagCodeError as error:
        return unknown(request, code, hint(error))
    if found is None:
        return unknown(request, code, _("The code is well formed, but no tag of this yard bears it."))
    if found.replaced_by:
        return render(request, "yard/tag_replaced.html", {"tag": found})
    if found.board:
        return redirect("board", code=found.board.code)
    if found.stack:
        return to_stack(request, found.stack)
    return redirect(f"{reverse('stack_new')}?tag={found.code}")


def to_stack(request: HttpRequest, stack: Stack) -> HttpResponse:
    """To the stack, or to the one that its boards were joined into."""
    last = stack.at_last
    if last != stack:
        messages.info(request, _("The boards of %(code)s were joined into this stack.") % {"code": shown(stack.code)})
    return redirect("stack", code=last.code)


def unknown(request: HttpRequest, code: str, why: str) -> HttpResponse:
    form = ScanForm(initial={"code": normalise(code)[:20]})
    return render(request, "yard/tag_unknown.html", {"form": form, "why": why}, status=404)
