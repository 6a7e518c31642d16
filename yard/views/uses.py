"""A stack is used up; and put back when that was a mistake."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from yard.actions.stacks import put_back, use
from yard.forms.use import UseForm
from yard.models.mill import currency
from yard.views.standing import any_stack


@require_http_methods(["GET", "HEAD", "POST"])
def stack_use(request: HttpRequest, code: str) -> HttpResponse:
    stack = any_stack(code)
    if request.method == "POST" and "put_back" in request.POST and stack.used_at:
        put_back(stack=stack, by=request.user, at=timezone.now())
        messages.success(request, _("It stands in the yard again."))
        return redirect("stack", code=stack.code)
    form = UseForm(request.POST if request.method == "POST" else None, currency=currency())
    if request.method == "POST" and form.is_valid():
        try:
            use(stack=stack, **form.cleaned_data, by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Marked as used. Its history stays."))
            return redirect("stack", code=stack.code)
    return render(request, "yard/stack_use.html", {"stack": stack, "form": form}, status=422 if form.errors else 200)
