"""A charge's way: accepted from a proposal, loaded stack by stack, started, unloaded, or called off.

Each refusal is a ValidationError whose words say what is the matter and what to do.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from kilnruns import advice
from kilnruns.models import LOAD_FIELDS, Charge, ChargeStack, Proposal, ProposalStack
from yard.actions import stacks as yard
from yard.changes import Watched, keeps
from yard.models import Place, Stack
from yard.models.keptwords import for_charge
from yard.models.tagcode import shown

ALREADY = "already"
"""Code of a refusal that needs no mending: another phone told it before."""
COPIED = ("kiln", *LOAD_FIELDS)


def accept(*, proposal: Proposal, by: Any, at: datetime) -> Charge:
    """Make a proposal a charge: parts are split off, its stacks are set aside, and later plans leave them alone.

    Its run is computed first, while the forecasts of the whole stacks are at hand and no lock is held.
    """
    shares = list(_shares(proposal))
    if not shares:
        raise ValidationError(_("Its stacks are gone. Make a new plan."))
    course = advice.course(proposal, shares)
    return _accept(proposal=proposal, course=course, by=by, at=at)


def _shares(proposal: Proposal) -> QuerySet[ProposalStack]:
    return proposal.shares.select_related("stack__species", "stack__place", "stack__outlook")


@transaction.atomic
@keeps("accepted", lambda **_given: Watched(), lambda charge: ([charge], [charge]))
def _accept(*, proposal: Proposal, course: dict[str, Any], by: Any, at: datetime) -> Charge:
    proposal = Proposal.objects.select_for_update().select_related("kiln__place").get(pk=proposal.pk)
    shares = list(_shares(proposal))
    _refuse_stale(proposal, shares)
    _refuse_overlap(proposal)
    charge = Charge(proposal=proposal, made_by=by, **{name: getattr(proposal, name) for name in COPIED})
    charge.course = course
    stacks = {share.stack.code: _whole(share, by, at) for share in shares}
    charge.layout = _renamed(proposal.layout, {old: stack.code for old, stack in stacks.items()})
    charge.save()
    ChargeStack.objects.bulk_create(
        ChargeStack(charge=charge, stack=stacks[share.stack.code], volume_m3=share.volume_m3) for share in shares
    )
    words = for_charge(charge.kiln, charge.start_on)
    yard.set_aside(stacks=list(stacks.values()), for_what=words, by=by, at=at)
    return charge


def _refuse_stale(proposal: Proposal, shares: list[ProposalStack]) -> None:
    """A plan is of its moment: refuse what has been accepted, used, set aside or re-tallied since."""
    if Charge.objects.filter(proposal=proposal).exists():
        raise ValidationError(_("This proposal has been accepted already."))
    for share in shares:
        stack = share.stack
        words = {"code": shown(stack.code), "what": stack.set_aside_for}
        if not stack.is_standing:
            raise ValidationError(_("%(code)s is no longer in the yard. Make a new plan.") % words)
        if stack.set_aside_for:
            raise ValidationError(_("%(code)s is set aside for %(what)s. Make a new plan.") % words)
        if _counted(share.pieces) - _counted(yard.tally(stack)):
            raise ValidationError(_("The tally of %(code)s has changed since. Make a new plan.") % words)


def _refuse_overlap(proposal: Proposal) -> None:
    for other in proposal.kiln.charges.ahead():
        if other.start_on < proposal.start_on + timedelta(days=proposal.days) and (proposal.start_on < other.ends_on):
            words = {"kiln": proposal.kiln, "from": _day(other.start_on), "to": _day(other.ends_on)}
            raise ValidationError(_("%(kiln)s is taken from %(from)s to %(to)s. Make a new plan.") % words)


def _day(on: date) -> str:
    return date_format(on, "j F Y")


def _counted(lines: Iterable[Sequence[int]]) -> Counter[tuple[int, int]]:
    """How many boards of each length and width."""
    counts: Counter[tuple[int, int]] = Counter()
    for length_mm, width_mm, count in lines:
        counts[length_mm, width_mm] += count
    return counts


def _whole(share: ProposalStack, by: Any, at: datetime) -> Stack:
    """The stack that goes in: itself, or the part split off it, with a tag of its own."""
    if _counted(share.pieces) == _counted(yard.tally(share.stack)):
        return share.stack
    lines = [(length_mm, width_mm, count) for length_mm, width_mm, count in share.pieces]
    return yard.split(stack=share.stack, lines=lines, by=by, at=at)


def _renamed(layout: dict[str, Any], codes: dict[str, str]) -> dict[str, Any]:
    named = {
        part: [{**row, "stack": codes.get(row["stack"], row["stack"])} for row in layout[part]]
        for part in ("placed", "samples")
        if layout.get(part)
    }
    return {**layout, **named}


def of_charge(charge: Charge) -> Watched:
    """A charge and what is in it; what was done to it stands only while the charge is where it was then."""
    rows = [Charge.objects.filter(pk=charge.pk), ChargeStack.objects.filter(charge=charge.pk)]
    return Watched([charge], rows, {"kilnruns.charge": ("started_at", "unloaded_at", "called_off_at")})


@transaction.atomic
@keeps("loaded", lambda charge, **_given: of_charge(charge))
def load(*, charge: Charge, stack: Stack, by: Any, at: datetime) -> ChargeStack:
    """Check a stack in: it now stands in the kiln. Raises when it is not of this charge or the kiln is not empty."""
    item = _item(charge, stack)
    if item is None:
        raise ValidationError(_not_of_this(charge, stack, at))
    if item.loaded_at:
        raise ValidationError(_("%(code)s is in already.") % {"code": shown(stack.code)}, code=ALREADY)
    if charge.unloaded_at or charge.called_off_at:
        raise ValidationError(_("This charge is closed."))
    if charge.started_at:
        raise ValidationError(_("This kiln is running already. Nothing more goes in."))
    _refuse_full_kiln(charge)
    item.loaded_at, item.loaded_by = at, by
    item.save(update_fields=["loaded_at", "loaded_by"])
    yard.move(stacks=[item.stack], place=charge.kiln.place, by=by, at=at)
    return item


def _item(charge: Charge, stack: Stack) -> ChargeStack | None:
    """The stack's row in this charge, locked until the transaction ends."""
    items = charge.stacks.select_for_update(of=("self",)).select_related("stack__place")
    return items.filter(stack=stack).first()


