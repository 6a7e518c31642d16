"""What shall become of a stack: fixed by a person, counted in money, lifted again."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns.actions.fixings import fix, lift
from kilnruns.actions.plannings import ask
from kilnruns.actions.reckonings import ask_cost
from kilnruns.forms.fixing import FORMS, FixingForm
from kilnruns.models import Fixing, LeftOut, Plan, Planning, Proposal, Reckoning
from kilnruns.planning import fixings as asked
from kilnruns.planning.horizon import USUAL_DAYS
from kilnruns.templatetags.reasons import clash_sentence
from kilnruns.views.plans import kiln_names, proposals_of
from yard.models import Mill, Stack, keptwords
from yard.models.tagcode import normalise


def plan_rules(plan: Plan | None) -> dict[str, Any]:
    """How far ahead and how sure, as in the plan in force."""
    return {"horizon_days": plan.horizon_days, "careful": plan.careful} if plan else {"horizon_days": USUAL_DAYS}


def fixing_new(request: HttpRequest, code: str) -> HttpResponse:
    """Choose what shall become of it; then the one question that this asks."""
    standing = Stack.objects.standing().select_related("species", "place")
    stack, plan, on = get_object_or_404(standing, code=normalise(code)), Plan.objects.in_force(), timezone.localdate()
    proposals = list(proposals_of(plan).filter(charge=None)) if plan else []
    kind = request.POST.get("kind") or request.GET.get("kind", "")
    context: dict[str, Any] = {"stack": stack, "plan": plan, "on": on, "kind": kind, "kiln_names": kiln_names()}
    if kind not in FORMS:
        return render(request, "kilnruns/fixing_ways.html", context | _now(stack, plan, proposals))
    form = FORMS[kind](request.POST or None, stack=stack, on=on, proposals=proposals)
    if request.method == "POST" and form.is_valid():
        new = form.made()
        if _fits(form, new, plan):
            kept = fix(fixings=[new], by=request.user, at=timezone.now())
            ask_cost(fixing=kept[0], at=timezone.now())
            return redirect(kept[0])
    return render(request, "kilnruns/fixing_new.html", context | {"form": form}, status=422 if form.errors else 200)


def _now(stack: Stack, plan: Plan | None, proposals: list[Proposal]) -> dict[str, Any]:
    """What the plan in force does with it, and what is fixed for it already."""
    inside = [one for one in proposals if stack.pk in {share.stack_id for share in one.shares.all()}]
    left_out = LeftOut.objects.filter(plan=plan, stack=stack).select_related("stack") if plan else []
    fixed = Fixing.objects.in_force(timezone.localdate()).for_lists()
    return {"inside": inside, "left_out": list(left_out), "fixings": list(fixed.filter(stack=stack))}


def _fits(form: FixingForm, new: Fixing, plan: Plan | None) -> bool:
    """Whether a plan can keep it; if not, each rule that it collides with is told at the form's field."""
    on, names = timezone.localdate(), kiln_names()
    rules = {"horizon_days": USUAL_DAYS, "careful": False} | plan_rules(plan)
    for clash in asked.clashes_of([new], on, rules["horizon_days"], rules["careful"]):
        form.add_error(form.asks, clash_sentence(clash, on, names))
    return form.is_valid()


def fixing(request: HttpRequest, pk: int) -> HttpResponse:
    """What is fixed, what it costs, and the way back."""
    one, plan = get_object_or_404(Fixing.objects.for_lists(), pk=pk), Plan.objects.in_force()
    context = {
        "fixing": one,
        "plan": plan,
        "is_kept": bool(plan and plan.made_at >= one.made_at),
        **_cost_of(one, plan),
    }
    return render(request, "kilnruns/fixing.html", context)


def _cost_of(one: Fixing, plan: Plan | None) -> dict[str, Any]:
    """What its cost is known to be, or how far its reckoning is. `is_wanted`: nobody has asked since the plan is in
    force."""
    row, on = Reckoning.objects.filter(fixing=one).first(), timezone.localdate()
    is_counted = bool(one.counted_at and plan and one.counted_at >= plan.made_at)
    is_asked = bool(row and (row.is_in_work or plan is None or row.asked_at >= plan.made_at))
    found = row.found if row and row.state == "finished" else None
    return {
        "on": on,
        "mill": Mill.current(),
        "reckoning": row,
        "found": found,
        "is_wanted": not (is_counted or is_asked or one.lifted_at),
        "clashes": [clash_sentence(clash, on, kiln_names()) for clash in (found or {}).get("unmet", [])],
        "is_planning": bool(row and row.is_in_work and Planning.objects.in_work().exists()),
    }


def fixing_cost(request: HttpRequest, pk: int) -> HttpResponse:
    """POST asks for it to be reckoned, off the request; GET is for the page that shows how far that is."""
    one, plan = get_object_or_404(Fixing.objects.for_lists(), pk=pk), Plan.objects.in_force()
    if request.method == "POST" and not one.lifted_at:
        ask_cost(fixing=one, at=timezone.now())
        one.refresh_from_db(fields=["cost", "counted_at"])
    if one.lifted_at or not request.headers.get("HX-Request"):
        return redirect(one)
    return render(request, "kilnruns/_fixing_cost.html", {"fixing": one, **_cost_of(one, plan)})


@require_POST
def fixing_lift(request: HttpRequest, pk: int) -> HttpResponse:
    one, plan = get_object_or_404(Fixing, pk=pk), Plan.objects.in_force()
    lift(fixing=one, by=request.user, at=timezone.now())
    messages.success(request, _("Lifted. The next plan need not keep it."))
    return redirect("plan", pk=plan.pk) if plan else redirect("kilns")


@require_POST
def proposal_choose(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Take the alternative: its stacks are fixed into its kiln and day, and the kilns are planned anew."""
    proposal, on = get_object_or_404(proposals_of_any(), pk=pk), timezone.localdate()
    others = proposal.extra.get("alternatives", [])
    if number >= len(others):
        messages.error(request, _("This choice is no longer there."))
        return redirect("proposal", pk=pk)
    chosen = _choices(proposal, others[number])
    rules = {"horizon_days": proposal.plan.horizon_days, "careful": proposal.plan.careful}
    clashing: dict[str, str] = {}
    for clash in asked.clashes_of(chosen, on, rules["horizon_days"], rules["careful"]):
        clashing.setdefault(clash["code"], clash_sentence(clash, on, kiln_names()))
    kept = [one for one in chosen if one.stack.code not in clashing]
    if not kept:
        messages.error(request, next(iter(clashing.values()), "") or _("Its stacks are gone. Make a new plan."))
        return redirect("proposal", pk=pk)
    fix(fixings=kept, by=request.user, at=timezone.now())
    planning, _is_new = ask(first_day=on, by=request.user, **rules)
    if planning.plan_id:
        messages.success(request, _("Fixed, and planned anew around it."))
        return redirect("plan", pk=planning.plan_id)
    messages.success(request, _("Fixed. A new plan is being made around it."))
    return redirect("kilns")


def proposals_of_any() -> Any:
    return Proposal.objects.select_related("plan", "kiln__place")


def _choices(proposal: Proposal, other: dict[str, Any]) -> list[Fixing]:
    stacks = {one.code: one for one in Stack.objects.drying().filter(code__in=other["codes"])}
    reason = keptwords.INSTEAD % {"day": proposal.start_on.isoformat()}
    day = date.fromisoformat(other["start_on"])
    return [
        Fixing(kind="into", stack=stacks[code], kiln=proposal.kiln, start_on=day, reason=reason)
        for code in other["codes"]
        if code in stacks
    ]
