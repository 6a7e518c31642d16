"""What phones sent and the yard could not place: both sides, and what becomes of it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import resolve
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from yard.actions import sorting
from yard.forms.sorting import BelongsForm, DropForm, UnderTagForm
from yard.models import Event, Receipt, Stack, Tag, Why, keptwords
from yard.models.tagcode import shown
from yard.receipts.others import in_words, standing_of
from yard.receipts.reworded import in_our_words, reworded

PER_PAGE = 30
OF_A_TAG = ("stack_new", "tag_board", "tag_replaces")
FORMS: dict[str, type[Form]] = {"belongs": BelongsForm, "under_tag": UnderTagForm, "drop": DropForm}


@require_safe
def sort_out(request: HttpRequest) -> HttpResponse:
    """What is to be sorted out, the oldest first, and what was."""
    rows = Receipt.objects.exclude(why="").select_related("user", "settled_by", "after")
    leaders = Q(after=None) | ~Q(after__state=Receipt.State.TO_SORT_OUT)
    open_rows = rows.to_sort_out().filter(leaders).order_by("received_at")
    settled = rows.filter(state=Receipt.State.SETTLED).order_by("-settled_at", "-taken_at")
    context = {
        "open": open_rows.annotate(following=Count("followers", filter=Q(followers__state=Receipt.State.TO_SORT_OUT))),
        "page": Paginator(settled, PER_PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "yard/sort_out.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def sort_out_one(request: HttpRequest, receipt: UUID) -> HttpResponse:
    """Both sides of one, and the ways to settle it."""
    rows = Receipt.objects.exclude(why="").select_related("user", "settled_by", "after")
    found = get_object_or_404(rows, key=receipt)
    forms = {name: form() for name, form in FORMS.items()}
    how = request.POST.get("how", "")
    form = forms[how] = FORMS.get(how, Form)(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            return settle(request, found, how, form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
    context = {"receipt": found, "forms": forms, "wrong": form, "tried": how, **sides(found)}
    context["why_not"] = sorting.why_not_settle(found, request.user)
    return render(request, "yard/sort_out_one.html", context, status=422 if form.errors else 200)


def settle(request: HttpRequest, receipt: Receipt, how: str, given: dict[str, Any]) -> HttpResponse:
    """One of the ways; raises ValidationError where it can't be done."""
    now: dict[str, Any] = {"receipt": receipt, "by": request.user, "at": timezone.now()}
    if how == "drop":
        count = sorting.drop(reason=given["reason"], **now)
        text = ngettext(
            "%(n)d thing is dropped; it stays listed.", "%(n)d things are dropped; they stay listed.", count
        )
        messages.success(request, text % {"n": count})
        return redirect("sort_out")
    now["request"], stack = request, stands_there(receipt)
    if not ways(receipt, stack).get(how):
        raise ValidationError(_("Say what becomes of it."))
    if how == "belongs":
        words = keptwords.BELONGS % {"code": shown(given["code"])}
        outcome = sorting.put(code=given["code"], how=words, **now)
    elif how == "under_tag":
        outcome = sorting.put_under_tag(code=given["code"], **now)
    elif how == "same" and stack:
        outcome = sorting.merge(code=stack.code, **now)
    else:
        outcome = sorting.put(code=None, how=keptwords.AS_SENT, **now)
    return tell(request, outcome)


def tell(request: HttpRequest, outcome: sorting.Outcome) -> HttpResponse:
    """Where it went; or on to what could not go along."""
    for said in outcome.said:
        messages.success(request, said)
    if outcome.left:
        messages.warning(request, _("Not all that followed was accepted there: see to it next."))
        return redirect("sort_out")
    return redirect(outcome.location)


def stands_there(receipt: Receipt) -> Stack | None:
    """The stack that bears the tag now, wherever its boards lie."""
    tag = Tag.objects.filter(code=receipt.subject).select_related("stack", "board__stack").first()
    return (tag.stack.at_last if tag.stack else None) if tag else None


def ways(receipt: Receipt, stack: Stack | None) -> dict[str, bool]:
    """Which ways of settling make sense."""
    match = resolve(receipt.path.split("?")[0])
    is_changed, is_of_a_tag = receipt.why == Why.CHANGED, match.url_name in OF_A_TAG
    is_elsewhere = "code" in match.kwargs and not is_of_a_tag and not is_changed
    return {
        "same": match.url_name == "stack_new" and stack is not None,
        "under_tag": is_of_a_tag,
        "belongs": is_elsewhere,
        "as_sent": is_changed or receipt.why == Why.REFUSED or not (is_elsewhere or is_of_a_tag),
    }


def sides(receipt: Receipt) -> dict[str, Any]:
    """What was sent, what goes with it, what stands there now, and who did what there meanwhile."""
    stack = stands_there(receipt)
    if stack:
        stack = Stack.objects.select_related("species", "place", "made_by").prefetch_related("lines").get(pk=stack.pk)
    events = stack.events.select_related("by").exclude(kind=Event.Kind.READ)[:5] if stack else []
    return {
        "words": [pair for pair in reworded(receipt.words) or in_words(receipt.fields) if pair[1]],
        "why_refused": [in_our_words(text) for text in receipt.said],
        "stack": stack,
        "other": standing_of(receipt.path),
        "events": events,
        "followers": sorting.waiting_followers(receipt),
        "ways": ways(receipt, stack),
        "in_whose_name": "" if sorting.sender_still_may(receipt) else receipt.user,
    }
