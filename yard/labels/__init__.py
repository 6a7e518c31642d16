"""Tags on paper and in photos: draws sheets of labels as PDF, reads codes out of a picture.

Other papers are drawn with the same parts: the symbol, the embedded fonts and what can be printed in them.
"""

from yard.labels.pdf import draw_symbol, labels_pdf
from yard.labels.photo import read_photo
from yard.labels.sheet import SHEETS, Box, Label, LabelError, Sheet, label_printer
from yard.labels.symbol import QUIET_MODULES, address, modules
from yard.labels.words import BOLD, PLAIN, printable

__all__ = [
    "BOLD",
    "PLAIN",
    "QUIET_MODULES",
    "SHEETS",
    "Box",
    "Label",
    "LabelError",
    "Sheet",
    "address",
    "draw_symbol",
    "label_printer",
    "labels_pdf",
    "modules",
    "printable",
    "read_photo",
]
