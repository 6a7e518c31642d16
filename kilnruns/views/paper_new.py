"""A new paper: what it is to state, how it will look, and issuing it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from kilnruns.actions.papers import issue, open_link
from kilnruns.forms.paper import PaperForm
from kilnruns.forms.run_record import wood_of
from kilnruns.models import Charge, Paper, PaperKind
from kilnruns.papers.facts import Subject, gathered, mark, not_dry, subjects_of
from kilnruns.papers.pdf import PaperFullError, check_fits
from kilnruns.templatetags.paper_words import paper_title, told
from kilnruns.views.papers import LONGEST_SYMBOL
from yard.actions.people import is_owner
from yard.measures.told import metres, mm
from yard.models import Board, Stack, Tag
from yard.models.tagcode import normalise, shown

LACKING = {
    "unread": gettext_lazy("%(code)s was never measured: take a reading first, or make a delivery note."),
    "read_before_run": gettext_lazy(
        "%(code)s was last measured before its kiln run ended: measure it now, or make a delivery note."
    ),
    "wet": gettext_lazy("%(code)s has 30 %% or more: that can't be certified as dry. Make a delivery note."),
}


@dataclass(frozen=True, slots=True)
class About:
    """From where the paper was asked for: the charge, what may be ticked there, and what is ticked at first."""

    charge: Charge | None
    choices: list[tuple[str, str]]
    ticked: list[str]


@require_http_methods(["GET", "HEAD", "POST"])
def paper_new(request: HttpRequest) -> HttpResponse:
    """?stack=CODE, ?board=CODE or ?charge=N says what it is about. POST shows the preview; with `issue` it is issued,
    if it would still say what the preview said."""
    about = _about(request)
    posted = request.POST if request.method == "POST" else None
    form = PaperForm(posted, items=about.choices, initial=_initial(request, about))
    context: dict[str, Any] = {"form": form, "about": about, "may_show": is_owner(request.user)}
    if posted is not None and form.is_valid():
        subjects = _subjects(form)
        draft = _draft(request, form, subjects) if not form.errors else None
        if draft is not None and not form.errors:
            seen = mark(draft.facts, 0)
            if "issue" in posted and posted.get("seen") == seen:
                return _issued(request, draft, subjects, about)
            context |= {"preview": told(draft), "seen": seen, "is_changed": "issue" in posted}
            # without ids: those are of the fields below, to which labels lead
            context["kept"] = [field.as_hidden(attrs={"id": False}) for field in form]
            context["is_shown"] = posted.get("public") == "yes"
    return render(request, "kilnruns/paper_new.html", context, status=422 if form.errors else 200)


def _initial(request: HttpRequest, about: About) -> dict[str, Any]:
    kind = request.GET.get("kind")
    initial: dict[str, Any] = {"items": about.ticked}
    return initial | {"kind": kind} if kind in PaperKind.values else initial


def _about(request: HttpRequest) -> About:
    charge_pk, code = request.GET.get("charge", ""), normalise(request.GET.get("stack", ""))
    if charge_pk.isdecimal():
        charge = get_object_or_404(Charge.objects.select_related("kiln__place"), pk=int(charge_pk[:9]))
        stacks = [item.stack for item in charge.stacks.select_related("stack__species")]
        stacks = [stack for stack in stacks if stack.joined_into_id is None]
        return About(charge, [_stack_choice(stack) for stack in stacks], [stack.code for stack in stacks])
    board = Board.objects.select_related("stack").filter(code=normalise(request.GET.get("board", ""))).first()
    stack = board.stack if board else Stack.objects.filter(code=code, joined_into=None).first()
    if stack is None:
        return About(None, [], [])
    choices = [_stack_choice(stack), *(_board_choice(one) for one in stack.boards.all())]
    return About(None, choices, [board.code if board else stack.code])


def _stack_choice(stack: Stack) -> tuple[str, str]:
    return stack.code, f"{wood_of(stack)}, {shown(stack.code)}"


def _board_choice(board: Board) -> tuple[str, str]:
    size = {"code": shown(board.code), "length": metres(board.length_mm), "width": mm(board.width_mm)}
    return board.code, _("Only the board %(code)s, %(length)s × %(width)s") % size


def _subjects(form: PaperForm) -> list[Subject]:
    """What was asked for; the form is told of tags that hang on nothing, and of boards named twice."""
    now = dict(Tag.objects.filter(code__in=form.codes).values_list("code", "replaced_by__code"))
    subjects = subjects_of([now.get(code) or code for code in form.codes])
    if len(subjects) < len(form.codes):
        known = {subject.code for subject in subjects}
        unknown = [shown(code) for code in form.codes if (now.get(code) or code) not in known]
        form.add_error("more", _("No stack or board bears this tag: %(codes)s") % {"codes": ", ".join(unknown)})
    whole = {subject.stack.pk for subject in subjects if subject.board is None}
    if any(subject.board and subject.stack.pk in whole for subject in subjects):
        form.add_error("items", _("A board can't be named beside its whole stack: it would be counted twice."))
    return subjects


def _draft(request: HttpRequest, form: PaperForm, subjects: Sequence[Subject]) -> Paper | None:
    """The paper as it would be issued now; None with the form told where it can't be."""
    facts = gathered(subjects, form.wish(), by=request.user, on=timezone.localdate())
    for code, why in not_dry(facts).items():
        form.add_error("items", str(LACKING[why]) % {"code": shown(code)})
    draft = Paper(kind=facts["kind"], facts=facts)
    try:
        check_fits(told(draft), LONGEST_SYMBOL)
    except PaperFullError as error:
        form.add_error("items", str(error))
    return None if form.errors else draft


def _issued(request: HttpRequest, draft: Paper, subjects: Sequence[Subject], about: About) -> HttpResponse:
    now = timezone.now()
    paper = issue(facts=draft.facts, subjects=subjects, charge=about.charge, by=request.user, at=now)
    if request.POST.get("public") == "yes" and is_owner(request.user):
        open_link(paper=paper, by=request.user, at=now)
    messages.success(request, _("Issued: %(title)s.") % {"title": paper_title(paper)})
    return redirect(paper)
