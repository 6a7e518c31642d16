"""Sign-ins: noted when they begin, looked after while they last, ended one by one or all together."""

from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models import OuterRef, QuerySet, Subquery
from django.http import HttpRequest
from django.utils import timezone

from yard.changes import PEOPLE, Watched, kept
from yard.models import SignIn

MODEL_BACKEND = "django.contrib.auth.backends.ModelBackend"
"""As whose a session counts that begins without asking for the password again."""
SEEN = "seen_at"
SEEN_EVERY = timedelta(hours=1)
"""So often it is noted that somebody was here: a list of sign-ins need not know more, and pages write nothing."""


def connect() -> None:
    user_logged_in.connect(_began, dispatch_uid="sign_in_began")
    user_logged_out.connect(_ended, dispatch_uid="sign_in_ended")


def _began(sender: Any, request: HttpRequest, user: Any, **_more: Any) -> None:
    note(request, user)


def _ended(sender: Any, request: HttpRequest, user: Any, **_more: Any) -> None:
    SignIn.objects.filter(session_key=request.session.session_key or "").delete()


def note(request: HttpRequest, user: Any) -> None:
    """That this session is used now."""
    now, key = timezone.now(), request.session.session_key
    if key is None:
        return
    kept = {"user": user, "agent": request.META.get("HTTP_USER_AGENT", "")[:300], "seen_at": now}
    SignIn.objects.update_or_create(session_key=key, defaults=kept, create_defaults={**kept, "began_at": now})
    request.session[SEEN] = now.timestamp()


def is_due(request: HttpRequest) -> bool:
    seen = request.session.get(SEEN)
    return seen is None or timezone.now().timestamp() - seen > SEEN_EVERY.total_seconds()


def sign_ins_of(person: Any, at: datetime) -> QuerySet[SignIn]:
    """Those that last still, the one used last first."""
    lasts = Session.objects.filter(session_key=OuterRef("session_key"), expire_date__gt=at)
    rows = SignIn.objects.annotate(lasts_until=Subquery(lasts.values("expire_date")[:1]))
    return rows.filter(user=person, lasts_until__isnull=False)


@transaction.atomic
def end_sign_in(*, sign_in: SignIn, by: Any, at: datetime) -> None:
    """From the next request on; the phone's copy of the yard goes when it hears of it."""
    with kept("signed_out", Watched([PEOPLE], named=[sign_in.user]), by=by, at=at):
        Session.objects.filter(session_key=sign_in.session_key).delete()
        sign_in.delete()
