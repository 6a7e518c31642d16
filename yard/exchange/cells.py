"""A cell as text, and as what it means: decimal commas, days of a workbook, formulas that must stay text."""

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import tidy

_RISKY = "=+-@\t\r"
"""What a spreadsheet may take for the start of a formula."""
_DAY_ZERO = datetime(1899, 12, 30)  # of the serial days of workbooks, from March 1900 on
_LINE = re.compile(r"(\d{1,9})\s*[x×*]\s*(\d{1,9})\s*[x×*]\s*(\d{1,9})", re.IGNORECASE)


def guarded(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet could run it; `unguarded` takes it off again."""
    return f"'{text}" if text[:1] and text[0] in _RISKY + "'" else text


def unguarded(text: str) -> str:
    return text[1:] if text[:1] == "'" and text[1:2] and text[1] in _RISKY + "'" else text


def number_text(number: float) -> str:
    """A number in the fewest digits that give it back exactly."""
    return str(int(number)) if float(number).is_integer() else repr(float(number))


def text_of(cell: Any) -> str:
    """What stands in a file's cell, as one would have typed it."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return (cell.date() if cell.time() == datetime.min.time() else cell).isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return number_text(cell)
    return unguarded(str(cell).replace("\r\n", "\n"))


def _serial(text: str) -> datetime | None:
    """A workbook's day number, between 1950 and 2100."""
    found = re.fullmatch(r"\d{5}(\.\d+)?", tidy(text))
    days = float(tidy(text)) if found else 0
    return _DAY_ZERO + timedelta(days=days) if 18264 <= days <= 73415 else None


class DayField(forms.DateField):
    """2026-05-03, 3.5.2026, or a workbook's own number of the day."""

    default_error_messages = {"invalid": _("Write the day like 2026-05-03.")}

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(input_formats=["%Y-%m-%d", "%d.%m.%Y", "%Y-%m-%dT%H:%M:%S"], **kwargs)

    def to_python(self, value: Any) -> Any:
        serial = _serial(value) if isinstance(value, str) else None
        return serial.date() if serial else super().to_python(value)


class MomentField(forms.CharField):
    """2026-05-03 14:20, with or without seconds and zone; a day alone is its noon."""

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        found = _moment(text)
        if found is None:
            raise ValidationError(_("Write the time like 2026-05-03 14:20."))
        return (found if timezone.is_aware(found) else timezone.make_aware(found)).astimezone(UTC)


def _moment(text: str) -> datetime | None:
    serial = _serial(text)
    if serial:
        return serial if "." in tidy(text) else serial.replace(hour=12)
    try:
        found = parse_datetime(text) if len(text) > 10 else None
        return found or datetime.combine(DayField().to_python(text), datetime.min.time()).replace(hour=12)
    except (ValueError, ValidationError, TypeError):
        return None


class TallyField(forms.CharField):
    """Lines of length × width × boards in mm: 2400x150x12; 3000x150x8."""

    most_lines = 200

    def to_python(self, value: Any) -> Any:
        words = [word.strip() for word in re.split(r"[;\n]", super().to_python(value) or "") if word.strip()]
        if len(words) > self.most_lines:
            raise ValidationError(_("More than %(most)d lines."), params={"most": self.most_lines})
        return [self._line(word) for word in words]

    def _line(self, word: str) -> tuple[int, int, int]:
        found = _LINE.fullmatch(word)
        if not found:
            raise ValidationError(
                _("“%(text)s” is no line; write length x width x boards in mm, like 2400x150x12."),
                params={"text": word[:40]},
            )
        length, width, count = (int(one) for one in found.groups())
        if not (200 <= length <= 20_000 and 20 <= width <= 1500 and 1 <= count <= 10_000):
            raise ValidationError(
                _("%(text)s: a length is 200 to 20000 mm, a width 20 to 1500 mm, boards 1 to 10000."),
                params={"text": word[:40]},
            )
        return length, width, count


class RawField(forms.CharField):
    """Values as typed: 14.2; 15 off a meter, 210/180 for a section weighed wet and oven-dry."""

    def to_python(self, value: Any) -> Any:
        words = [tidy(word) for word in re.split(r"[;\s]+", super().to_python(value) or "") if word.strip()]
        if len(words) > 60:
            raise ValidationError(_("More than 60 values."))
        return [self._value(word) for word in words]

    def _value(self, word: str) -> Any:
        parts = word.split("/")
        if len(parts) > 2 or not all(re.fullmatch(r"\d+(\.\d+)?", part) for part in parts):
            raise ValidationError(
                _("“%(text)s” is no value; write them like 14.2; 15, sections like 210/180."),
                params={"text": word[:40]},
            )
        numbers = [float(part) for part in parts]
        return numbers if len(numbers) == 2 else numbers[0]
