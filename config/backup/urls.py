"""Addresses of the backups, for owners."""

from django.urls import path

from config.backup import pages

urlpatterns = [
    path("", pages.backups, name="backups"),
    path("<str:name>", pages.backup_file, name="backup_file"),
    path("<str:name>/check/", pages.backup_check, name="backup_check"),
]
