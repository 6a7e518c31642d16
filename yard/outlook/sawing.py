"""What to saw: the green size of what is wanted and not in the yard, how many pieces, and which logs that takes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, hypot

from drying import logs
from drying import wood as relations
from yard.models import MillFigures, Need, NeedLine, Sawn, Species, Stack, Unit
from yard.outlook.promises import Wanted
from yard.outlook.serving import Served
from yard.outlook.sharing import short_by_line

LEAST_M3, LEAST_SHARE = 0.005, 0.02  # what is less than both is not worth a log: our own choice
THINNEST_MM, THICKEST_MM = 15, 100  # of a stack


@dataclass(frozen=True, slots=True)
class ToSaw:
    """Green size in whole mm, rounded up, None for a random one, of what is missing: so many pieces (None where widths
    are random), so much green volume. `for_quantity` is that in the line's unit."""

    species: Species
    thickness_mm: int
    width_mm: int | None
    length_mm: int | None
    pieces: int | None
    volume_m3: float
    for_quantity: float


@dataclass(frozen=True, slots=True)
class Logs:
    """So many logs, by their diameter at half their length, and what each measures."""

    count: int
    diameter_mm: float
    length_m: float
    each_m3: float


@dataclass(frozen=True, slots=True)
class SawLine:
    """A need's line of which something is missing in the yard, and what to saw for it."""

    need: Need
    served: Served
    saw: ToSaw

    @property
    def line(self) -> NeedLine:
        return self.served.line

    @property
    def is_part(self) -> bool:
        """Some of the line is served."""
        return self.saw.for_quantity < 0.995 * self.line.quantity


def green_mm(species: Species, finished_mm: float, moisture_pct: float, figures: MillFigures, across: bool) -> int:
    """The size to saw, in whole mm, for a finished one that is planed on both sides; `across`: a width."""
    total = shrinkage_pct(species, figures.sawn, across=across)
    return _up(float(relations.sawing_size_mm(finished_mm, total, moisture_pct, figures.planing_mm)))


def shrinkage_pct(species: Species, sawn: str, *, across: bool) -> float:
    """To oven-dry, of a board's thickness or its width, by how it is sawn; for a wood whose figures are known."""
    radial, tangential = species.shrinkage_radial_pct or 0.0, species.shrinkage_tangential_pct or 0.0
    if sawn == Sawn.ANY:
        return max(radial, tangential)
    grain: relations.Grain = "flat" if sawn == Sawn.FLAT else "quarter" if sawn == Sawn.QUARTER else "mixed"
    return float(relations.grain_shrinkage_pct(radial, tangential, grain, "width" if across else "thickness"))


def to_saw(need: Need, line: NeedLine, missing_share: float, figures: MillFigures) -> ToSaw | None:
    """What to saw for a share of a line, in its first wood; None where the book has no shrinkage for that."""
    wood = next(iter(line.species.all()), None)
    if wood is None or wood.shrinkage_tangential_pct is None or wood.shrinkage_radial_pct is None:
        return None
    thickness = green_mm(wood, line.thickness_mm, need.target_pct, figures, across=False)
    width = (
        green_mm(wood, _strip(line.width_mm, figures), need.target_pct, figures, across=True) if line.width_mm else None
    )
    quantity = min(max(missing_share, 0.0), 1.0) * line.quantity
    length, pieces = _boards(line, quantity, figures)
    sawn_m3 = line.volume_m3 * quantity / line.quantity
    if line.unit == Unit.CUBIC_METRES:
        return ToSaw(wood, thickness, width, length, None, sawn_m3, quantity)
    if pieces is None or width is None or length is None:
        return ToSaw(wood, thickness, width, length, None, sawn_m3 / figures.cut_yield, quantity)
    whole = float(pieces) if line.unit == Unit.PIECES else quantity
    return ToSaw(wood, thickness, width, length, pieces, pieces * length * width * thickness / 1e9, whole)


def _strip(width_mm: int, figures: MillFigures) -> float:
    """A width that is a strip of whole mm before its edges are planed, as cut plans have it."""
    return _up(width_mm + 2 * figures.planing_mm) - 2 * figures.planing_mm


def _boards(line: NeedLine, quantity: float, figures: MillFigures) -> tuple[int | None, int | None]:
    """Length with what is trimmed off, and how many: pieces one by one, metres in boards as long as the usual log."""
    if line.unit == Unit.PIECES and line.length_mm:
        return line.length_mm + figures.trim_mm, _up(quantity)
    if line.unit == Unit.METRES:
        whole = line.length_mm + figures.trim_mm if line.length_mm else round(figures.log_length_m * 1000)
        used = max(whole - figures.trim_mm, 1)
        return whole, _up(1000 * quantity / used)
    return (line.length_mm + figures.trim_mm if line.length_mm else None), None


