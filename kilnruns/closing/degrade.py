"""What was noted of defects in a charge: of each stack and kind, the latest."""

from kilnruns.models import Charge, Defect, Degrade


def degrade(charge: Charge) -> dict[int, list[Degrade]]:
    """By stack, in the order of the kinds. One query."""
    latest = {(row.stack_id, row.kind): row for row in charge.degrade.all()}
    found: dict[int, list[Degrade]] = {}
    for stack, kind in sorted(latest, key=lambda one: (one[0], Defect.values.index(one[1]))):
        found.setdefault(stack, []).append(latest[stack, kind])
    return found
