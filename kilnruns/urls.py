"""Kilns, plans and charges."""

from django.urls import path

from kilnruns.views import kilns, setup, today, welcome

urlpatterns = [
    path("", today.today, name="today"),
    path("welcome/", welcome.welcome, name="welcome"),
    path("setup/", setup.setup, name="setup"),
    path("kilns/new/", kilns.kiln_new, name="kiln_new"),
    path("kilns/<int:pk>/", kilns.kiln, name="kiln"),
    path("kilns/<int:pk>/closures/", kilns.kiln_closures, name="kiln_closures"),
    path("closures/<int:pk>/lift/", kilns.closure_lift, name="closure_lift"),
]