def logs_for(saw: ToSaw, diameter_mm: float, length_m: float, yield_share: float) -> Logs:
    """How many logs give what is to be sawn: cut to hold whole pieces end to end where they have a length, and at
    least as thick as one board's diagonal."""
    if saw.length_mm:
        each = saw.length_mm / 1000
        length_m = _up(10 * each * max(floor(length_m / each + 1e-9), 1)) / 10
    if saw.width_mm:
        diameter_mm = max(diameter_mm, 10 * _up(hypot(saw.width_mm, saw.thickness_mm) / 10))
    count = logs.logs_for(saw.volume_m3, diameter_mm, length_m, yield_share)
    return Logs(count, diameter_mm, length_m, float(logs.huber_m3(diameter_mm, length_m)))


def saw_lines(wanted: Sequence[Wanted], on: date, figures: MillFigures) -> list[SawLine]:
    """What is missing when all open needs share what is free, so that no wood is counted twice; what nobody can say a
    green size of is left out."""
    short = short_by_line(wanted, on)
    found = []
    for one in wanted:
        for served in one.lines:
            missing_m3 = short[served.line.pk]
            share = missing_m3 / served.green_m3
            if missing_m3 < LEAST_M3 and share < LEAST_SHARE:
                continue
            saw = to_saw(one.need, served.line, share, figures)
            if saw and THINNEST_MM <= saw.thickness_mm <= THICKEST_MM:
                found.append(SawLine(one.need, served, saw))
    return found


@dataclass(frozen=True, slots=True)
class SawnPart:
    """What of a stack that was sawn for a line is kept for it: green volume, and how much of the line that is where the
    boards are of its size (0: they are cut to size later)."""

    volume_m3: float
    quantity: float


def sawn_part(stack: Stack, served: Served) -> SawnPart | None:
    """As much as the line still lacks; None where it is of another wood, surely too thin, or nothing is lacking."""
    line, figures = served.line, served.figures
    if not _may_measure_up(stack, line, figures) or served.lacking_m3 <= 0 or stack.volume_m3 <= 0:
        return None
    held = _quantity_in(stack, line, figures)
    if not held:
        return SawnPart(min(stack.volume_m3, served.lacking_m3), 0.0)
    lacking = line.quantity * served.lacking_m3 / served.green_m3
    used = min(held, float(_up(lacking)) if line.unit == Unit.PIECES else lacking)
    return SawnPart(stack.volume_m3 * used / held, used)


def _may_measure_up(stack: Stack, line: NeedLine, figures: MillFigures) -> bool:
    """Of the line's wood, and thick enough when dry if it shrinks as little as it can: by which grain it was sawn,
    nobody noted."""
    if stack.species_id not in {one.pk for one in line.species.all()}:
        return False
    dry = float(relations.shrunk_mm(stack.thickness_mm, _least_pct(stack.species), line.need.target_pct))
    return dry - 2 * figures.planing_mm >= line.thickness_mm


def _quantity_in(stack: Stack, line: NeedLine, figures: MillFigures) -> float:
    """How much of a line, in its unit, boards sawn to its width hold, crosscut alone; 0 for a line of random widths."""
    if line.unit not in (Unit.PIECES, Unit.METRES) or not line.width_mm:
        return 0.0
    least, wide = _least_pct(stack.species), line.width_mm + 2 * figures.planing_mm
    boards = [
        (one.length_mm, one.count)
        for one in stack.lines.all()
        if float(relations.shrunk_mm(one.width_mm, least, line.need.target_pct)) >= wide
    ]
    if line.unit == Unit.METRES:
        return sum(count * max(length - figures.trim_mm, 0) for length, count in boards) / 1000
    return float(sum(count * _pieces_in(length, line.length_mm or 1, figures) for length, count in boards))


def _least_pct(species: Species) -> float:
    return min(species.shrinkage_radial_pct or 0.0, species.shrinkage_tangential_pct or 0.0)


def _pieces_in(board_mm: int, piece_mm: int, figures: MillFigures) -> int:
    return max(board_mm - figures.trim_mm + figures.kerf_mm, 0) // (piece_mm + figures.kerf_mm)


def _up(size: float) -> int:
    return ceil(size - 1e-6)
