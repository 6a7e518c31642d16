"""What is due, in words: a title that begins with the verb, a text, and the page that it is about."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.template.loader import render_to_string
from django.urls import reverse

from kilnruns.reminding.due import Due

LOADING = {"load": "charge_loading", "loading": "charge_loading", "unloading": "charge_unloading"}
PAGES = {"care": "today", "ready": "kilns"}


@dataclass(frozen=True, slots=True)
class Told:
    """`path` is the page's path on this site."""

    due: Due
    title: str
    text: str
    path: str


def told(dues: Iterable[Due]) -> list[Told]:
    return [_told(one) for one in dues]


def _told(due: Due) -> Told:
    words = render_to_string("kilnruns/reminders/words.txt", {"due": due, **due.facts})
    title, *lines = (line.strip() for line in words.strip().split("\n"))
    return Told(due, title, "\n".join(line for line in lines if line), _path(due))


def _path(due: Due) -> str:
    if due.kind in PAGES:
        return reverse(PAGES[due.kind])
    if due.kind == "read":
        return f"{reverse('yard')}?due=on"
    if due.kind in LOADING:
        return reverse(LOADING[due.kind], args=[due.facts["charge"].pk])
    if due.kind == "to_come":
        return str(due.facts["stacks"][0].get_absolute_url())
    if due.kind == "closed":
        return reverse("closure", args=[due.facts["closure"].pk])
    return str(due.facts["charge"].get_absolute_url())
