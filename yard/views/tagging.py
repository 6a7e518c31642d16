"""A new stack under a blank tag."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from yard import outlook
from yard.actions.photos import add_photo
from yard.actions.stacks import make_stack, tally
from yard.changes import Watched, kept
from yard.forms.stack import StackForm, offered
from yard.forms.tally import Tally, boards_in_words
from yard.measures.told import thick
from yard.models import Place, Stack, Tag, Why
from yard.models.tagcode import normalise
from yard.receipts import UnplacedError, is_from_outbox, moment, right_day
from yard.views import from_list

HEAVY_BOARD_KG = 25
"""From here on lifting a board alone is warned of: common practice, no source."""


@require_http_methods(["GET", "HEAD", "POST"])
def stack_new(request: HttpRequest) -> HttpResponse:
    """The form for a new stack; with ?tag=CODE under that blank tag, else under a fresh one."""
    code = normalise(request.GET.get("tag", ""))
    tag = Tag.objects.found(code) if code else None
    is_blank = tag is not None and tag.is_blank
    if code and not is_blank and request.method != "POST":
        return redirect("tag", code=code)
    today = timezone.localtime(moment(request)).date()
    if request.method != "POST":
        return blank_form(request, today, tag)
    if "keep" not in request.POST:
        return tally_changed(request, tag if is_blank else None)
    form = StackForm(with_right_day(request), request.FILES, today=today)
    lines = Tally(request.POST)
    if not all([form.is_valid(), lines.is_valid()]):
        return stack_page(request, form, lines, tag, status=422)
    if code and not is_blank:
        return claimed(request, form, lines, tag)
    return keep_stack(request, form, lines, tag)


def blank_form(request: HttpRequest, today: date, tag: Tag | None) -> HttpResponse:
    """With what the last stack offers, or what a line of the sawing list says."""
    lines = from_list.lines_to_saw(request)
    line, first = from_list.chosen(lines, request), offered(today)
    form = StackForm(initial=from_list.filled(first, line, today) if line else first, today=today)
    sawing = {"saw_lines": lines, "saw_line": line, "for_line": line.line.pk if line else None}
    return stack_page(request, form, from_list.tally_of(line) if line else Tally(), tag, sawing=sawing)


def with_right_day(request: HttpRequest) -> QueryDict:
    """What was typed; where the phone's wrong clock offered its own today as the day of sawing, the right day."""
    typed = request.POST.copy()
    typed["cut_on"] = right_day(request, typed.get("cut_on", ""))
    return typed


def claimed(request: HttpRequest, form: StackForm, lines: Tally, tag: Tag | None) -> HttpResponse:
    """The tag is on something else now, or none of this yard's: a phone's form is to be sorted out, a page's is shown
    again, made out to a fresh tag, with all that was typed.
    """
    if is_from_outbox(request):
        raise UnplacedError(Why.TAKEN if tag else Why.UNKNOWN)
    why = Why.TAKEN.label if tag else Why.UNKNOWN.label
    form.add_error(None, f"{why} " + _("Keep it once more, and a fresh tag is made for it, to print."))
    return stack_page(request, form, lines, None, status=422, sent_to=reverse("stack_new"))


def tally_changed(request: HttpRequest, tag: Tag | None) -> HttpResponse:
    """More rows, a quick way put into rows, or the last stack's tally: nothing is kept or judged yet."""
    typed = {name: request.POST.get(name, "") for name in StackForm.base_fields}
    form = StackForm(initial=typed, today=timezone.localdate())
    return stack_page(request, form, changed_tally(request), tag)


def changed_tally(request: HttpRequest) -> Tally:
    lines = Tally(request.POST)
    if "spread" in request.POST:
        return lines.spread(request.POST)
    if "last" in request.POST:
        last = Stack.objects.order_by("-made_at", "-pk").first()
        return lines.with_lines(request.POST, tally(last) if last else [])
    return lines.grown(request.POST)


def keep_stack(request: HttpRequest, form: StackForm, lines: Tally, tag: Tag | None) -> HttpResponse:
    stack, photo = form.save(commit=False), form.cleaned_data.get("photo")
    try:
        with transaction.atomic(), kept("stacked", Watched(), by=request.user, at=moment(request)):
            make_stack(tag=tag, stack=stack, lines=lines.lines, by=request.user, at=moment(request))
            if photo:
                add_photo(stack=stack, file=photo, by=request.user, at=moment(request))
            from_list.keep_for_line(request, stack)
    except ValidationError as error:
        if getattr(error, "code", "") == "taken":
            return claimed(request, form, lines, tag)
        form.add_error(None, error)
        return stack_page(request, form, lines, tag, status=422)
    said = {"stack": f"{stack.species} {thick(stack.thickness_mm)}", "boards": boards_in_words(lines.lines)}
    messages.success(request, _("%(stack)s is kept: %(boards)s.") % said)
    return redirect(stack)


def stack_page(
    request: HttpRequest,
    form: StackForm,
    lines: Tally,
    tag: Tag | None,
    *,
    status: int = 200,
    sent_to: str = "",
    sawing: dict[str, Any] | None = None,
) -> HttpResponse:
    context = {
        "form": form,
        "tally": lines,
        "tag": tag,
        "sent_to": sent_to or request.get_full_path(),
        "has_places": Place.objects.outdoors().exists(),
        "has_last": Stack.objects.exists(),
        "photo_again": bool(request.FILES),
        "for_line": from_list.line_asked(request),
        **(sawing or {}),
    }
    return render(request, "yard/stack_form.html", context, status=status)


@require_POST
def stack_preview(request: HttpRequest) -> HttpResponse:
    """What the tally typed so far makes, as a fragment; keeps nothing."""
    form = StackForm(request.POST, today=timezone.localdate())
    form.is_valid()
    lines = Tally(request.POST)
    context = {"figures": None, "wrong_rows": lines.wrong_rows, "heavy_kg": HEAVY_BOARD_KG}
    typed = form.cleaned_data
    if typed.get("species") and typed.get("thickness_mm") and lines.lines:
        context |= preview_figures(typed, lines.lines)
    return render(request, "yard/_stack_preview.html", context)


def preview_figures(typed: dict[str, Any], lines: list[tuple[int, int, int]]) -> dict[str, Any]:
    """Figures of the whole and of the heaviest board; `figures` is None where the core refuses the sizes."""
    target = typed.get("target_pct") or Stack._meta.get_field("target_pct").get_default()
    now = typed.get("initial_moisture_pct")
    wood = (typed["species"], typed["thickness_mm"], typed.get("wood_part") or "mixed")
    widest = max(width for _length, width, _count in lines)
    size = {"stack_width_mm": max(typed.get("pack_width_mm") or 0, widest, 1200), "to_pct": target}
    sticker = typed.get("sticker_mm") or 25
    largest = max(lines, key=lambda line: line[0] * line[1])
    try:
        whole = outlook.tally_figures(*wood, lines, sticker, now, **size)
        heaviest = outlook.tally_figures(*wood, [(*largest[:2], 1)], sticker, now, **size)
    except ValueError as error:
        return {"refused": str(error)}
    return {"figures": whole, "target_pct": target, "heaviest_kg": heaviest.mass_kg}
