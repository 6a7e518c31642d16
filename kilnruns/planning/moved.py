"""What a new plan moved against the one that was in force, and what had changed meanwhile."""

from datetime import date
from typing import Any

from kilnruns.models import Plan
from kilnruns.planning.answer import Draft

CAUSES_KEPT = 5
Places = dict[str, set[tuple[int, str]]]
"""By stack code: kilns and starts."""


def moved(before: Plan, draft: Draft) -> dict[str, Any]:
    """`of`: stacks that the plan before placed ahead and that may still go; `stacks`: those that are elsewhere now
    (each with `was` and `now` as [kiln, start], `now` empty if it is out); `added`: stacks that came in; `causes`:
    stacks whose ready day changed most, as {code, was, now}; `changed`: whatever else did, how many by kind."""
    old, new = _before(before, draft), _after(draft)
    elsewhere = sorted(code for code in old if old[code] != new.get(code, set()))
    rows = [{"code": one, "was": sorted(old[one]), "now": sorted(new.get(one, set()))} for one in elsewhere]
    added = len(set(new) - set(old))
    return {
        "of": len(old),
        "stacks": rows,
        "added": added,
        "causes": _causes(before, draft),
        "changed": _changed(before, draft),
    }


def _before(before: Plan, draft: Draft) -> Places:
    free = draft.basis.get("stacks", {})
    ahead = before.proposals.filter(charge=None, start_on__gte=draft.first_day).prefetch_related("shares__stack")
    found: Places = {}
    for proposal in ahead:
        for share in proposal.shares.all():
            if share.stack.code in free:
                place = (proposal.kiln_id, proposal.start_on.isoformat())
                found.setdefault(share.stack.code, set()).add(place)
    return found


def _after(draft: Draft) -> Places:
    found: Places = {}
    for charge in draft.charges:
        for code, *_rest in charge.shares:
            found.setdefault(code, set()).add((charge.kiln, charge.start_on.isoformat()))
    return found


def _causes(before: Plan, draft: Draft) -> list[dict[str, Any]]:
    """The largest shifts of a ready day first; one that can't be ready, now or then, before all."""
    old, new = before.basis.get("stacks", {}), draft.basis.get("stacks", {})
    both = [(code, old[code][0], row[0]) for code, row in new.items() if code in old and old[code][0] != row[0]]
    ranked = sorted(both, key=lambda one: (-_shift(one[1], one[2]), one[0]))
    return [{"code": code, "was": was, "now": now} for code, was, now in ranked[:CAUSES_KEPT]]


def _changed(before: Plan, draft: Draft) -> dict[str, int]:
    """Stacks that came or went, and charges, kilns and needs that are others than they were; no zeros."""
    old, new = before.basis, draft.basis
    if not old or not new:
        return {}
    found = {"stacks": len(set(old["stacks"]) ^ set(new["stacks"]))}
    for kind in ("charges", "kilns", "needs"):
        found[kind] = sum(old[kind].get(key) != new[kind].get(key) for key in set(old[kind]) | set(new[kind]))
    return {kind: count for kind, count in found.items() if count}


def codes_of(told: dict[str, Any]) -> set[str]:
    """The stacks that are named in what `moved` told."""
    return {one["code"] for kind in ("stacks", "causes") for one in told.get(kind, [])}


def _shift(was: str | None, now: str | None) -> int:
    if was is None or now is None:
        return 10**6
    return abs((date.fromisoformat(now) - date.fromisoformat(was)).days)
