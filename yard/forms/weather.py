"""Weather of a place: a sheet as a file or pasted, and a stretch of days to take out."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _

from yard import outlook

LARGEST_BYTES = 5 * 1024 * 1024  # ten years of hourly rows are about half of it
SHOWN_CHARACTERS = 20_000  # a file with nothing in it that could be taken is shown for mending up to here


class WeatherForm(forms.Form):
    """After `is_valid`, `sheet` is what was read; a sheet without one good day is refused, with what it says."""

    file = forms.FileField(
        label=_("File"),
        required=False,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,text/csv,text/plain"}),
        error_messages={"empty": _("This file is empty.")},
    )
    text = forms.CharField(
        label=_("Or paste the rows here"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"spellcheck": "false", "autocomplete": "off"}),
    )
    sheet: Any = None
    given = ""

    def clean_file(self) -> UploadedFile | None:
        file: UploadedFile | None = self.cleaned_data["file"]
        if file is not None and file.size is not None and file.size > LARGEST_BYTES:
            raise ValidationError(_("This file is larger than 5 MB; a year at a time will do."))
        return file

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        file, pasted = cleaned.get("file"), (cleaned.get("text") or "").strip()
        if self.errors:
            return cleaned
        if file is None and not pasted:
            raise ValidationError(_("Choose a file, or paste its rows."))
        if file is not None and pasted:
            raise ValidationError(_("A file and pasted rows: send one after the other."))
        self.given = decoded(file.read()) if file else pasted
        self.sheet = outlook.read_weather(self.given)
        return cleaned


def decoded(content: bytes) -> str:
    """The text of a file: UTF-8, UTF-16 with its mark, else the Windows alphabet of western Europe."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", "replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


class DaysForm(forms.Form):
    """A stretch of days."""

    first = forms.DateField(
        label=_("From"),
        widget=forms.DateInput({"type": "date"}),
        error_messages={"required": _("Say the first day.")},
    )
    last = forms.DateField(
        label=_("To"), widget=forms.DateInput({"type": "date"}), error_messages={"required": _("Say the last day.")}
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", _("The last day is before the first."))
        return cleaned
