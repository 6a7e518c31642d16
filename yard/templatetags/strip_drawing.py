"""Where things go on the moisture strip: one scale for every moisture figure, fine below fibre saturation."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from yard.templatetags.amounts import number, pct, pct_band, pct_decimals, pct_short

WIDTH, LEFT, RIGHT = 328.0, 8.0, 320.0
# The scale bends near fibre saturation (about 30 %): what is decided in the yard lies below it.
BEND_PCT, TOP_PCT = 30.0, 120.0
BEND = 212.0
LABEL_ROOM = 30.0


def x_of(moisture_pct: float) -> float:
    """Place of a moisture (%) on the scale, held at its ends."""
    if moisture_pct <= BEND_PCT:
        return LEFT + (BEND - LEFT) * max(moisture_pct, 0.0) / BEND_PCT
    return BEND + (RIGHT - BEND) * (min(moisture_pct, TOP_PCT) - BEND_PCT) / (TOP_PCT - BEND_PCT)


def state(moisture_pct: float | None, target_pct: float | None) -> str:
    """'ready' at or below the target, 'wet' above about 30 %, 'dry' (drying) between; empty when not known."""
    if moisture_pct is None:
        return ""
    if target_pct is not None and moisture_pct <= target_pct:
        return "ready"
    return "wet" if moisture_pct > BEND_PCT else "dry"


@dataclass(frozen=True, slots=True)
class Label:
    """A word under or over the strip: where, what, and from which side it is set."""

    x: str
    text: str
    anchor: str = "middle"


def at(moisture_pct: float | None) -> str:
    """The place as an attribute of SVG, never in the locale's digits; empty when there is none."""
    return "" if moisture_pct is None else f"{x_of(moisture_pct):.1f}"


def label(moisture_pct: float, text: str) -> Label:
    """A label centred on its place, but set inward near the ends."""
    x = x_of(moisture_pct)
    if x < LEFT + 2 * LABEL_ROOM:
        return Label(f"{max(x - 4, 0):.1f}", text, "start")
    if x > RIGHT - 2 * LABEL_ROOM:
        return Label(f"{min(x + 4, WIDTH):.1f}", text, "end")
    return Label(f"{x:.1f}", text)


def axis_labels(target_pct: float | None) -> list[Label]:
    """The scale's own figures, but none where the target's label stands."""
    taken = None if target_pct is None else x_of(target_pct)
    free = [m for m in (10, 20, 30) if taken is None or abs(x_of(m) - taken) > LABEL_ROOM]
    labels = [Label(at(m), str(m)) for m in free]
    if taken is None or RIGHT - taken > 3 * LABEL_ROOM:
        labels.append(Label(f"{WIDTH:.0f}", pct(TOP_PCT), "end"))
    return labels


def bare(moisture_pct: float) -> str:
    """A figure for a label that stands on the scale of per cent: "20", "7.5"."""
    whole = float(moisture_pct).is_integer()
    return number(moisture_pct, 0 if whole else pct_decimals(moisture_pct))


def in_words(
    now: float | None, low: float | None, high: float | None, target: float | None, place: float | None
) -> str:
    """What the drawing says, for whoever can't see it."""
    parts = [_("moisture not known yet") if now is None else _("%(now)s moisture") % {"now": pct(now)}]
    if low is not None and high is not None:
        parts.append(pct_band(low, high))
    if target is not None:
        parts.append(_("target %(target)s") % {"target": pct_short(target)})
    if place is not None:
        parts.append(_("the air here allows %(place)s") % {"place": pct_short(place)})
    return "; ".join(parts)


def draw(
    now: float | None, low: float | None, high: float | None, target: float | None, place: float | None, labels: bool
) -> dict[str, object]:
    """Everything that components/strip.html needs, places as text."""
    return {
        "state": state(now, target),
        "words": in_words(now, low, high, target, place),
        "now": at(now),
        "low": at(low),
        "high": at(high),
        "target": at(target),
        "place": at(place),
        "marks": [at(m) for m in (10, 20, 30)],
        "labels": labels,
        "axis": axis_labels(target),
        "target_label": None if target is None else label(target, _("to %(target)s") % {"target": bare(target)}),
        "place_label": None if place is None else label(place, _("air allows %(place)s") % {"place": bare(place)}),
    }
