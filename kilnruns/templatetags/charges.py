"""Words and dates about charges and proposals: what wood it is, when it is done, how far it is."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django import template
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from yard.measures.system import imperial
from yard.measures.told import thick
from yard.models.species import DryingGroup

register = template.Library()

FEW_SPECIES = 2
MUCH = 0.2  # of a run's time
SCHEDULE_NOTES: dict[str, Promise] = {
    "capped": gettext_lazy("The table goes hotter than this kiln may; the air keeps the same EMC at the lower heat."),
    "drier_air_withheld": gettext_lazy(
        "The table's last steps are drier than this target needs; air that dry is withheld."
    ),
    "wet_bulb_raised": gettext_lazy("A kiln like this can hardly hold a wet bulb so low; it was raised."),
    "group_schedule": gettext_lazy("No published code for this wood: the mildest of its drying group stands in."),
    "thicker_than_table": gettext_lazy("Thicker than the tables go: watch it closely and take your time."),
    "no_humidifying": gettext_lazy(
        "This kiln can't add moisture: the first steps are as damp as the wood makes them; no conditioning."
    ),
}
LIMITS: dict[str, Promise] = {
    "heater": gettext_lazy("the heater"),
    "vents": gettext_lazy("the vents"),
    "leak": gettext_lazy("leaks"),
}


@register.filter
def wood_of(items: Iterable[Any]) -> str:
    """What is in a load, from its rows with a `.stack`: "Ash 32 mm", "Ash and beech 27 to 32 mm", "4 woods 27 mm"."""
    stacks = [item.stack for item in items]
    species = list(dict.fromkeys(stack.species.name for stack in stacks))
    if not stacks:
        return _("Nothing")
    many = len(species) > FEW_SPECIES
    name = _("%(count)d woods") % {"count": len(species)} if many else _(" and ").join(species)
    return capfirst(f"{name} {_thicknesses(stack.thickness_mm for stack in stacks)}")


def _thicknesses(values: Iterable[float]) -> str:
    found = sorted(set(values))
    if found[0] == found[-1]:
        return thick(found[0])
    low = thick(found[0]) if imperial() else thick(found[0]).rpartition("\u202f")[0]
    return _("%(low)s to %(high)s") % {"low": low, "high": thick(found[-1])}


@register.filter
def group_words(group: str) -> str:
    """The planner's group "softwood@15" as "softwood for 15 %"."""
    name, _at, target = group.partition("@")
    label = dict(DryingGroup.choices).get(name, name)
    return _("%(wood)s for %(target)s %%") % {"wood": label, "target": target} if target else str(label)


@register.filter
def plus_days(day: date, count: float) -> date:
    return day + timedelta(days=int(count))


@register.filter
def weeks(days: int) -> int:
    """Whole weeks of so many days."""
    return days // 7


@register.filter
def as_day(iso: str) -> date:
    """A kept day ("2026-06-19") as a date."""
    return date.fromisoformat(iso)


@register.filter
def days_since(day: date, today: date) -> int:
    """Which day of a run `today` is: its first day is day 1."""
    return (today - day).days + 1


@register.filter
def kiln_named(kilns: dict[str, str], key: Any) -> str:
    return kilns.get(str(key), _("a kiln"))


@register.filter
def note_sentences(notes: Iterable[str]) -> list[str]:
    """What was changed on a published schedule, or can't be held, in sentences."""
    return [str(SCHEDULE_NOTES[code]) for code in notes if code in SCHEDULE_NOTES]


@register.filter
def held_back_by(limits: dict[str, float]) -> str:
    """What besides the schedule ruled much of the run: "the heater and the vents"; empty if nothing."""
    named = [str(words) for name, words in LIMITS.items() if limits.get(name, 0) >= MUCH]
    return _(" and ").join(named)


@register.filter
def loaded(items: Iterable[Any]) -> list[Any]:
    return [item for item in items if item.loaded_at]


@register.filter
def not_loaded(items: Iterable[Any]) -> list[Any]:
    return [item for item in items if not item.loaded_at]


@register.filter
def unloaded(items: Iterable[Any]) -> list[Any]:
    return [item for item in items if item.unloaded_at]


@register.filter
def unsigned(value: float) -> float:
    """How much earlier or later, more or less: the words beside it say which."""
    return abs(value)


@register.filter
def cautions_of(loading: str) -> str:
    """What to be warned of when a kiln is loaded this way, for components/caution.html."""
    handling = "forklift stack" if loading == "pack" else "lifting stack"
    return f"{handling} shut_in heat electricity fire"


@register.filter
def from_moisture(steps: list[dict[str, Any]], wettest_pct: float | None) -> list[dict[str, Any]]:
    """The steps that wood of this moisture still has before it, the one it begins with first; all where not known."""
    if wettest_pct is None:
        return steps
    passed = [index for index, step in enumerate(steps) if step["from_pct"] is None or wettest_pct <= step["from_pct"]]
    return steps[max(passed, default=0) :]
