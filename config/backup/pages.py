"""The owners' page of backups: what there is, one now, one to take away."""

from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from config.backup import keeping
from config.backup.tasks import back_up_now
from yard.actions.people import is_owner, owners_only


@owners_only
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def backups(request: HttpRequest) -> HttpResponse:
    """The list; a POST asks for a new one."""
    if request.method == "POST":
        back_up_now.enqueue()
        messages.success(request, _("A backup is being made."))
        return redirect("backups")
    now = timezone.now()
    found = keeping.backups()
    context = {
        "backups": found,
        "warning": keeping.warning(now, found),
        "is_being_made": keeping.is_being_made(),
        "on_same_disk": keeping.is_on_same_disk(),
        "kept": {"days": keeping.DAYS, "weeks": keeping.WEEKS, "months": keeping.MONTHS},
    }
    return render(request, "backup/backups.html", context)


@owners_only
@never_cache
@require_safe
def backup_file(request: HttpRequest, name: str) -> FileResponse:
    kept = keeping.backup(name)
    if kept is None:
        raise Http404
    return FileResponse(kept.path.open("rb"), as_attachment=True, filename=kept.name)


@owners_only
@require_POST
def backup_check(request: HttpRequest, name: str) -> HttpResponse:
    kept = keeping.backup(name)
    if kept is None:
        raise Http404
    if keeping.check(kept.path, at=timezone.now()).fault:
        messages.error(request, _("This backup can't be relied on; what is wrong stands with it."))
    else:
        messages.success(request, _("Read to its end: all rows and photos are there."))
    return redirect("backups")


def backup_warning(request: HttpRequest) -> dict[str, Any]:
    """Context processor: `backup_warning` for owners, read off the folder where a page asks for it."""

    def found() -> str:
        user = getattr(request, "user", None)
        return keeping.warning(timezone.now()) if user and user.is_authenticated and is_owner(user) else ""

    return {"backup_warning": SimpleLazyObject(found)}
