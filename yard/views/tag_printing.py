"""Tags on paper: sheets of blank ones, and the label of one stack or board."""

from collections.abc import Sequence

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from yard.actions.tags import make_blank
from yard.forms.tag import LabelForm, SheetForm
from yard.labels import Label, LabelError, Sheet, labels_pdf
from yard.models import Mill, Stack, Tag
from yard.views.standing import any_board, any_stack

THIS_MACHINE = ("localhost", "127.0.0.1", "[::1]")


@require_safe
def tags(request: HttpRequest) -> HttpResponse:
    return tags_page(request, SheetForm(initial={"paper": usual_paper("stack")}))


@require_POST
def tag_sheet(request: HttpRequest) -> HttpResponse:
    """New blank tags, or those that there are, as PDF. Nothing is made when the sheet can't be drawn."""
    form = SheetForm(request.POST)
    if not form.is_valid():
        return tags_page(request, form, status=422)
    try:
        with transaction.atomic():
            codes = codes_to_print(request, form)
            return pdf([Label(code) for code in codes], form.sheet, site(request), "tags")
    except (LabelError, ValidationError) as error:
        form.add_error("paper", error.messages[0] if isinstance(error, ValidationError) else str(error))
    return tags_page(request, form, status=422)


def codes_to_print(request: HttpRequest, form: SheetForm) -> list[str]:
    count = form.cleaned_data["count"]
    if not form.cleaned_data["again"]:
        return [tag.code for tag in make_blank(count=count, by=request.user)]
    codes = list(Tag.objects.blank().values_list("code", flat=True)[:count])
    if not codes:
        raise ValidationError(_("There are no blank tags yet; make new ones."))
    return codes


@require_safe
def stack_label(request: HttpRequest, code: str) -> HttpResponse:
    """The label of one stack with its words, to hang on it."""
    stack = any_stack(code)
    return one_label(request, Label(stack.code, stack_words(stack)), "stack")


@require_safe
def board_label(request: HttpRequest, code: str) -> HttpResponse:
    board = any_board(code)
    size = f"{board.length_mm / 1000:g} m × {board.width_mm} mm"
    return one_label(request, Label(board.code, (*stack_words(board.stack)[:1], size)), "board")


def stack_words(stack: Stack) -> tuple[str, ...]:
    sawn = _("sawn %(day)s") % {"day": date_format(stack.cut_on, "j F Y")}
    return (f"{stack.species} {stack.thickness_mm:g} mm", sawn)


def one_label(request: HttpRequest, label: Label, kind: str) -> HttpResponse:
    """On the mill's paper, or with ?paper=…&width=…&height=… on a label printer's."""
    form = LabelForm(request.GET or {"paper": usual_paper(kind)})
    if form.is_valid():
        try:
            return pdf([label], form.sheet, site(request), f"tag-{label.code}")
        except LabelError as error:
            form.add_error("paper", str(error))
    return render(request, "yard/label_refused.html", {"form": form}, status=422)


def pdf(labels: Sequence[Label], sheet: Sheet, site: str, name: str) -> HttpResponse:
    response = HttpResponse(labels_pdf(labels, sheet, site), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    response["Cache-Control"] = "no-store"
    return response


def site(request: HttpRequest) -> str:
    """Scheme and host that the tags' symbols hold: DRYSTACK_URL, else where this page was reached."""
    return settings.PUBLIC_URL or f"{request.scheme}://{request.get_host()}"


def usual_paper(kind: str) -> str:
    mill = Mill.current()
    return f"{mill.paper if mill else 'a4'}-{kind}"


def tags_page(request: HttpRequest, form: SheetForm, *, status: int = 200) -> HttpResponse:
    blank = Tag.objects.blank()
    address = site(request)
    context = {
        "form": form,
        "page": Paginator(blank, 40).get_page(request.GET.get("page")),
        "site": address,
        "only_here": address.split("//")[1].split(":")[0] in THIS_MACHINE,
    }
    return render(request, "yard/tags.html", context, status=status)
