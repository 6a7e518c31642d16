"""The demo's tags: the same codes each time, since plans break ties by code."""

from random import Random
from typing import Any

from yard.models import Tag
from yard.models.tagcode import new_code


def next_tag(by: Any) -> Tag:
    """A blank tag, whose code hangs on how many there are already."""
    draw = Random(Tag.objects.count()).choice  # noqa: S311 - an invented yard, the same each time
    return Tag.objects.create(code=new_code(draw), made_by=by)
