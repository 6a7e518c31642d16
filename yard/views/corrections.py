"""Putting a stack's particulars and tally right."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from yard.actions.stacks import correct, tally
from yard.forms.stack import StackForm
from yard.forms.tally import Tally
from yard.models import Stack
from yard.receipts import moment
from yard.views.standing import any_stack, standing_stack
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
    form = StackForm(request.POST, instance=stack, today=today)
    lines = Tally(request.POST)
    if not all([form.is_valid(), lines.is_valid()]):
        return edit_page(request, any_stack(stack.code), form, lines, status=422)
    # the form has written into its instance; the action compares with a fresh one
    changes = {name: form.cleaned_data[name] for name in form.changed_data}
    fresh = any_stack(stack.code)
    correct(stack=fresh, changes=changes, lines=lines.lines, by=request.user, at=moment(request))
    messages.success(request, _("Kept. What stood there before is in the history."))
    return redirect("stack", code=stack.code)


def edit_page(request: HttpRequest, stack: Stack, form: StackForm, lines: Tally, *, status: int = 200) -> HttpResponse:
    context = {"form": form, "tally": lines, "stack": stack, "has_places": True}
    return render(request, "yard/stack_form.html", context, status=status)
