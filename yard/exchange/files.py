"""Files of rows: CSV and XLSX, written by tablib, read within bounds. What is no table is refused in words."""

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from typing import Any

import tablib
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from yard.exchange.cells import guarded, text_of
from yard.exchange.columns import Column

LARGEST_BYTES = 5 * 1024 * 1024
LARGEST_UNPACKED = 30 * 1024 * 1024
MOST_ROWS, MOST_COLUMNS = 5000, 60
MOST_LINES, LAST_LINE = 2 * MOST_ROWS, 20 * MOST_ROWS
"""A workbook's filled lines end by the first, its empty ones by the second."""
TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_ZIP, _CONTROL = b"PK\x03\x04", re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")

Rows = list[tuple[int, dict[str, str]]]
"""Each row with its number in the file, cells by column."""


def written(columns: Sequence[Column], rows: Iterable[Sequence[Any]], form: str) -> bytes:
    """The rows as a file. A text that a spreadsheet might run gets an apostrophe before it."""
    made = tablib.Dataset(headers=[column.name for column in columns], title="Drystack")
    for row in rows:
        made.append([guarded(_CONTROL.sub("", cell)) if isinstance(cell, str) else cell for cell in row])
    if form == "xlsx":
        content: bytes = made.export("xlsx", escape=False)
        return content
    text: str = made.export("csv", lineterminator="\r\n")
    return text.encode("utf-8-sig")


def read(content: bytes, columns: Sequence[Column]) -> Rows:
    """The rows of a file. Raises ValidationError that says what is wrong with the whole of it."""
    grid = _workbook(content) if content.startswith(_ZIP) else _text(content)
    filled = [(number, row) for number, row in enumerate(grid, start=1) if any(cell.strip() for cell in row)]
    if not filled:
        raise ValidationError(_("This file holds no rows."))
    (_number, head), *body = filled
    if len(body) > MOST_ROWS:
        raise ValidationError(_("More than %(most)d rows: send them in parts."), params={"most": MOST_ROWS})
    names = _names(head, columns)
    return [(number, _named(names, row)) for number, row in body]


def _named(names: Sequence[str], row: Sequence[str]) -> dict[str, str]:
    return {name: cell.strip() for name, cell in zip(names, [*row, *[""] * len(names)], strict=False) if name}


def _names(head: Sequence[str], columns: Sequence[Column]) -> list[str]:
    """The columns in the order of the file: "Thickness (mm)" is thickness_mm."""
    known = {column.name for column in columns}
    found = [re.sub(r"[^a-z0-9]+", "_", cell.lower().replace("%", "pct").replace("³", "3")).strip("_") for cell in head]
    foreign = [cell for cell, name in zip(head, found, strict=True) if name and name not in known]
    if foreign:
        shown = {"name": foreign[0][:40], "known": ", ".join(column.name for column in columns)}
        raise ValidationError(_("The first row names a column “%(name)s”; known are: %(known)s.") % shown)
    twice = next((name for name in found if name and found.count(name) > 1), "")
    if twice:
        raise ValidationError(_("The column %(name)s stands there twice.") % {"name": twice})
    missing = [column.name for column in columns if column.required and column.name not in found]
    if missing:
        raise ValidationError(_("The first row lacks: %(names)s.") % {"names": ", ".join(missing)})
    return found


def _text(content: bytes) -> list[list[str]]:
    text = _decoded(content)
    if "\x00" in text:
        raise ValidationError(_("This is no table: send a CSV file or an XLSX workbook."))
    first = text.split("\n", 1)[0]
    mark = max(";\t,", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))
    except csv.Error as error:
        raise ValidationError(_("This file can't be read as CSV; is a quotation mark left open?")) from error
    return [[text_of(cell) for cell in row] for row in rows]


def _decoded(content: bytes) -> str:
    """UTF-8, UTF-16 with its mark, else the Windows alphabet of western Europe."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", "replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def _workbook(content: bytes) -> list[list[str]]:
    """Rows and columns beyond what is taken are not kept: a file of 10 KB can name a million."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            size = sum(part.file_size for part in packed.infolist())
        if size > LARGEST_UNPACKED:
            raise ValidationError(_("Unpacked, this workbook is too large: send it in parts."))
        found = _cells(content)
    except ValidationError:
        raise
    except Exception as error:  # whatever a broken workbook makes its reader stumble over
        raise ValidationError(_("This workbook can't be read: save it anew as XLSX or CSV.")) from error
    if any(row[MOST_COLUMNS:] for row in found):
        raise ValidationError(_("This workbook has more than %(most)d columns.") % {"most": MOST_COLUMNS})
    return found


def _cells(content: bytes) -> list[list[str]]:
    """The first sheet's cells as text, without empty ones at a row's end, up to the last line that may be filled."""
    from openpyxl import load_workbook  # a tenth of a second, which few processes need

    book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    sheet = book.active
    sheet.reset_dimensions()  # what the file says of its own size need not be so
    found = []
    for line, row in enumerate(sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS + 1), start=1):
        if line <= MOST_LINES:
            found.append(_trimmed([text_of(cell) for cell in row]))
        elif line > LAST_LINE or any(cell is not None for cell in row):
            raise ValidationError(_("More than %(most)d rows: send them in parts."), params={"most": MOST_ROWS})
    return found


def _trimmed(row: list[str]) -> list[str]:
    while row and not row[-1].strip():
        row.pop()
    return row
