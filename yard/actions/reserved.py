"""What is reserved of a stack follows its wood: to the part split off, to the stack that it was laid on."""

from yard.models import Reservation, Stack

LEAST_M3 = 1e-6


def follow_split(stack: Stack, part: Stack) -> None:
    """What the rest of the stack can't hold any more goes with the part: what was reserved last, first. `stack` and
    `part` have their tallies; boards with a tag of their own stay with their stack."""
    kept = list(
        Reservation.objects.filter(stack=stack, board=None, line__need__met_at=None).order_by("-made_at", "-pk")
    )
    over, room = sum(one.volume_m3 for one in kept) - stack.volume_m3, part.volume_m3
    for one in kept:
        takes = min(one.volume_m3, over, room)
        if takes <= LEAST_M3:
            return
        _part(one, part, takes)
        over, room = over - takes, room - takes


def _part(one: Reservation, part: Stack, volume_m3: float) -> None:
    """The whole reservation where it all goes, else so much of it."""
    if one.volume_m3 - volume_m3 <= LEAST_M3:
        one.stack = part
        one.save(update_fields=["stack"])
        return
    share = volume_m3 / one.volume_m3
    sawn = None if one.sawn_for is None else one.sawn_for * share
    told = {"made_at": one.made_at, "made_by_id": one.made_by_id}
    Reservation.objects.create(line_id=one.line_id, stack=part, volume_m3=volume_m3, sawn_for=sawn, **told)
    one.volume_m3 -= volume_m3
    one.sawn_for = None if one.sawn_for is None else one.sawn_for * (1 - share)
    one.save(update_fields=["volume_m3", "sawn_for"])


def follow_join(stack: Stack, into: Stack) -> None:
    """All that is reserved of a stack is reserved of the one it was laid on; of one line together."""
    there = {one.line_id: one for one in Reservation.objects.filter(stack=into, board=None)}
    for one in Reservation.objects.filter(stack=stack).order_by("pk"):
        other = there.get(one.line_id) if one.board_id is None else None
        if other is None:
            one.stack = into
            one.save(update_fields=["stack"])
            continue
        other.volume_m3 += one.volume_m3
        if other.sawn_for is not None or one.sawn_for is not None:
            other.sawn_for = (other.sawn_for or 0.0) + (one.sawn_for or 0.0)
        other.save(update_fields=["volume_m3", "sawn_for"])
        one.delete()
