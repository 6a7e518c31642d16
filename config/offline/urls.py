"""Addresses of what a phone keeps and sends."""

from django.urls import path

from config.offline import copy, waiting

urlpatterns = [
    path("copy/", copy.copy, name="copy"),
    path("waiting/", waiting.waiting, name="waiting"),
]
