"""A sheet sent in."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from yard.exchange.files import LARGEST_BYTES


class SheetForm(forms.Form):
    file = forms.FileField(
        label=_("CSV file or XLSX workbook"),
        widget=forms.FileInput(attrs={"accept": ".csv,.xlsx,text/csv"}),
        error_messages={"required": _("Choose a file."), "empty": _("This file is empty.")},
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > LARGEST_BYTES:
            raise ValidationError(_("This file is larger than 5 MB: send it in parts."))
        return file
