"""What a line of a need must say for the unit that it is counted in."""

from typing import Any

from django.utils.translation import gettext as _

from yard.models import Unit


def line_faults(given: dict[str, Any]) -> list[tuple[str, str]]:
    """What a line's unit asks for and does not get: (field, what is wrong). A size that is not in `given` was bad."""
    unit, width, length = given.get("unit"), given.get("width_mm"), given.get("length_mm")
    found = []
    if unit == Unit.PIECES and not width and "width_mm" in given:
        found.append(("width_mm", _("Pieces need their width. Or count in m² or m³.")))
    if unit == Unit.PIECES and not length and "length_mm" in given:
        found.append(("length_mm", _("Pieces need their length. Or count in m, m² or m³.")))
    if unit == Unit.METRES and not width and "width_mm" in given:
        found.append(("width_mm", _("Metres need a width. Or count in m² or m³.")))
    if unit == Unit.PIECES and given.get("quantity") and not float(given["quantity"]).is_integer():
        found.append(("quantity", _("Give a whole number of pieces.")))
    return found
