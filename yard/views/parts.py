"""A part of a stack becomes a stack of its own, or two become one."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from yard.actions.stacks import join, split, tally
from yard.forms.part import JoinForm, SplitForm
from yard.models import Event, Stack, Why
from yard.models.tagcode import shown
from yard.receipts import UnplacedError, is_from_outbox, is_settling
from yard.templatetags.receipts import version
from yard.views.standing import bears, events_since, standing_stack

BOARDS_CHANGE = (Event.Kind.SPLIT, Event.Kind.JOINED)


@require_http_methods(["GET", "HEAD", "POST"])
def stack_split(request: HttpRequest, code: str) -> HttpResponse:
    """Choose boards of each line; they go to a new stack with a fresh tag."""
    stack = standing_stack(request, code)
    if request.method == "POST" and is_other_tally(request, stack, code):
        return choose_again(request, stack)
    form = SplitForm(request.POST if request.method == "POST" else None, lines=tally(stack))
    if request.method == "POST" and form.is_valid():
        try:
            part = split(stack=stack, lines=form.lines, by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return redirect("stack_split_done", code=part.code)
    return split_page(request, stack, form, status=422 if form.errors else 200)


def choose_again(request: HttpRequest, stack: Stack) -> HttpResponse:
    """Which boards were meant can't be told any more: the form counts lines as they stood on the page."""
    if is_from_outbox(request) or is_settling(request):
        raise UnplacedError(Why.CHANGED)
    words = _("The tally was changed meanwhile. Here it is as it is now; nothing was split.")
    return split_page(request, stack, SplitForm(lines=tally(stack)), changed=words, status=422)


def split_page(
    request: HttpRequest, stack: Stack, form: SplitForm, *, changed: str = "", status: int = 200
) -> HttpResponse:
    context = {"stack": stack, "form": form, "changed": changed, "seen": version(stack)}
    return render(request, "yard/stack_split.html", context, status=status)


@require_safe
def stack_split_done(request: HttpRequest, code: str) -> HttpResponse:
    """Both stacks after a split, and the new one's tag to print."""
    part = standing_stack(request, code)
    if part.split_from is None:
        raise Http404(f"{code} was not split off")
    return render(request, "yard/stack_split_done.html", {"stack": part.split_from, "part": part})


@require_http_methods(["GET", "HEAD", "POST"])
def stack_join(request: HttpRequest, code: str) -> HttpResponse:
    """Lay this stack on another of the same species and thickness."""
    stack = standing_stack(request, code)
    form = JoinForm(request.POST or None, stack=stack)
    if request.method == "POST" and form.is_valid() and form.other:
        try:
            into = join(stack=stack, into=form.other, by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error("into", error)
        else:
            said = _("The boards of %(code)s lie here now. Take a reading soon: the forecast goes on from here.")
            messages.success(request, said % {"code": shown(stack.code)})
            return redirect("stack", code=into.code)
    context = {"stack": stack, "form": form, "others": fitting(stack)}
    return render(request, "yard/stack_join.html", context, status=422 if form.errors else 200)


def is_other_tally(request: HttpRequest, stack: Stack, code: str) -> bool:
    """Whether the boards are no longer those that the form was filled in against."""
    changed = any(event.kind in BOARDS_CHANGE or "tally" in event.details for event in events_since(request, stack))
    return changed or not bears(stack, code)


def fitting(stack: Stack) -> list[Stack]:
    """Stacks that it could be laid on, those in the same place first."""
    alike = Stack.objects.standing().filter(
        species=stack.species,
        thickness_mm=stack.thickness_mm,
        set_aside_for="",
        kiln_dried_on__isnull=stack.kiln_dried_on is None,
    )
    rows = alike.exclude(pk=stack.pk).select_related("species", "place").prefetch_related("lines")
    return sorted(rows, key=lambda other: (other.place_id != stack.place_id, other.code))[:20]
