"""Drying groups, and the rules that decide who shares a charge: looked at by all, changed by owners."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kilnruns.actions import groups as actions
from kilnruns.actions.rules import keep_rules
from kilnruns.forms.group import MoveForm, OwnGroupForm
from kilnruns.forms.rules import RulesForm
from kilnruns.models import GroupMember, OwnGroup, PlanningRules
from kilnruns.planning.groups import overview
from yard.actions.people import owners_only
from yard.models import Species


@require_safe
def drying_groups(request: HttpRequest) -> HttpResponse:
    context = {"groups": overview(), "rules": PlanningRules.current()}
    return render(request, "kilnruns/drying_groups.html", context)


@owners_only
def planning_rules(request: HttpRequest) -> HttpResponse:
    rules = PlanningRules.current()
    form = RulesForm(request.POST or None, rules=rules)
    if request.method == "POST" and form.is_valid():
        keep_rules(rules=form.rules_changed(), by=request.user, at=timezone.now())
        messages.success(request, _("Kept. The next plan goes by it."))
        return redirect("drying_groups")
    context = {"form": form, "rules": rules}
    return render(request, "kilnruns/planning_rules.html", context, status=422 if form.errors else 200)


@require_POST
@owners_only
def planning_rules_usual(request: HttpRequest) -> HttpResponse:
    rules, usual = PlanningRules.current(), PlanningRules()
    for name, value in usual.figures.items():
        setattr(rules, name, value)
    keep_rules(rules=rules, by=request.user, at=timezone.now())
    messages.success(request, _("The usual figures hold again."))
    return redirect("drying_groups")


@owners_only
def drying_group_new(request: HttpRequest) -> HttpResponse:
    return _group(request, OwnGroup())


@owners_only
def drying_group(request: HttpRequest, pk: int) -> HttpResponse:
    return _group(request, get_object_or_404(OwnGroup, pk=pk))


def _group(request: HttpRequest, group: OwnGroup) -> HttpResponse:
    form = OwnGroupForm(request.POST or None, instance=group)
    if request.method == "POST" and form.is_valid():
        actions.keep_group(group=form.save(commit=False), by=request.user)
        said = _("%(group)s is kept. Now tap the species that belong in it.")
        messages.success(request, said % {"group": group.name})
        return redirect("drying_groups")
    context = {"form": form, "group": group}
    return render(request, "kilnruns/drying_group.html", context, status=422 if form.errors else 200)


@require_POST
@owners_only
def drying_group_dissolve(request: HttpRequest, pk: int) -> HttpResponse:
    actions.dissolve(group=get_object_or_404(OwnGroup, pk=pk), by=request.user)
    messages.success(request, _("Dissolved. Its species are back in their groups of the book."))
    return redirect("drying_groups")


@owners_only
def drying_group_move(request: HttpRequest, key: str) -> HttpResponse:
    """Where a species belongs."""
    species = get_object_or_404(Species, key=key)
    member = GroupMember.objects.filter(species=species).first()
    form = MoveForm(request.POST or None, species=species, own=OwnGroup.objects.all(), member=member)
    if request.method == "POST" and form.is_valid():
        actions.move(species=species, into=form.chosen, by=request.user)
        messages.success(request, _("%(species)s is moved. The next plan goes by it.") % {"species": species.name})
        return redirect("drying_groups")
    context = {"form": form, "species": species}
    return render(request, "kilnruns/drying_group_move.html", context, status=422 if form.errors else 200)
