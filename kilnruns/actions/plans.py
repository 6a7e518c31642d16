"""Keeping a plan."""

from datetime import date
from typing import Any

from django.db import transaction

from kilnruns import planning
from kilnruns.models import LOAD_FIELDS, LeftOut, Plan, Proposal, ProposalStack
from yard.models import Stack

PROPOSAL_FIELDS = (*LOAD_FIELDS, "group", "extra")


def make_plan(
    *, first_day: date, horizon_days: int, careful: bool, by: Any, seconds: float = planning.PLAN_SECONDS
) -> Plan:
    """Plan from the yard as it is now and keep the answer. The thinking holds no database lock; the writing is one."""
    before = Plan.objects.in_force()
    draft = planning.propose(
        first_day=first_day, horizon_days=horizon_days, careful=careful, seconds=seconds, in_force=before
    )
    return keep(draft=draft, by=by, before=before)


@transaction.atomic
def keep(*, draft: planning.Draft, by: Any, before: Plan | None = None, notes: dict[str, Any] | None = None) -> Plan:
    """Write a plan down, and what it moved against the one `before`; `notes` are added to its own."""
    plan = Plan.objects.create(
        made_by=by,
        first_day=draft.first_day,
        horizon_days=draft.horizon_days,
        careful=draft.careful,
        value=draft.value,
        bound=draft.bound,
        seconds=draft.seconds,
        cut_by_clock=draft.cut_by_clock,
        notes=draft.notes | (notes or {}),
        read_at=draft.read_at,
        basis=draft.basis,
        moved=planning.moved(before, draft) if before else {},
    )
    codes = {share[0] for charge in draft.charges for share in charge.shares} | {r.code for r in draft.reasons}
    stacks = {stack.code: stack for stack in Stack.objects.filter(code__in=codes)}
    for charge in draft.charges:
        values = {name: getattr(charge, name) for name in PROPOSAL_FIELDS}
        proposal = Proposal.objects.create(plan=plan, kiln_id=charge.kiln, **values)
        ProposalStack.objects.bulk_create(
            ProposalStack(proposal=proposal, stack=stacks[code], share=share, volume_m3=volume, pieces=pieces)
            for code, share, volume, pieces in charge.shares
            if code in stacks
        )
    LeftOut.objects.bulk_create(
        LeftOut(plan=plan, stack=stacks[one.code], why=one.why, figures=one.figures)
        for one in draft.reasons
        if one.code in stacks
    )
    return plan
