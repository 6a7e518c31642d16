"""The words on a label: its code in large print, and what the tag hangs on or lines to write that on."""

import unicodedata
from math import ceil

from django.utils.translation import gettext as _
from reportlab.pdfbase.pdfmetrics import getFont, registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from yard.labels.sheet import Box, Label
from yard.models.tagcode import groups

PLAIN, BOLD = "Vera", "VeraBd"  # come with reportlab and are embedded, so that every printer draws the same
CAPITAL = 0.73  # height of a capital in these fonts, in ems
LARGEST_CODE_MM, LARGEST_WORDS_MM, SMALLEST_WORDS_MM, FIELD_NAME_MM = 17.0, 6.5, 1.8, 2.6
WRITING_ROW_MM, WRITING_WIDTH_MM = 6.0, 38.0  # what a carpenter's pencil needs
GAP_EM, BELOW_EM = 0.4, 0.34  # between the code's groups; beneath them, where J and Q reach down
BETWEEN_WORDS = " · "

for _name in (PLAIN, BOLD):
    registerFont(TTFont(_name, f"{_name}.ttf"))


def draw_words(canvas: Canvas, box: Box, label: Label, stacked: bool) -> None:
    """Code above, words or lines beneath it, in a box in mm."""
    box = box.inset(min(1.0, 0.06 * box.height))
    used = _draw_code_rows(canvas, box, label.code) if stacked else _draw_code(canvas, box, label.code)
    rest = Box(box.x, box.y, box.width, box.height - used)
    if label.words:
        _draw_lines(canvas, rest, label.words)
    else:
        _draw_fields(canvas, rest)


def printable(text: str) -> str:
    """The text in what the font has: letters it lacks lose their accents, or become a question mark."""
    known = getFont(PLAIN).face.charToGlyph
    bare = (c if ord(c) in known else unicodedata.normalize("NFKD", c)[0] for c in text)
    return "".join(c if ord(c) in known else "?" for c in bare)


def _draw_code(canvas: Canvas, box: Box, code: str) -> float:
    """The code in one row across the top of the box; returns the height used."""
    parts = groups(code)
    ems = sum(stringWidth(part, BOLD, 1) for part in parts) + GAP_EM * (len(parts) - 1)
    size = min(LARGEST_CODE_MM, box.width / ems, 0.38 * box.height / CAPITAL)
    canvas.setFont(BOLD, size)
    x, baseline = box.x + (box.width - ems * size) / 2, box.y + box.height - CAPITAL * size
    for part in parts:
        canvas.drawString(x, baseline, part)
        x += stringWidth(part, BOLD, size) + GAP_EM * size
    return (CAPITAL + BELOW_EM) * size


def _draw_code_rows(canvas: Canvas, box: Box, code: str) -> float:
    """The code's groups one beneath the other at the top of a narrow box; returns the height used."""
    parts = groups(code)
    ems = max(stringWidth(part, BOLD, 1) for part in parts)
    pitch = CAPITAL + BELOW_EM
    size = min(LARGEST_CODE_MM, box.width / ems, 0.65 * box.height / (pitch * len(parts)))
    canvas.setFont(BOLD, size)
    for row, part in enumerate(parts):
        baseline = box.y + box.height - (row * pitch + CAPITAL) * size
        canvas.drawCentredString(box.x + box.width / 2, baseline, part)
    return pitch * len(parts) * size


def _draw_lines(canvas: Canvas, box: Box, words: tuple[str, ...]) -> None:
    """The words in as many rows as let them be largest; a row is cut short with dots where it still can't fit."""
    choices = [_rows(words, per_row) for per_row in range(1, len(words) + 1)]
    rows = max(choices, key=lambda rows: _row_size(box, rows))
    size = max(SMALLEST_WORDS_MM, _row_size(box, rows))
    pitch = box.height / len(rows)
    canvas.setFont(PLAIN, size)
    for row, line in enumerate(rows):
        baseline = box.y + box.height - (row + 0.5) * pitch - 0.5 * CAPITAL * size
        canvas.drawCentredString(box.x + box.width / 2, baseline, _cut_short(line, size, box.width))


def _rows(words: tuple[str, ...], per_row: int) -> list[str]:
    known = [printable(word) for word in words]
    return [BETWEEN_WORDS.join(known[start : start + per_row]) for start in range(0, len(known), per_row)]


def _row_size(box: Box, rows: list[str]) -> float:
    """Size at which all rows fit the box, in mm."""
    widest = max(stringWidth(row, PLAIN, 1) for row in rows)
    return min(LARGEST_WORDS_MM, 0.75 * box.height / len(rows), box.width / max(widest, 1e-6))


def _cut_short(line: str, size: float, width: float) -> str:
    if stringWidth(line, PLAIN, size) <= width * 1.001:
        return line
    kept = line
    while kept and stringWidth(f"{kept}…", PLAIN, size) > width:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


def _draw_fields(canvas: Canvas, box: Box) -> None:
    """Lines to write on, each with its name small at the left; as many as have room, none where a hand has none."""
    names = [_("Species"), _("Cut on"), _("Thickness")]
    rows = min(len(names), int(box.height // WRITING_ROW_MM))
    columns = max(1, min(int(box.width // WRITING_WIDTH_MM), ceil(len(names) / max(rows, 1))))
    for index, name in enumerate(names[: rows * columns]):
        row, column = divmod(index, columns)
        width = box.width / columns
        left, right = box.x + column * width, box.x + (column + 1) * width
        baseline = box.y + box.height - (row + 1) * box.height / rows + 1.0
        canvas.setFont(PLAIN, FIELD_NAME_MM)
        canvas.drawString(left, baseline, name)
        start = left + stringWidth(f"{name} ", PLAIN, FIELD_NAME_MM)
        canvas.setLineWidth(0.2)
        canvas.line(start, baseline - 0.4, right - (1.5 if column + 1 < columns else 0), baseline - 0.4)
