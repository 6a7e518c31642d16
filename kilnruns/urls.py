"""Kilns, plans and charges."""

from django.urls import path

from kilnruns.views import charges, fixings, kilns, learned, loading, plannings, plans, setup, today, welcome

urlpatterns = [
    path("", today.today, name="today"),
    path("welcome/", welcome.welcome, name="welcome"),
    path("setup/", setup.setup, name="setup"),
    path("learned/", learned.learned, name="learned"),
    path("kilns/", plans.kilns, name="kilns"),
    path("kilns/new/", kilns.kiln_new, name="kiln_new"),
    path("kilns/<int:pk>/", kilns.kiln, name="kiln"),
    path("kilns/<int:pk>/closures/", kilns.kiln_closures, name="kiln_closures"),
    path("closures/<int:pk>/lift/", kilns.closure_lift, name="closure_lift"),
    path("plans/", plans.plans, name="plans"),
    path("plans/<int:pk>/", plans.plan, name="plan"),
    path("plannings/<int:pk>/", plannings.planning, name="planning"),
    path("plannings/<int:pk>/cancel/", plannings.planning_cancel, name="planning_cancel"),
    path("plannings/<int:pk>/best/", plannings.planning_best, name="planning_best"),
    path("proposals/<int:pk>/", plans.proposal, name="proposal"),
    path("proposals/<int:pk>/charge/", charges.proposal_charge, name="proposal_charge"),
    path("proposals/<int:pk>/choose/<int:number>/", fixings.proposal_choose, name="proposal_choose"),
    path("fixings/new/<str:code>/", fixings.fixing_new, name="fixing_new"),
    path("fixings/<int:pk>/", fixings.fixing, name="fixing"),
    path("fixings/<int:pk>/cost/", fixings.fixing_cost, name="fixing_cost"),
    path("fixings/<int:pk>/lift/", fixings.fixing_lift, name="fixing_lift"),
    path("charges/<int:pk>/", charges.charge, name="charge"),
    path("charges/<int:pk>/sheet/", charges.charge_sheet, name="charge_sheet"),
    path("charges/<int:pk>/loading/", loading.charge_loading, name="charge_loading"),
    path("charges/<int:pk>/loading/back/", loading.charge_take_back, name="charge_take_back"),
    path("charges/<int:pk>/unloading/", loading.charge_unloading, name="charge_unloading"),
    path("charges/<int:pk>/start/", charges.charge_start, name="charge_start"),
    path("charges/<int:pk>/call-off/", charges.charge_call_off, name="charge_call_off"),
]
