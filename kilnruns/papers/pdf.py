"""A paper as a PDF of one page, its fonts embedded, its symbol as vectors."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from io import BytesIO
from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext as _
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, Spacer, Table

from kilnruns.papers.sheet import Section, Told
from yard.labels import BOLD, PLAIN, QUIET_MODULES, Box, draw_symbol, modules, printable

PAGES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN_MM, SYMBOL_MM = 12.0, 34.0
LARGEST_PT, TABLES_TO_PT, SMALLEST_PT, LEAST_PT, STEP_PT = 10.0, 8.0, 7.0, 4.0, 0.25
LABEL_SHARE = 0.24  # of the width, for what a line is about
SIGNING_MM = 11.0


class PaperFullError(ValueError):
    """What is stated does not fit one page in a type that can be read."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """The address that a paper's symbol holds, and the same as people read it."""

    address: str
    words: tuple[str, ...]


def paper_pdf(told: Told, paper: str, symbol: Symbol | None = None, least_pt: float = LEAST_PT) -> bytes:
    """One page on the mill's paper, "a4" or "letter"; the same paper gives the same bytes. In tables as large as fits,
    from 10 to 8 points; where that is too much, run on, down to `least_pt`. PaperFullError where even that is."""
    width, height = (side * mm for side in PAGES_MM.get(paper, PAGES_MM["a4"]))
    inner, room = width - 2 * MARGIN_MM * mm, height - 2 * MARGIN_MM * mm
    for size, runs_on in _ways(least_pt):
        flowables = _story(told, size, inner, symbol, runs_on)
        heights = [one.wrap(inner, room)[1] for one in flowables]
        if sum(heights) <= room:
            return _drawn(told, flowables, heights, (width, height))
    raise PaperFullError(_("That is more than one page holds. Make two papers, or state less."))


def _ways(least_pt: float) -> Iterator[tuple[float, bool]]:
    for runs_on, last in ((False, TABLES_TO_PT), (True, least_pt)):
        for step in range(int((LARGEST_PT - last) / STEP_PT) + 1):
            yield LARGEST_PT - step * STEP_PT, runs_on


def check_fits(told: Told, symbol: Symbol) -> None:
    """Raise PaperFullError unless it fits either paper, with its symbol, in 7 points or more."""
    for paper in PAGES_MM:
        paper_pdf(told, paper, symbol, SMALLEST_PT)


def _drawn(told: Told, flowables: list[Flowable], heights: list[float], page: tuple[float, float]) -> bytes:
    out = BytesIO()
    canvas = Canvas(out, pagesize=page, invariant=True, lang=get_language() or "en")
    canvas.setTitle(printable(f"{told.title}, {told.mill}" if told.mill else told.title))
    canvas.setSubject(printable(told.issued))
    canvas.setViewerPreference("DisplayDocTitle", "true")
    y = page[1] - MARGIN_MM * mm
    for flowable, tall in zip(flowables, heights, strict=True):
        y -= tall
        flowable.drawOn(canvas, MARGIN_MM * mm, y)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _style(size: float, bold: bool = False, **more: float) -> ParagraphStyle:
    return ParagraphStyle("", fontName=BOLD if bold else PLAIN, fontSize=size, leading=1.28 * size, **more)


def _words(text: str, size: float, bold: bool = False, **more: float) -> Paragraph:
    return Paragraph("<br/>".join(_safe(line) for line in text.split("\n")), _style(size, bold, **more))


def _small(size: float) -> float:
    """Smaller than the rest, but never too small to be read as long as the rest is not."""
    return min(max(0.88 * size, SMALLEST_PT), size)


def _safe(text: str) -> str:
    """As a paragraph takes it: nothing in it is markup."""
    return escape(printable(text), quote=False)


