import re
from datetime import date
from pathlib import Path

import pytest
from django.conf import settings
from django.utils import translation
from django.utils.formats import date_format

from config.formats.de.formats import AS_IN_SOURCES
from config.words.collecting import sources
from yard.templatetags.amounts import day, day_band

FORMAT = re.compile(r"""date_format\([^"']*["']([^"']+)["']|else ["'](j[^"']*)["']|\|date:["']([^"']+)["']""")


@pytest.mark.parametrize(
    ("language", "one", "two"),
    [("de", "3. Juni 2026", "14. bis 27. Juni 2026"), ("en", "3 June 2026", "14 to 27 June 2026")],
)
def test_a_day_has_its_dot_in_german(language: str, one: str, two: str) -> None:
    with translation.override(language):
        assert day(date(2026, 6, 3)) == one
        assert day_band(date(2026, 6, 14), date(2026, 6, 27)) == two


def test_a_weekday_is_set_off_by_a_comma_in_german() -> None:
    with translation.override("de"):
        assert date_format(date(2026, 11, 26), "l, j F") == "Donnerstag, 26. November"


def test_each_format_with_a_day_in_the_sources_has_its_german_form() -> None:
    used = {
        form
        for path in sources()
        if Path(settings.BASE_DIR) / "config" / "formats" not in path.parents
        for forms in FORMAT.findall(path.read_text(encoding="utf-8"))
        for form in forms
        if re.search(r"\bj\b", form)
    }
    assert "j F Y" in used
    assert used <= set(AS_IN_SOURCES), used - set(AS_IN_SOURCES)
