"""The pages that the phone draws itself, from its copy of the yard, when there is no reception.

A form that shall work offline is one line here and one template: see "Offline" in DEVELOPERS.md.
"""

from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from config.offline.forms import offline_forms
from config.templatetags.bar import place_of
from yard.explained import EXPLAINED
from yard.forms.figures import refusal_words
from yard.forms.tools import TOOLS
from yard.measures.system import told


@dataclass(frozen=True, slots=True)
class Page:
    """`path` is a regular expression that both Python and JavaScript read, its first group the code or key of what the
    page is about, its second that of a part of it; `about` says which kind of thing that is, and so what its template
    is filled with."""

    name: str
    path: str
    title: str | Promise
    about: str = ""
    tool: str = ""
    is_patient: bool = False
    """The server's page says so much more that a slow one is waited for; drawn only where there is no network."""

    @property
    def here(self) -> str:
        """The bar's place that it belongs to."""
        return place_of(self.path.replace("[tT]", "t").strip("^$"))

    @property
    def template(self) -> str:
        return f"pwa/offline/{'tool' if self.tool else self.name}.html"

    @property
    def form(self) -> Any:
        """The calculator's form; a template makes one of it."""
        return TOOLS[self.tool]


PAGES = (
    Page("today", r"^/$", _("Today"), "today"),
    Page("scan", r"^/scan/$", _("Scan a tag")),
    Page("yard", r"^/yard/$", _("Yard"), "list"),
    Page("tag", r"^/[tT]/([^/]+)/?$", _("Tag"), "tag"),
    Page("stack_new", r"^/stacks/new/$", _("New stack"), "blank"),
    Page("stack", r"^/stacks/([^/]+)/$", _("Stack"), "stack"),
    Page("reading", r"^/stacks/([^/]+)/readings/new/$", _("Reading"), "stack"),
    Page("move", r"^/stacks/([^/]+)/move/$", _("Where does it stand now?"), "stack"),
    Page("note", r"^/stacks/([^/]+)/note/$", _("Note"), "stack"),
    Page("photos", r"^/stacks/([^/]+)/photos/$", _("Photos"), "stack"),
    Page("samples", r"^/stacks/([^/]+)/samples/$", _("Sample boards"), "stack"),
    Page("board", r"^/boards/([^/]+)/$", _("Board"), "board"),
    Page("kilns", r"^/kilns/$", _("Kilns"), "today", is_patient=True),
    Page("charge", r"^/charges/(\d+)/$", _("Charge"), "charge"),
    Page("loading", r"^/charges/(\d+)/loading/$", _("Load the kiln"), "charge"),
    Page("drawing", r"^/charges/(\d+)/drawing/$", _("How it is loaded"), "charge"),
    Page("unloading", r"^/charges/(\d+)/unloading/$", _("Unload the kiln"), "charge"),
    Page("run_record", r"^/charges/(\d+)/records/new/$", _("Note what you see"), "charge"),
    Page("stress", r"^/charges/(\d+)/stress/$", _("Test for stress"), "charge"),
    Page("stress_test", r"^/charges/(stress-tests/\d+|\d+/stress/[0-9a-f-]{36})/$", _("Stress test"), "test"),
    Page("closing", r"^/charges/(\d+)/closing/$", _("Closing the run"), "charge"),
    Page("measure", r"^/charges/(\d+)/closing/([^/]+)/$", _("Measure the boards"), "charge"),
    Page("degrade", r"^/charges/(\d+)/degrade/([^/]+)/$", _("Degrade"), "charge"),
    Page("waiting", r"^/waiting/$", _("Waiting to be sent")),
    Page("help", r"^/help/$", _("Help")),
    Page("tools", r"^/tools/$", _("Tools")),
    Page("tool_drying", r"^/tools/drying/$", TOOLS["drying"].title, "whatif"),
    *(
        Page(f"tool_{key}", rf"^/tools/{key}/$", form.title, tool=key)
        for key, form in TOOLS.items()
        if key != "drying"  # needs the forecast: the tables of what was asked are kept instead
    ),
)
"""The first whose path fits is drawn."""

ELSEWHERE = (
    Page("unknown", "", _("No such tag in the copy")),
    Page("mistyped", "", _("No such tag")),
    Page("replaced", "", _("This tag was replaced")),
    Page("nocopy", "", _("No copy of the yard yet")),
    Page("elsewhere", "", _("This page needs reception")),
)
"""Drawn in place of a page whose thing the copy does not know, and of any other."""

OFFLINE_PATHS = tuple(page.path for page in PAGES if not page.is_patient)
"""For the service worker: what it need not wait for when the network is slow."""

MODULES = (
    "charge",
    "fill",
    "form",
    "lists",
    "stack",
    "words",
    "yard",
)
"""Of offline_page.js, fetched at once with it; found one by one they take as many turns as their imports are deep."""


def context() -> dict[str, Any]:
    """For templates/pwa/offline.html. Nobody's data: the page is kept by every phone, and by the next reader of it."""
    return {
        "offline": True,
        "modules": [f"js/offline_{name}.js" for name in MODULES],
        "pages": PAGES,
        "elsewhere": ELSEWHERE,
        "explained": EXPLAINED.values(),
        "tools": TOOLS.values(),
        "refusals": {
            code: refusal_words(words, told()) for form in TOOLS.values() for code, words in form.refusals.items()
        },
        **offline_forms(),
    }
