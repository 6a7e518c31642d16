"""Which pieces to measure, where on them, and how deep: EN 13183-1 and -2, and what ISO 2859-1 takes from a lot.

The standards' texts were not at hand. Clauses read in previews say so; depth, distance from the edge, readings a piece
and the numbers from a lot are recalled (`RECALLED`), and every one can be given instead. Of EN 13183-3 (capacitance)
no figure was at hand, so none is used here. mm and %; out-of-range input raises ValueError naming quantity, value and
range.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drying.ranges import FloatArray, within
from drying.tables import rows

RECALLED = "recalled, not re-read: change it where your copy of the standard says otherwise"
DEPTH_SHARE = 0.3  # of the thickness, pins' tips (EN 13183-2 clause 7, recalled)
EDGE_SHARE = 0.3  # of the width, from an edge (EN 13183-2 clause 7, recalled)
END_MM = 300.0  # from an end (EN 13183-1 clause 5, read in a preview; -2 clause 7, recalled)
SLICE_MM = 20.0  # along the grain, at least (EN 13183-1 clause 5, partly obscured in the preview)
METER_RANGE_PCT = (7.0, 30.0)  # resistance meters (EN 13183-2 clause 4, read in a preview)
# Readings a piece by its length, mm (EN 13183-2: 1 to 3 by length, recalled; where the steps lie is our choice).
TWO_READINGS_FROM_MM, THREE_READINGS_FROM_MM = 2000.0, 4000.0


def pin_depth_mm(thickness_mm: ArrayLike) -> FloatArray:
    """How deep insulated pins go, mm, in wood of 10..200 mm: 0.3 x thickness (EN 13183-2 clause 7, recalled).

    There a board that dries shows about its mean; a shallow reading is the shell's, the middle's is the core's.
    """
    return DEPTH_SHARE * within("thickness", thickness_mm, 10, 200, "mm")


def core_depth_mm(thickness_mm: ArrayLike) -> FloatArray:
    """Depth of the core, mm, for a core reading: half the thickness, 10..200 mm (geometry)."""
    return within("thickness", thickness_mm, 10, 200, "mm") / 2


@dataclass(frozen=True, slots=True)
class Point:
    """A place on a board's face: mm from one end, mm from an edge, pins' depth mm."""

    from_end_mm: float
    from_edge_mm: float
    depth_mm: float


def points(length_mm: float, width_mm: float, thickness_mm: float, *, readings: int | None = None) -> tuple[Point, ...]:
    """Where to read a board (100..20000 x 20..1500 x 10..200 mm): spread evenly, 300 mm or more from each end and 0.3
    of the width from an edge, by turns from either (EN 13183-2 clause 7, recalled).

    A board shorter than 600 mm is read once, at mid-length. `readings`, 1..10: by length where it is None (recalled:
    1 to 3; the steps at 2 and 4 m are our choice). Pins along the grain unless the meter's manual asks otherwise.
    """
    length = float(within("length", length_mm, 100, 20_000, "mm"))
    width = float(within("width", width_mm, 20, 1500, "mm"))
    depth = float(pin_depth_mm(thickness_mm))
    if readings is None:
        readings = 1 + (length >= TWO_READINGS_FROM_MM) + (length >= THREE_READINGS_FROM_MM)
    count = int(within("readings a piece", readings, 1, 10, ""))
    if length < 2 * END_MM or count == 1:
        return (Point(length / 2, EDGE_SHARE * width, depth),)
    along = np.linspace(END_MM, length - END_MM, count)
    sides = (EDGE_SHARE * width, (1 - EDGE_SHARE) * width)
    return tuple(Point(float(x), sides[i % 2], depth) for i, x in enumerate(along))


def slice_from_end_mm(length_mm: ArrayLike) -> FloatArray:
    """Where to cut an oven-dry slice, mm from an end: 300, or at mid-length in boards under 600 mm (100..20000 mm).

    EN 13183-1 clause 5, read in a preview: full cross-section, at least 20 mm along the grain, free of knots, bark and
    resin; weighed at once, else sealed and within 2 h.
    """
    return np.minimum(within("length", length_mm, 100, 20_000, "mm") / 2, END_MM)


def pieces_to_measure(lot_pieces: ArrayLike) -> FloatArray:
    """How many pieces to measure from a lot of 1..10000: ISO 2859-1, general inspection level II, normal (recalled).

    EN 14298's 93.5 % is that standard's quality limit of 6.5 % outside (our reading). A lot smaller than its sample is
    measured whole. Drawn at random over all layers. What a sample proves (less than one hopes): `drying.certainty`.
    """
    lot = within("pieces in the lot", lot_pieces, 1, 10_000, "")
    table = rows("inspection_sizes")
    begins = np.array([float(row["lot_from"]) for row in table])
    pieces = np.array([float(row["pieces"]) for row in table])
    return np.minimum(pieces[np.maximum(np.searchsorted(begins, lot, side="right") - 1, 0)], lot)
