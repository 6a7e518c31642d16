"""What stands in the yard and what it is worth; what left it; prices and costs."""

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from yard import outlook
from yard.actions import money as actions
from yard.actions.people import owners_only
from yard.fields.naming import in_order
from yard.forms.money import PricesForm, StackCostsForm
from yard.models import CostRates, Species, Stack
from yard.models.mill import currency
from yard.views.standing import any_stack

YEAR = timedelta(days=365)


@require_safe
def stock(request: HttpRequest) -> HttpResponse:
    """`?species=` (a key of the book) draws the months of that species alone."""
    today = timezone.localdate()
    held = outlook.stock(today)
    woods = sorted({lot.species for lot in held.lots}, key=in_order)
    chosen = next((one for one in woods if one.key == request.GET.get("species")), None)
    context = {
        "stock": held,
        "months": outlook.stock_by_month(today, chosen.pk if chosen else None),
        "woods": woods,
        "chosen": chosen,
        "left": outlook.left_since(today - YEAR),
        "log_yield": outlook.log_yield(today - YEAR),
        "today": today,
        "currency": currency(),
    }
    return render(request, "yard/stock.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@owners_only
def prices(request: HttpRequest) -> HttpResponse:
    """The species that stand in the yard, and those that have a price."""
    standing = Stack.objects.standing().values("species")
    woods = Species.objects.filter(pk__in=standing) | Species.objects.filter(price__isnull=False)
    given: dict[str, Any] = {
        "species": sorted(woods.distinct().select_related("price"), key=in_order),
        "rates": CostRates.current(),
        "currency": currency(),
    }
    form = PricesForm(request.POST if request.method == "POST" else None, **given)
    if request.method == "POST" and form.is_valid():
        actions.keep_prices(prices=form.prices, rates=form.cleaned_data, by=request.user, at=timezone.now())
        messages.success(request, _("Kept."))
        return redirect("stock")
    return render(request, "yard/prices.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def stack_costs(request: HttpRequest, code: str) -> HttpResponse:
    stack = any_stack(code)
    given: dict[str, Any] = {"stack": stack, "rates": CostRates.current(), "currency": currency()}
    form = StackCostsForm(request.POST if request.method == "POST" else None, **given)
    if request.method == "POST" and form.is_valid():
        actions.keep_costs(stack=stack, figures=form.figures, by=request.user, at=timezone.now())
        messages.success(request, _("Kept."))
        return redirect("stack", code=stack.code)
    context = {"form": form, "cost": outlook.cost_so_far(stack), **given}
    return render(request, "yard/stack_costs.html", context, status=422 if form.errors else 200)
