"""Papers that were issued: the list, each one, its print, its link, and withdrawing it."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kilnruns.actions import papers as actions
from kilnruns.forms.paper import WithdrawForm
from kilnruns.models import Paper, PaperLink
from kilnruns.papers.pdf import Symbol, paper_pdf
from kilnruns.templatetags.paper_words import paper_title, told
from yard.actions.people import owners_only
from yard.labels import LabelError, address
from yard.models import Mill

PER_PAGE = 40
THIS_MACHINE = ("localhost", "127.0.0.1", "[::1]")
GROUP = 5  # characters of a link's token that stand together on paper


def grouped(token: str) -> str:
    return " ".join(token[at : at + GROUP] for at in range(0, len(token), GROUP))


def symbol_of(token: str, site: str) -> Symbol:
    """LabelError where the site can't stand in a symbol."""
    words = (_("Scan it, or type:"), f"{site.split('//')[-1]}/p/", grouped(token))
    return Symbol(address(token, site, "P"), words)


LONGEST_SYMBOL = symbol_of("W" * actions.TOKEN_LENGTH, "https://a-rather-long-name.of-some-yard.example")


def site_of(request: HttpRequest) -> str:
    """Scheme and host that links hold: DRYSTACK_URL, else where this page was reached."""
    return settings.PUBLIC_URL.rstrip("/") or f"{request.scheme}://{request.get_host()}"


def link_address(request: HttpRequest, link: PaperLink | None) -> str:
    return f"{site_of(request)}{reverse('paper_public', args=[link.token])}" if link else ""


@require_safe
def papers(request: HttpRequest) -> HttpResponse:
    words = request.GET.get("q", "").strip()[:100]
    rows = Paper.objects.saying(words).select_related("made_by").prefetch_related("links")
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "kilnruns/papers.html", {"page": page, "q": words})


def _found(pk: int) -> Paper:
    rows = Paper.objects.select_related("charge__kiln__place", "withdrawn_by")
    return get_object_or_404(rows.prefetch_related("links__made_by", "links__ended_by", "stacks__species"), pk=pk)


@require_safe
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, _found(pk), WithdrawForm())


def _page(request: HttpRequest, row: Paper, form: WithdrawForm) -> HttpResponse:
    host = site_of(request).split("//")[-1].split(":")[0]
    context: dict[str, Any] = {
        "paper": row,
        "told": told(row),
        "form": form,
        "link": row.live_link,
        "address": link_address(request, row.live_link),
        "only_here": host in THIS_MACHINE,
    }
    return render(request, "kilnruns/paper.html", context, status=422 if form.errors else 200)


@require_safe
def paper_print(request: HttpRequest, pk: int) -> HttpResponse:
    """The PDF on the mill's paper, or ?paper=a4 or letter; with its symbol while the link is open."""
    row = _found(pk)
    mill, link = Mill.current(), row.live_link
    wanted = request.GET.get("paper") or (mill.paper if mill else "a4")
    try:
        symbol = symbol_of(link.token, site_of(request)) if link and not row.withdrawn_at else None
    except LabelError as error:
        messages.error(request, str(error))
        return redirect(row)
    response = HttpResponse(paper_pdf(told(row), wanted, symbol), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{slugify(paper_title(row))}.pdf"'
    response["Cache-Control"] = "no-store"
    return response


@require_POST
@owners_only
def paper_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Let whoever has the link see it."""
    try:
        actions.open_link(paper=_found(pk), by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("Whoever has its link may see it now. Print it again: the link is on it."))
    return redirect("paper", pk=pk)


@require_POST
@owners_only
def paper_link_end(request: HttpRequest, pk: int) -> HttpResponse:
    actions.end_link(paper=_found(pk), by=request.user, at=timezone.now())
    messages.success(request, _("Ended: its link shows nothing any more."))
    return redirect("paper", pk=pk)


@require_POST
@owners_only
def paper_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    row, form = _found(pk), WithdrawForm(request.POST)
    if not form.is_valid():
        return _page(request, row, form)
    try:
        actions.withdraw(paper=row, why=form.cleaned_data["why"], by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("Withdrawn. Its number stays taken."))
    return redirect("paper", pk=pk)
