"""All that happened to a stack, the latest first."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from yard.actions.undoing import last_changes
from yard.views.standing import any_stack

PER_PAGE = 50


@require_safe
def stack_history(request: HttpRequest, code: str) -> HttpResponse:
    stack = any_stack(code)
    page = Paginator(stack.events.select_related("by"), PER_PAGE).get_page(request.GET.get("page"))
    last = last_changes("stack", stack.pk, request.user)
    context = {"stack": stack, "page": page, **last, "today": timezone.localdate()}
    return render(request, "yard/stack_history.html", context)
