"""A tag's QR symbol: the address it holds and its modules."""

import re
from typing import Any

import qrcode
from django.utils.translation import gettext as _
from qrcode.util import MODE_ALPHA_NUM, QRData

from yard.labels.sheet import LabelError

QUIET_MODULES = 4
"""Light modules all round, as ISO/IEC 18004 asks."""

_SITE = re.compile(r"HTTPS?://[A-Z0-9.-]+(:[0-9]+)?")


def address(code: str, site: str, path: str = "T") -> str:
    """`HTTPS://HOST/T/CODE`, all capitals, since lower case would leave QR's alphanumeric mode and cost a version.

    `site` is scheme and host, with a port if need be: https://yard.example; anything else is a LabelError.
    """
    capitals = site.strip().upper().rstrip("/")
    if not _SITE.fullmatch(capitals):
        message = _("Tags can't bear the address %(site)s: write it like https://yard.example, with nothing after it.")
        raise LabelError(message % {"site": site})
    return f"{capitals}/{path}/{code}"


def modules(text: str) -> list[list[bool]]:
    """The symbol of an alphanumeric text at level H, as rows of modules from the top; True is dark. No quiet zone."""
    symbol = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_H, border=0)
    symbol.add_data(QRData(text, mode=MODE_ALPHA_NUM))
    symbol.make()
    return symbol.get_matrix()


def screen_path(text: str) -> dict[str, Any]:
    """A symbol of any text for a screen, level M, with its quiet zone: `size` in modules, `path` of an SVG, dark."""
    symbol = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_M, border=QUIET_MODULES)
    symbol.add_data(text)
    symbol.make()
    rows = symbol.get_matrix()
    dark = (f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, is_dark in enumerate(row) if is_dark)
    return {"size": len(rows), "path": "".join(dark)}
