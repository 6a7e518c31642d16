"""The first day in a new yard: what is done already, told from its rows, and the next thing to do."""

from dataclasses import dataclass

from django.http import HttpRequest
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from yard.models import Place, Reading, Species, Stack, Tag

AWAY = "drystack-first-day"
"""The cookie of a browser in which the guide was put away from Today."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do; `url_name` is the page where it is done."""

    verb: str | Promise
    why: str | Promise
    url_name: str
    is_done: bool


def steps() -> list[Step]:
    """From the place to the first reading, in five queries at most."""
    has_stack = Stack.objects.exists()
    return [
        Step(
            _("Say where stacks stand"),
            _("A place with its climate: by that the forecast knows the air that dries the wood."),
            "place_new",
            Place.objects.outdoors().exclude(temperatures_c=[]).exists(),
        ),
        Step(
            _("Look up your wood"),
            _("The book knows many species with their sources; an owner adds what is missing."),
            "species_list",
            Species.objects.exists(),
        ),
        Step(
            _("Print a sheet of tags"),
            _("Each tag becomes a stack's when it is scanned for the first time."),
            "tags",
            has_stack or Tag.objects.exists(),
        ),
        Step(
            _("Put the first tag on the first stack"),
            _("Scan it, and say what lies there: wood, thickness, boards, since when."),
            "scan",
            has_stack,
        ),
        Step(
            _("Take the first reading"),
            _("Scan the tag again. One reading tells whether the forecast is right about this stack."),
            "scan",
            has_stack and Reading.objects.valid().exists(),
        ),
    ]


@dataclass(frozen=True, slots=True)
class Guide:
    """The steps; `next` is the first that is not done, None at the end of the first day."""

    steps: list[Step]

    @property
    def next(self) -> Step | None:
        return next((step for step in self.steps if not step.is_done), None)

    @property
    def done(self) -> int:
        return sum(step.is_done for step in self.steps)


def guide() -> Guide:
    return Guide(steps())


def is_over() -> bool:
    """A yard with a reading is past its first day, whatever else is undone."""
    return Reading.objects.valid().exists()


def is_put_away(request: HttpRequest) -> bool:
    return request.COOKIES.get(AWAY) == "away"


def guide_for(request: HttpRequest) -> Guide | None:
    """What Today shows of it: nothing once the first reading is there, or where it was put away."""
    if is_put_away(request) or is_over():
        return None
    return guide()
