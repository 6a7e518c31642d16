"""Papers issued and withdrawn, and the links by which strangers may see them."""

import re
import secrets
from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import translation
from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext as _

from kilnruns.models import Charge, Paper, PaperLink, PaperSeries
from kilnruns.papers.facts import Subject
from yard.changes import Watched, kept
from yard.models import Event, log
from yard.models.tagcode import ALPHABET
from yard.models.woodname import told as told_wood

TOKEN_LENGTH = 30
"""Of the tags' own characters, which can be read aloud and typed: 31**30, some 148 bits."""
TOKEN = re.compile(f"[{ALPHABET}]{{{TOKEN_LENGTH}}}", re.ASCII)


@transaction.atomic
def issue(*, facts: dict[str, Any], subjects: Sequence[Subject], charge: Charge | None, by: Any, at: datetime) -> Paper:
    """Freeze the facts under the next number of their kind. A number is taken with its paper or not at all."""
    kind = facts["kind"]
    PaperSeries.objects.get_or_create(kind=kind)
    series = PaperSeries.objects.select_for_update().get(kind=kind)
    series.last += 1
    series.save(update_fields=["last"])
    paper = Paper(kind=kind, number=series.last, facts=facts, charge=charge, made_at=at, made_by=by)
    paper.search = _searchable(paper)
    with kept("paper_issued", Watched([charge] if charge else []), by=by, at=at) as act:
        paper.save()
        act.has_made(paper)
        paper.stacks.set({subject.stack.pk for subject in subjects})
        log(paper.stacks.order_by("pk"), Event.Kind.PAPER, at=at, by=by, paper=_kept(paper))
    return paper


def _kept(paper: Paper) -> str:
    """As `keptwords.paper` reads it."""
    return f"{paper.kind} {paper.number}"


def _searchable(paper: Paper) -> str:
    facts = paper.facts
    words = [paper, facts["to"], facts["note"], facts["issued_on"], facts["issued_by"]]
    for item in facts["items"]:
        words += [item["code"], item["board_of"] or "", item["species"], item["latin"], f"{item['thickness_mm']:g} mm"]
    words += [run["kiln"] for run in facts.get("runs", ())]
    for language, _name in settings.LANGUAGES:  # each finds it by the words that they read
        with translation.override(language):
            words += [paper.get_kind_display(), *(told_wood(item["species"]) for item in facts["items"])]
    return " ".join(str(word) for word in words if word)


@transaction.atomic
def withdraw(*, paper: Paper, why: str, by: Any, at: datetime) -> None:
    """It no longer holds; its number stays taken. Whoever has its link is told so."""
    row = Paper.objects.select_for_update().get(pk=paper.pk)
    if row.withdrawn_at:
        raise ValidationError(_("This paper was withdrawn already."))
    row.withdrawn_at, row.withdrawn_by, row.withdrawn_why = at, by, why
    with kept("paper_withdrawn", _of(row), by=by, at=at):
        row.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_why"])
        log(row.stacks.order_by("pk"), Event.Kind.PAPER, at=at, by=by, paper=_kept(row), withdrawn=why)


def _of(paper: Paper, *, named: bool = False) -> Watched:
    about = [("charge", paper.charge_id)] if paper.charge_id else []
    return Watched(about, [Paper.objects.filter(pk=paper.pk)], named=[paper] if named else [])


@transaction.atomic
def open_link(*, paper: Paper, by: Any, at: datetime) -> PaperLink:
    """Let whoever has its address see the paper; the same link while it is open. A withdrawn paper is not opened."""
    row = Paper.objects.select_for_update().get(pk=paper.pk)
    if row.withdrawn_at:
        raise ValidationError(_("This paper was withdrawn: it can't be shown any more."))
    link = row.links.filter(ended_at=None).first()
    if link is None:
        token = "".join(secrets.choice(ALPHABET) for _number in range(TOKEN_LENGTH))
        with kept("paper_shown", _of(row, named=True), by=by, at=at):
            link = row.links.create(token=token, token_hash=_hashed(token), made_at=at, made_by=by)
    return link


@transaction.atomic
def end_link(*, paper: Paper, by: Any, at: datetime) -> None:
    """Nobody sees it by its address any more, at once and for good."""
    with kept("paper_hidden", _of(paper, named=True), by=by, at=at):
        paper.links.filter(ended_at=None).update(ended_at=at, ended_by=by)


def link_of(text: str) -> PaperLink | None:
    """The link of a token, open or ended; None for any other text. No database is asked for what can't be a token."""
    token = re.sub(r"[\s-]", "", text).upper()
    if not TOKEN.fullmatch(token):
        return None
    link = PaperLink.objects.select_related("paper").filter(token_hash=_hashed(token)).first()
    return link if link and constant_time_compare(link.token, token) else None


def _hashed(token: str) -> str:
    """A token is random and long: one round suffices."""
    return sha256(token.encode()).hexdigest()
