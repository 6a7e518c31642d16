"""Tags on paper and in photos: draws sheets of labels as PDF, reads codes out of a picture."""

from yard.labels.pdf import labels_pdf
from yard.labels.photo import read_photo
from yard.labels.sheet import SHEETS, Label, LabelError, Sheet, label_printer

__all__ = ["SHEETS", "Label", "LabelError", "Sheet", "label_printer", "labels_pdf", "read_photo"]
