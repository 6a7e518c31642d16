"""Putting a stack's particulars and tally right."""

from collections import Counter
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from yard.actions.merging import TALLY, Theirs, changed, merged
from yard.actions.stacks import correct, tally
from yard.changes.words import corrected
from yard.forms.stack import StackForm
from yard.forms.tally import Tally
from yard.models import Stack, Why
from yard.receipts import UnplacedError, is_from_outbox, is_settling, moment
from yard.templatetags.receipts import version
from yard.views.standing import any_stack, bears, events_since, standing_stack
from yard.views.tagging import changed_tally


@require_http_methods(["GET", "HEAD", "POST"])
def stack_edit(request: HttpRequest, code: str) -> HttpResponse:
    """The same form as for a new stack, with what is known; what stood there before goes to the history."""
    stack = standing_stack(request, code)
    today = timezone.localdate()
    if request.method != "POST":
        return edit_page(request, stack, StackForm(instance=stack, today=today), Tally(lines=tally(stack)))
    if "keep" not in request.POST:
        typed = {name: request.POST.get(name, "") for name in StackForm.base_fields}
        form = StackForm(instance=stack, initial=typed, today=today)
        return edit_page(request, stack, form, changed_tally(request))
    if not bears(stack, code):
        return of_another(request, stack)
    form = StackForm(request.POST, instance=stack, today=today)
    lines = Tally(request.POST)
    if not all([form.is_valid(), lines.is_valid()]):
        return edit_page(request, any_stack(stack.code), form, lines, status=422)
    # the form has written into its instance; the action compares with a fresh one
    return keep_changes(request, any_stack(stack.code), form, lines)


def of_another(request: HttpRequest, stack: Stack) -> HttpResponse:
    """The stack lies on this one now; its particulars must not overwrite this one's."""
    if is_from_outbox(request) or is_settling(request):
        raise UnplacedError(Why.CHANGED)
    messages.warning(request, _("Nothing was changed: these are the figures of the stack that it lies on now."))
    form = StackForm(instance=stack, today=timezone.localdate())
    return edit_page(request, stack, form, Tally(lines=tally(stack)), status=422)


def keep_changes(request: HttpRequest, stack: Stack, form: StackForm, lines: Tally) -> HttpResponse:
    """Write what was changed here; where someone else changed the same meanwhile, a person decides."""
    mine: dict[str, Any] = {name: form.cleaned_data[name] for name in form.changed_data}
    if Counter(lines.lines) != Counter(tally(stack)):
        mine[TALLY] = lines.lines
    kept, both = merged(mine, changed(events_since(request, stack)))
    if both and not is_settling(request):
        if is_from_outbox(request):
            raise UnplacedError(Why.CHANGED)
        _say_both(form, lines, both)
        return edit_page(request, stack, form, lines, status=422)
    correct(stack=stack, lines=kept.pop(TALLY, None), changes=kept, by=request.user, at=moment(request))
    messages.success(request, _("Kept. What stood there before is in the history."))
    return redirect("stack", code=stack.code)


def _say_both(form: StackForm, lines: Tally, both: dict[str, Theirs]) -> None:
    for name, theirs in both.items():
        if name == TALLY:
            lines.error = _("The boards were changed meanwhile. Keep it once more, and yours stand.")
        else:
            text = _("%(name)s made it %(new)s meanwhile. Keep it once more, and yours stands.")
            form.add_error(name, text % {"name": theirs.by or _("Someone"), "new": _in_words(name, theirs.after)})


def _in_words(name: str, kept: str) -> str:
    [(_name, line)] = corrected({name: ["", kept]})
    return line.now + (f"\u202f{line.unit}" if line.unit else "")


def edit_page(request: HttpRequest, stack: Stack, form: StackForm, lines: Tally, *, status: int = 200) -> HttpResponse:
    context = {"form": form, "tally": lines, "stack": stack, "has_places": True, "seen": version(stack)}
    context["sent_to"] = reverse("stack_edit", args=[stack.code])
    return render(request, "yard/stack_form.html", context, status=status)
