"""Two papers of the demo's finished charge: a dry certificate with a link, and a delivery note. Buyers are invented."""

from datetime import timedelta
from typing import Any

from config.demo.stacks import moment
from kilnruns.actions.papers import issue, open_link
from kilnruns.models import Charge, PaperKind
from kilnruns.papers.facts import STATES, Wish, gathered, not_dry, subjects_of

BUYER = "Heron Lane joinery (invented)\nOrder 31"
MOST = 3  # packs on the certificate


def issue_two(charge: Charge, by: Any) -> None:
    """The day after it came out; a certificate only of what may have one."""
    assert charge.unloaded_at is not None  # it has come out
    at = moment((charge.unloaded_at + timedelta(days=1)).date(), 10)
    subjects = subjects_of([item.stack.code for item in charge.stacks.select_related("stack")][:MOST])
    note = Wish(PaperKind.DELIVERY_NOTE, BUYER, STATES, note="First load; the rest follows.")
    facts = gathered(subjects[:1], note, by=by, on=at.date())
    issue(facts=facts, subjects=subjects[:1], charge=None, by=by, at=at)
    facts = gathered(subjects, Wish(PaperKind.DRY_CERTIFICATE, BUYER, STATES), by=by, on=at.date())
    if not not_dry(facts):
        open_link(paper=issue(facts=facts, subjects=subjects, charge=charge, by=by, at=at), by=by, at=at)
