"""Tally lines put together and taken apart, before they are written."""

from collections import Counter
from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from yard.measures.told import sides

Lines = Sequence[tuple[int, int, int]]
"""Tally lines as (length_mm, width_mm, count)."""


def summed(lines: Lines) -> list[tuple[int, int, int]]:
    """Lines of equal boards put together, in the order in which they first came."""
    counts: Counter[tuple[int, int]] = Counter()
    for length_mm, width_mm, count in lines:
        counts[length_mm, width_mm] += count
    return [(*size, count) for size, count in counts.items()]


def taken_off(lines: Lines, taken: Lines) -> list[tuple[int, int, int]]:
    """What is left of `lines`. Raises ValidationError unless `taken` is part of them and leaves something."""
    left = {line[:2]: line[2] for line in summed(lines)}
    for length_mm, width_mm, count in taken:
        size = (length_mm, width_mm)
        if count > left.get(size, 0):
            shown = {"size": sides(length_mm, width_mm), "count": left.get(size, 0)}
            raise ValidationError(_("Of %(size)s there are only %(count)d boards.") % shown)
        left[size] -= count
    if not any(count for *_size, count in taken):
        raise ValidationError(_("Say how many boards go to the new stack."))
    remaining = [(*size, count) for size, count in left.items() if count]
    if not remaining:
        raise ValidationError(_("That is the whole stack; leave some boards, or move the stack instead."))
    return remaining


def quantity(lines: Lines, thickness_mm: float) -> dict[str, float]:
    area_m2 = sum(length_mm * width_mm * count for length_mm, width_mm, count in lines) / 1e6
    return {"boards": sum(line[2] for line in lines), "volume_m3": round(area_m2 * thickness_mm / 1000, 4)}
