"""A dated note on a stack."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from yard.actions.notes import add_note
from yard.forms.note import NoteForm
from yard.receipts import moment
from yard.views.standing import standing_stack


@require_http_methods(["GET", "HEAD", "POST"])
def stack_note(request: HttpRequest, code: str) -> HttpResponse:
    stack = standing_stack(request, code)
    form = NoteForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        add_note(stack=stack, text=form.cleaned_data["note"], by=request.user, at=moment(request))
        messages.success(request, _("The note is kept."))
        return redirect("stack", code=stack.code)
    return render(request, "yard/stack_note.html", {"stack": stack, "form": form}, status=422 if form.errors else 200)
