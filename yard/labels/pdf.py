"""Labels as a PDF file, the symbols as vectors."""

from collections.abc import Sequence
from io import BytesIO
from itertools import groupby

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from yard.labels.arrangement import arrange
from yard.labels.sheet import Box, Label, Sheet
from yard.labels.symbol import QUIET_MODULES, address, modules
from yard.labels.words import PLAIN, draw_words

CUT_MARK_MM = 2.0
NOTE_MM = 2.6


def labels_pdf(labels: Sequence[Label], sheet: Sheet, site: str) -> bytes:
    """The labels on as many pages as they need; the same labels give the same bytes.

    `site` is scheme and host of the address that the symbols hold. LabelError says what to mend.
    """
    out = BytesIO()
    canvas = Canvas(out, pagesize=(sheet.width_mm * mm, sheet.height_mm * mm), invariant=True)
    canvas.setTitle(_("Tags"))
    for start in range(0, len(labels), sheet.labels):
        canvas.scale(mm, mm)
        if sheet.labels > 1:
            _draw_cut_marks(canvas, sheet)
        for cell, label in zip(sheet.cells(), labels[start : start + sheet.labels], strict=False):
            _draw_label(canvas, cell, label, sheet.symbols, site)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw_label(canvas: Canvas, cell: Box, label: Label, symbols: int, site: str) -> None:
    rows = modules(address(label.code, site))
    arrangement = arrange(cell, symbols, len(rows))
    for box in arrangement.symbols:
        draw_symbol(canvas, box, rows, arrangement.module_mm)
    draw_words(canvas, arrangement.words, label, arrangement.stacked)


def draw_symbol(canvas: Canvas, box: Box, rows: list[list[bool]], module_mm: float) -> None:
    """A symbol with its quiet zone, on a canvas in mm. Dark modules as one path, a rectangle for each run in a row, so
    that no seams show between modules."""
    quiet = QUIET_MODULES * module_mm
    path = canvas.beginPath()
    for row, line in enumerate(rows, start=1):
        column = 0
        for dark, run in groupby(line):
            length = len(list(run))
            if dark:
                x, y = box.x + quiet + column * module_mm, box.y + box.height - quiet - row * module_mm
                path.rect(x, y, length * module_mm, module_mm)
            column += length
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_cut_marks(canvas: Canvas, sheet: Sheet) -> None:
    """Ticks in the margins, small crosses inside, and a word on scaling."""
    x, y, width, height = sheet.body
    across = [x + width * column / sheet.columns for column in range(sheet.columns + 1)]
    upwards = [y + height * row / sheet.rows for row in range(sheet.rows + 1)]
    canvas.setLineWidth(0.15)
    for mark_x in across:
        for mark_y in upwards:
            canvas.line(mark_x - CUT_MARK_MM, mark_y, mark_x + CUT_MARK_MM, mark_y)
            canvas.line(mark_x, mark_y - CUT_MARK_MM, mark_x, mark_y + CUT_MARK_MM)
    canvas.setFont(PLAIN, NOTE_MM)
    note = _("Print at 100 %, not fitted to the page. Cut at the crosses. Keep clear of the white round each symbol.")
    canvas.drawCentredString(sheet.width_mm / 2, y - 4.5, note)
