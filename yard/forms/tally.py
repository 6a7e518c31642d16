"""The tally editor: rows of length, width, count, and two quick ways to fill rows. Works without JavaScript."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from yard import outlook
from yard.fields.limits import LimitedIntegerField
from yard.forms.sizes import LengthField, WidthField
from yard.measures import system, typed
from yard.measures.quantities import SIZE

SPARE_ROWS, ROWS_AT_ONCE, MOST_ROWS = 4, 4, 80
FOCUS = {"autofocus": True}
"""For the first of the lines that a button brought: the editor is swapped, and the button that had the focus goes."""
Lines = list[tuple[int, int, int]]


class CountField(LimitedIntegerField):
    """How many boards."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=1, max_value=10_000, widget=forms.TextInput(), **kwargs)
        self.widget.attrs |= {"inputmode": "numeric", "autocomplete": "off"}


class LineForm(forms.Form):
    """One row; an empty one counts for nothing, so emptying a row takes it away."""

    length = LengthField(label=gettext_lazy("length"), required=False)
    width = WidthField(label=gettext_lazy("width"), required=False)
    count = CountField(label=gettext_lazy("boards"), required=False)

    def __init__(self, *args: Any, number: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs |= {"aria-label": _("Line %(n)d, %(what)s") % {"n": number, "what": field.label}}

    asked = {
        "length": gettext_lazy("How long are they?"),
        "width": gettext_lazy("How wide are they?"),
        "count": gettext_lazy("How many boards?"),
    }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        given = [name for name in self.fields if cleaned.get(name) or name in self.errors]
        for name in self.fields:
            if given and name not in given:
                self.add_error(name, self.asked[name])
        return cleaned

    @property
    def line(self) -> tuple[int, int, int] | None:
        """What stands in a valid row; None for an empty or a wrong one."""
        found = tuple(self.cleaned_data.get(name) for name in self.fields) if self.is_valid() else (None,)
        return None if None in found else found  # type: ignore[return-value]


class RandomWidthsForm(forms.Form):
    """Boards of one length and many widths, as they are called out at the saw."""

    length = LengthField(label=gettext_lazy("Length"), required=False, hint=True)
    widths = forms.CharField(
        label=gettext_lazy("Widths"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 3, "inputmode": "text", "autocomplete": "off"}),
        help_text=gettext_lazy("One after the other; 2x175 means two boards of 175: 150 160 2x175"),
    )

    def clean_widths(self) -> list[tuple[int, int]]:
        text = self.cleaned_data["widths"]
        try:
            return outlook.parse_widths(in_whole_mm(text)) if text.strip() else []
        except ValueError as error:
            example = "6 7-1/2 2x8" if system.typed() == system.IMPERIAL else "150 160 2x175"
            words = {"example": example, "detail": error}
            raise ValidationError(
                _("Write widths with spaces between, like %(example)s. (%(detail)s)") % words
            ) from error

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("widths") and not cleaned.get("length") and "length" not in self.errors:
            self.add_error("length", _("How long are these boards?"))
        if cleaned.get("length") and not cleaned.get("widths") and "widths" not in self.errors:
            self.add_error("widths", _("Which widths are of this length?"))
        return cleaned

    def lines(self) -> Lines:
        cleaned = self.cleaned_data
        return [(cleaned["length"], int(width), count) for width, count in cleaned.get("widths") or []]


def in_whole_mm(text: str) -> str:
    """Widths called out in inches, 6 7-1/2 2x8, as the core reads them; those in mm as they are."""
    if system.typed() != system.IMPERIAL:
        return text
    words = []
    for word in text.split():
        count, times, size = word.rpartition("x")
        mm = typed.read(size, SIZE, system.IMPERIAL)
        words.append(word if mm is None else f"{count}{times}{round(mm)}")
    return " ".join(words)


