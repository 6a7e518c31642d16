"""Workbooks as nobody's program writes them: with the first sheet's XML put in by hand."""

import io
import re
import zipfile
from collections.abc import Sequence

from openpyxl import Workbook


def workbook(head: Sequence[str], rows: bytes, before: bytes = b"") -> bytes:
    """A workbook with a head of names, then `rows` as raw XML; `before` stands at the sheet's very beginning. It says
    nothing of its size."""
    made = io.BytesIO()
    book = Workbook()
    book.active.append(list(head))
    book.save(made)
    out = io.BytesIO()
    with zipfile.ZipFile(made) as whole, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in whole.namelist():
            content = whole.read(name)
            if name == "xl/worksheets/sheet1.xml":
                content = re.sub(rb"<dimension[^>]*/>", b"", content)
                content = before + content.replace(b"</row>", b"</row>" + rows, 1)
            packed.writestr(name, content)
    return out.getvalue()


def row(number: int, *values: bytes) -> bytes:
    cells = b"".join(
        b'<c r="%s%d"><v>%s</v></c>' % (bytes([65 + at]), number, value) for at, value in enumerate(values)
    )
    return b'<row r="%d">%s</row>' % (number, cells)
