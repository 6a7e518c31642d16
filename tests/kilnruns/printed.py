"""What stands on a printed page: each piece of text with the size of its type in points."""

import io
import re
from collections import Counter
from math import hypot
from typing import Any

from pypdf import PdfReader


def pages(pdf: bytes) -> int:
    return len(PdfReader(io.BytesIO(pdf)).pages)


def texts(pdf: bytes) -> list[tuple[str, float]]:
    """Each run of text and its size as it stands on the paper, whatever the drawing that it is in was scaled by."""
    found: list[tuple[str, float]] = []

    def note(text: str, cm: Any, tm: Any, _font: Any, size: float) -> None:
        if text.strip():
            across = (tm[0] * cm[0] + tm[1] * cm[2], tm[0] * cm[1] + tm[1] * cm[3])
            found.append((text.strip(), size * hypot(*across)))

    for page in PdfReader(io.BytesIO(pdf)).pages:
        page.extract_text(visitor_text=note)
    return found


def smallest_pt(pdf: bytes) -> float:
    return min(size for _text, size in texts(pdf))


def sizes(pdf: bytes) -> dict[float, int]:
    """How many runs of text there are of each size, to the tenth of a point."""
    return dict(sorted(Counter(round(size, 1) for _text, size in texts(pdf)).items()))


def words(pdf: bytes) -> str:
    """All that is written, with single spaces."""
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return re.sub(r"\s+", " ", text.replace("\u202f", " "))
