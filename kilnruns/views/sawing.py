"""What to saw on the next mill day, on one page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from kilnruns.forms.sawing import SawListForm
from kilnruns.planning.sawlist import saw_list
from kilnruns.views.plans import kiln_names
from yard import outlook
from yard.models import Mill, MillFigures


@require_safe
def sawing(request: HttpRequest) -> HttpResponse:
    today, figures = timezone.localdate(), MillFigures.current()
    data = request.GET if "day" in request.GET else None
    form = SawListForm(data, figures=figures, place=outlook.usual_place(), today=today)
    asked = form.asked
    context = {
        "form": form,
        "list": saw_list(today=today, **asked),
        "today": today,
        "mill": Mill.current(),
        "figures": figures,
        "asked": asked,
        "kiln_names": kiln_names(),
    }
    return render(request, "kilnruns/sawing.html", context, status=422 if form.errors else 200)
