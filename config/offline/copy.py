"""GET /copy/?since=CURSOR: the copy of the yard for a phone, or what changed in it."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from config.offline.cursor import Cursor, Seen, read, still_holds
from config.offline.parts import digest, parts
from config.offline.rows import PAGE, changed, stack_row, standing_after, with_all
from yard.models import Board, Event, SampleBoard, Tag


@require_safe
@never_cache
def copy(request: HttpRequest) -> JsonResponse:
    """What the phone lacks. `whole` says that it has to forget what it had, `more` that it asks again at once for the
    next page of a first copy; parts that did not change are left out."""
    user: Any = request.user
    today = timezone.localdate()
    small = parts(user, today)
    # the cursor before the rows: what commits in between is sent twice, and not never
    now = Cursor(
        timezone.now(),
        str(user.pk),
        Seen.of(Event),
        Seen.of(SampleBoard),
        Seen.of(Tag),
        {name: digest(part) for name, part in small.items()},
    )
    asked = read(request.GET.get("since", ""))
    since = asked if still_holds(asked, now) else None
    known = since.parts if since else {}
    news = list(with_all(changed(since))) if since else []
    page = list(with_all(standing_after(since.brought if since else 0))) if since is None or since.brought else []
    rows = list({row.pk: row for row in [*news, *page]}.values())
    now = replace(now, brought=page[-1].pk if len(page) == PAGE else 0)
    body = {
        "whole": since is None,
        "more": bool(now.brought),
        "cursor": now.written(),
        "asOf": now.at.isoformat(timespec="seconds"),
        "user": {"id": now.user, "name": user.get_short_name() or user.get_username()},
        "stacks": [stack_row(stack, today) for stack in rows if stack.is_standing],
        "gone": _gone(rows),
        "blank": _blank(since),
        **{name: part for name, part in small.items() if known.get(name) != now.parts[name]},
    }
    return JsonResponse(body)


def _gone(rows: Iterable[Any]) -> list[str]:
    """Codes of the stacks among these that no longer stand, and of their boards."""
    gone = {stack.pk: stack.code for stack in rows if not stack.is_standing}
    boards = Board.objects.filter(stack__in=gone).values_list("code", flat=True) if gone else []
    return [*gone.values(), *boards]


def _blank(since: Cursor | None) -> list[str]:
    """Codes of blank tags, new ones only where the phone has the others; one that is taken tells itself."""
    tags = Tag.objects.blank()
    return list((tags.filter(since.tags.unseen()) if since else tags).values_list("code", flat=True))
