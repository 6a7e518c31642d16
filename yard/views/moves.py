"""Moving a stack: two taps, its page and the place."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from yard.actions.stacks import mark_kiln_dried, move
from yard.actions.stays import place_at
from yard.changes import Watched, kept
from yard.forms.move import MoveForm
from yard.models import Place, Stack
from yard.receipts import moment
from yard.views.standing import standing_stack


@require_http_methods(["GET", "HEAD", "POST"])
def stack_move(request: HttpRequest, code: str) -> HttpResponse:
    stack = standing_stack(request, code)
    now = moment(request)
    form = MoveForm(request.POST or None, stack=stack, was=place_at(stack, now))
    if request.method == "POST" and form.is_valid():
        place = form.cleaned_data["place"]
        with kept("moved", Watched(), by=request.user, at=now):
            if form.cleaned_data.get("kiln_dried"):
                mark_kiln_dried(stacks=[stack], on=timezone.localtime(now).date(), by=request.user, at=now)
            move(stacks=[stack], place=place, by=request.user, at=now)
        messages.success(request, said_of(stack, place))
        return redirect("stack", code=stack.code)
    places = Place.objects.filter(given_up=False).exclude(pk=stack.place_id)
    context = {"stack": stack, "form": form, "places": sorted(places, key=lambda place: place.is_kiln)}
    return render(request, "yard/stack_move.html", context, status=422 if form.errors else 200)


def said_of(stack: Stack, place: Place) -> str:
    """Where it stands now; a later move was told of already when the two differ."""
    if stack.place_id == place.pk:
        return _("It stands in %(place)s now.") % {"place": place}
    names = {"place": place, "now": stack.place}
    return _("It was moved on since: %(place)s is in its history, and it stands in %(now)s.") % names
