"""How forms are drawn: where something typed is wrong, the first such field has the focus when the page is there."""

from typing import Any

from django.forms import BoundField
from django.forms.renderers import TemplatesSetting


class FocusedBoundField(BoundField):
    """A reader of the screen then hears at once which field it is, with its error; a keyboard is in it already."""

    def build_widget_attrs(self, attrs: dict[str, Any], widget: Any = None) -> dict[str, Any]:
        built = super().build_widget_attrs(attrs, widget)
        if self.form.is_bound and self.name == self._first_wrong():
            built["autofocus"] = True
        return built

    def _first_wrong(self) -> str | None:
        wrong = self.form.errors
        return next((name for name in self.form.fields if name in wrong), None)


class Renderer(TemplatesSetting):
    bound_field_class = FocusedBoundField