class AboutForm(forms.Form):
    """About so many boards, from one length to another, of some mean width: good enough for a first forecast."""

    count = CountField(label=gettext_lazy("About how many boards"), required=False)
    shortest = LengthField(label=gettext_lazy("Shortest"), required=False)
    longest = LengthField(label=gettext_lazy("Longest"), required=False)
    width = WidthField(label=gettext_lazy("Mean width"), required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if any(cleaned.get(name) for name in self.fields) or self.errors:
            for name in self.fields:
                if not cleaned.get(name) and name not in self.errors:
                    self.add_error(name, _("This is needed too."))
        shortest, longest = cleaned.get("shortest"), cleaned.get("longest")
        if shortest and longest and shortest > longest:
            self.add_error("longest", _("The longest is shorter than the shortest; are they swapped?"))
        return cleaned

    def lines(self) -> Lines:
        cleaned = self.cleaned_data
        if not cleaned.get("count"):
            return []
        return outlook.spread_lines(cleaned["count"], cleaned["shortest"], cleaned["longest"], cleaned["width"])


class Tally:
    """The whole editor. Unbound it shows `lines` and spare rows; bound it reads what was typed."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, lines: Iterable[tuple[int, int, int]] = ()) -> None:
        rows = _rows(lines)
        count = _row_count(data) if data is not None else len(rows) + SPARE_ROWS
        initial = [*rows, *[{}] * (count - len(rows))]
        self.rows = [LineForm(data, prefix=f"line-{n}", initial=initial[n], number=n + 1) for n in range(count)]
        self.random = RandomWidthsForm(data, prefix="random")
        self.about = AboutForm(data, prefix="about")
        self.error = ""

    @property
    def forms(self) -> list[forms.Form]:
        return [*self.rows, self.random, self.about]

    @property
    def length_help(self) -> str:
        if system.told() == system.IMPERIAL:
            return _("Length in feet (8' 6\") or inches (102).")
        return _("Length in metres (2.5) or mm (2500).")

    @property
    def row_count(self) -> int:
        return len(self.rows)

    def is_valid(self) -> bool:
        """Whether all that was typed can be read and makes at least one board; `error` says what the whole lacks."""
        sound = all(form.is_valid() for form in self.forms)
        self.error = ""
        if sound and not self.lines:
            self.error = _("No boards yet: fill in one line at least, or use a quick way below.")
            # told by the first field to be filled in, too, which is where whoever has no pointer is led
            self._first_length(0, {"aria-invalid": "true", "aria-describedby": "tally_error"})
        return sound and not self.error

    @property
    def first_wrong(self) -> str:
        """Where on the page the first thing to mend stands; empty when nothing was found wrong."""
        bound = [field for form in self.forms if form.is_bound for field in form]
        wrong = [field.auto_id for field in bound if field.errors]
        first = self.rows[0]["length"].auto_id if self.rows else "tally"
        return (wrong or ([first] if self.error else [""]))[0]

    @property
    def lines(self) -> Lines:
        """All good rows, and what the quick ways add."""
        found = [row.line for row in self.rows]
        quick = [line for form in (self.random, self.about) if form.is_valid() for line in form.lines()]
        return [line for line in found if line] + quick

    @property
    def wrong_rows(self) -> int:
        return sum(not form.is_valid() for form in self.forms)

    def grown(self, data: Mapping[str, Any]) -> "Tally":
        """The editor anew with more empty rows; nothing typed is lost and nothing is judged yet."""
        tally = Tally(lines=[])
        tally.rows = self._as_typed(data, len(self.rows) + ROWS_AT_ONCE)
        tally.random.initial, tally.about.initial = _typed(self.random, data), _typed(self.about, data)
        tally._first_length(len(self.rows), FOCUS)
        return tally

    def spread(self, data: Mapping[str, Any]) -> "Tally":
        """The editor anew, what the quick ways say put into rows; the same with its errors when they can't be read."""
        if not (self.random.is_valid() and self.about.is_valid()):
            return self
        return self.with_lines(data, self.random.lines() + self.about.lines())

    def with_lines(self, data: Mapping[str, Any], lines: Iterable[tuple[int, int, int]]) -> "Tally":
        """The editor anew: the rows as typed, then these lines, then spare rows; the quick ways empty."""
        kept = [row for row in (_typed(row, data) for row in self.rows) if any(row.values())]
        tally = Tally(lines=[])
        tally.rows = _numbered([*kept, *_rows(lines), *[{}] * SPARE_ROWS])
        tally._first_length(len(kept), FOCUS)
        return tally

    def _first_length(self, row: int, attrs: dict[str, Any]) -> None:
        """More attributes for the first field of a row, where there is one: the rows are bounded."""
        for line in self.rows[row : row + 1]:
            line.fields["length"].widget.attrs |= attrs

    def _as_typed(self, data: Mapping[str, Any], count: int) -> list[LineForm]:
        typed = [_typed(row, data) for row in self.rows]
        return _numbered([*typed, *[{}] * (min(count, MOST_ROWS) - len(typed))])


def boards_in_words(lines: Iterable[tuple[int, int, int]]) -> str:
    """For messages: 1 board, 40 boards."""
    count = sum(line[2] for line in lines)
    return ngettext("%(n)d board", "%(n)d boards", count) % {"n": count}


def _numbered(initial: list[dict[str, Any]]) -> list[LineForm]:
    return [LineForm(prefix=f"line-{n}", initial=row, number=n + 1) for n, row in enumerate(initial[:MOST_ROWS])]


def _rows(lines: Iterable[tuple[int, int, int]]) -> list[dict[str, Any]]:
    return [dict(zip(LineForm.base_fields, line, strict=True)) for line in lines]


def _typed(form: forms.Form, data: Mapping[str, Any]) -> dict[str, Any]:
    return {name: data.get(form.add_prefix(name), "") for name in form.fields}


def _row_count(data: Mapping[str, Any]) -> int:
    """How many rows the page had; bounded, since anyone can send anything."""
    text = str(data.get("rows", ""))
    return min(int(text), MOST_ROWS) if text.isdecimal() else SPARE_ROWS
