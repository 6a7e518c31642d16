"""How to cut a need's line: boards, strips, pieces; what is missing, and which logs that takes."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from yard import outlook
from yard.forms.logs import LogForm
from yard.models import Need, NeedLine, Unit


@require_safe
def need_cuts(request: HttpRequest, pk: int) -> HttpResponse:
    """A line in m³ is of whole stacks: it has no cut plan, and its page says so."""
    line = get_object_or_404(NeedLine, pk=pk)
    need = Need.objects.with_lines().get(pk=line.need_id)
    served = outlook.serve([need], timezone.localdate())[need.pk]
    mine = next(one for one in served if one.line.pk == line.pk)
    cuts = outlook.cut_line(mine) if line.unit != Unit.CUBIC_METRES else None
    form = LogForm(request.GET if "diameter" in request.GET else None, figures=mine.figures)
    context: dict[str, Any] = {"need": need, "served": mine, "line": mine.line, "cuts": cuts, "form": form}
    if cuts and cuts.saw:
        context |= _logs(cuts.saw, form)
    return render(request, "yard/need_cuts.html", context, status=422 if form.errors else 200)


def _logs(saw: outlook.ToSaw, form: LogForm) -> dict[str, Any]:
    """For the logs asked about, or the mill's usual ones; nothing for a refused form."""
    log = form.log
    if log is None:
        return {}
    return {
        "share_pct": log["share"],
        "logs": outlook.logs_for(saw, log["diameter"], log["length"], log["share"] / 100),
    }