def _not_of_this(charge: Charge, stack: Stack, at: datetime) -> str:
    """Whose it is instead. Told too late, the kiln may be running with a stack in it that it was started without."""
    code = {"code": shown(stack.code)}
    if charge.started_at and at < charge.started_at:
        text = _("The kiln was started without %(code)s. If it is in there, move it there on its own page.")
        return text % code
    other = Charge.objects.ahead().filter(stacks__stack=stack).select_related("kiln__place").first()
    if other:
        words = {"kiln": other.kiln, "day": date_format(other.start_on, "j F")}
        return _("%(code)s is of another charge: %(kiln)s, %(day)s. Leave it out here.") % (code | words)
    return _("%(code)s is not in this charge. Leave it out.") % code


def _refuse_full_kiln(charge: Charge) -> None:
    other = charge.kiln.charges.in_kiln().exclude(pk=charge.pk).first()
    if other:
        words = {"kiln": charge.kiln, "day": _day(other.start_on)}
        raise ValidationError(_("The charge of %(day)s is still in %(kiln)s. Unload it first.") % words)


@transaction.atomic
@keeps("taken_back", lambda charge, **_given: of_charge(charge))
def take_back(*, charge: Charge, stack: Stack, by: Any, at: datetime) -> None:
    """A stack was checked in by mistake: it goes back to where it stood before."""
    item = _item(charge, stack)
    if item is None or not item.loaded_at or charge.started_at:
        raise ValidationError(_("Only a stack that is checked in, before the kiln starts, can be taken back."))
    before = stack.stays.exclude(place=charge.kiln.place).select_related("place").last()
    item.loaded_at = item.loaded_by = None
    item.save(update_fields=["loaded_at", "loaded_by"])
    if before:
        yard.move(stacks=[item.stack], place=before.place, by=by, at=at)


@transaction.atomic
@keeps("unloaded", lambda charge, **_given: of_charge(charge))
def unload(*, charge: Charge, stack: Stack, place: Place, by: Any, at: datetime) -> ChargeStack:
    """Check a stack out, dry, to a place. The last one ends the charge."""
    item = _item(charge, stack)
    if item is None or not item.loaded_at:
        raise ValidationError(_("%(code)s did not go into this charge.") % {"code": shown(stack.code)})
    if item.unloaded_at:
        words = {"code": shown(stack.code), "place": stack.place}
        raise ValidationError(_("%(code)s is out already and stands in %(place)s.") % words, code=ALREADY)
    if not charge.started_at:
        raise ValidationError(_("This charge has not been started. Take the stack back instead."))
    item.unloaded_at, item.unloaded_by = at, by
    item.save(update_fields=["unloaded_at", "unloaded_by"])
    yard.release(stacks=[item.stack], by=by, at=at)
    yard.move(stacks=[item.stack], place=place, by=by, at=at)
    yard.mark_kiln_dried(stacks=[item.stack], on=timezone.localdate(at), by=by, at=at)
    if not charge.stacks.filter(unloaded_at=None).exists():
        charge.unloaded_at = at
        charge.save(update_fields=["unloaded_at"])
    return item


@transaction.atomic
@keeps("called_off", lambda charge, **_given: of_charge(charge))
def call_off(*, charge: Charge, by: Any, at: datetime) -> None:
    """Give a planned charge up: its stacks are free again."""
    if charge.state not in ("planned", "called_off"):
        raise ValidationError(_("Stacks are in the kiln already. Take them back or unload them first."))
    if charge.called_off_at:
        return
    charge.called_off_at = at
    charge.save(update_fields=["called_off_at"])
    yard.release(stacks=[item.stack for item in charge.stacks.select_related("stack")], by=by, at=at)
