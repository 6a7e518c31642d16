"""The name of a wood: kept as the book has it, read in the reader's language.

What is searched, ordered and kept elsewhere is the book's own name (`Species.kept_name`); what was kept so is read by
`told`. A name that somebody gave a wood of their own is theirs, and the same in all languages.
"""

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

BOOK = frozenset({
    _("American basswood"), _("American beech"), _("American elm"), _("American sycamore"), _("Engelmann spruce"),
    _("European ash"), _("European aspen"), _("European beech"), _("European birch"), _("European elm"),
    _("European larch"), _("European oak"), _("European walnut"), _("European-grown Douglas-fir"),
    _("European-grown black locust"), _("Norway spruce"), _("Scots pine"), _("Sitka spruce"), _("baldcypress"),
    _("balsam fir"), _("bigtooth aspen"), _("black ash"), _("black cherry"), _("black tupelo"), _("black walnut"),
    _("black willow"), _("butternut"), _("coast Douglas-fir"), _("common alder"), _("eastern cottonwood"),
    _("eastern hemlock"), _("eastern redcedar"), _("eastern white pine"), _("green ash"), _("hackberry"), _("hornbeam"),
    _("interior north Douglas-fir"), _("lime"), _("loblolly pine"), _("lodgepole pine"), _("longleaf pine"),
    _("mockernut hickory"), _("northern red oak"), _("old-growth redwood"), _("paper birch"), _("pignut hickory"),
    _("ponderosa pine"), _("quaking aspen"), _("red alder"), _("red maple"), _("red pine"), _("red spruce"),
    _("shagbark hickory"), _("shortleaf pine"), _("silver fir"), _("silver maple"), _("sugar maple"), _("sugar pine"),
    _("sweet chestnut"), _("sweetgum"), _("sycamore maple"), _("western hemlock"), _("western larch"),
    _("western redcedar"), _("white ash"), _("white fir"), _("white oak"), _("wild cherry"), _("yellow birch"),
    _("yellow-poplar"), _("young-growth redwood"),
})  # fmt: skip


def told(kept: str) -> str:
    """A name as the book has it, in the reader's language."""
    return gettext(kept) if kept in BOOK else kept


def kept_as(text: str) -> list[str]:
    """The book's names whose told ones hold the text, for a search that knows only what is kept."""
    wanted = text.casefold()
    return [name for name in sorted(BOOK) if wanted in told(name).casefold()]
