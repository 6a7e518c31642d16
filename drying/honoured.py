"""Whether a plan keeps what was fixed: read off the charges alone, days and codes. No code of the planner's; no source
but the definition of a fixing in `offers`."""

from collections.abc import Iterator, Sequence

from drying.offers import Fixing
from drying.proposal import Plan


def breaches(plan: Plan, fixings: Sequence[Fixing]) -> list[str]:
    """Faults (days, codes) of a plan made with these fixings, each a sentence: those broken though it does not say
    that it could not keep them. Takes what `offers` lets in (ValueError there)."""
    told = {clash.fixing for clash in plan.unmet}
    faults = [fault for one in fixings if one not in told for fault in _broken(plan, one)]
    return faults + [f"{one} was never asked for" for one in told - set(fixings)]


def _broken(plan: Plan, one: Fixing) -> Iterator[str]:
    mine = [charge for charge in plan.charges if one.code in charge.codes]
    where = [(charge.kiln, charge.start_day) for charge in mine]
    if one.kind == "hold":
        if any(one.until_day is None or start < one.until_day for _, start in where):
            yield f"{one.code} goes on {where}, held until {one.until_day}"
    elif one.kind == "apart":
        if any(one.other in charge.codes for charge in mine):
            yield f"{one.code} and {one.other} share a charge"
    elif not where or any(one.kiln not in (None, kiln) or one.start_day not in (None, start) for kiln, start in where):
        yield f"{one.code} goes on {where}, fixed into {one.kiln} on {one.start_day}"