def _story(told: Told, size: float, width: float, symbol: Symbol | None, runs_on: bool) -> list[Flowable]:
    story = [_head(told, size, width, symbol), Spacer(1, 0.6 * size)]
    if told.withdrawn:
        story += [_words(told.withdrawn, 1.3 * size, True), Spacer(1, 0.6 * size)]
    for section in told.sections:
        story += [_run_on(section, size) if runs_on else _section(section, size, width), Spacer(1, 0.6 * size)]
    if told.total:
        story += [_words(told.total, 1.1 * size, True), Spacer(1, 0.7 * size)]
    if told.note:
        story += [_words(told.note, size), Spacer(1, 0.7 * size)]
    story += [_words(limit, _small(size)) for limit in told.limits]
    story.append(_signing(told.signatures, size, width))
    story.append(_words(_("Comparing mark: %(mark)s") % {"mark": told.mark}, _small(size)))
    return story


def _head(told: Told, size: float, width: float, symbol: Symbol | None) -> Flowable:
    left: list[Flowable] = [
        _words(told.mill, 1.1 * size),
        _words(told.title, 2 * size, True),
        _words(told.issued, size),
        Spacer(1, 0.8 * size),
    ]
    if told.to:
        left += [_words(_("To"), _small(size)), _words("\n".join(told.to), 1.1 * size)]
    if symbol is None:
        return _table([[left]], [width])
    side = SYMBOL_MM * mm
    right = [_SymbolDrawing(symbol, side), *(_words(line, min(size, SMALLEST_PT)) for line in symbol.words)]
    return _table([[left, right]], [width - 1.5 * side, 1.5 * side])


def _section(section: Section, size: float, width: float) -> Flowable:
    rows = [[_words(section.heading, 1.1 * size, True), ""]]
    rows += [[_words(line.label, size), _words(line.value, size, line.strong)] for line in section.lines]
    label = LABEL_SHARE * width
    pad = 0.14 * size
    style = [("SPAN", (0, 0), (1, 0)), ("LINEBELOW", (0, 0), (-1, 0), 0.8, "black")]
    style += [("LINEBELOW", (0, 1), (-1, -1), 0.25, "grey")]
    return _table(rows, [label, width - label], style, pad)


def _run_on(section: Section, size: float) -> Flowable:
    """The same in one paragraph, for many packs."""
    lines = [f"{_bold(line.label)} {_bold(line.value) if line.strong else _safe(line.value)}" for line in section.lines]
    heading = f'<font name="{BOLD}" size="{1.1 * size}">{_safe(section.heading)}</font>'
    return Paragraph(f"{heading}<br/>{' · '.join(lines)}", _style(size))


def _bold(text: str) -> str:
    return f'<font name="{BOLD}">{_safe(text)}</font>'


def _signing(signatures: tuple[str, ...], size: float, width: float) -> Flowable:
    """A line to sign on for each, side by side, its words under it."""
    column, gap = width / len(signatures), 2 * size
    drawn = [_Line(column - gap, SIGNING_MM * mm) for _one in signatures]
    under = [_words(words, _small(size)) for words in signatures]
    return _table([drawn, under], [column] * len(signatures))


def _table(rows: Sequence[Sequence[Any]], widths: list[float], style: Sequence[Any] = (), pad: float = 0) -> Table:
    sides = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT")]
    ends = [(f"{side}PADDING", (0, 0), (-1, -1), pad) for side in ("TOP", "BOTTOM")]
    return Table(rows, widths, None, [("VALIGN", (0, 0), (-1, -1), "TOP"), *sides, *ends, *style])


class _Line(Flowable):
    """A line to write on, with room above it."""

    def __init__(self, width: float, height: float) -> None:
        super().__init__()
        self.width, self.height = width, height

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(0.6)
        self.canv.line(0, 2, self.width, 2)


class _SymbolDrawing(Flowable):
    """The QR symbol with its quiet zone, in a square."""

    def __init__(self, symbol: Symbol, side: float) -> None:
        super().__init__()
        self.rows, self.width, self.height = modules(symbol.address), side, side

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        side = self.width / mm
        self.canv.saveState()
        self.canv.scale(mm, mm)
        draw_symbol(self.canv, Box(0, 0, side, side), self.rows, side / (len(self.rows) + 2 * QUIET_MODULES))
        self.canv.restoreState()
