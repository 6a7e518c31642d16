"""Contrast of the sheet's colours, by the formula of WCAG 2.2 (relative luminance, contrast ratio; success criteria
1.4.3, 1.4.6, 1.4.11). Words and figures reach 7:1 everywhere: they are read in full sun."""

import re
from pathlib import Path

import pytest
from django.conf import settings

SHEET = (Path(settings.BASE_DIR) / "static/css/drystack.css").read_text()
WORDS = ("ink", "soft", "wet", "dry", "ready", "warn")
GROUNDS = ("paper", "sheet")
WASHES = ("wet", "dry", "ready", "warn")
SCHEMES = ("light", "dark")


def colours(scheme: str) -> dict[str, str]:
    blocks = re.findall(r":root \{(.*?)\}", SHEET, flags=re.DOTALL)
    own = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", blocks[SCHEMES.index(scheme)]))
    assert len(own) > 15
    return own


def luminance(colour: str) -> float:
    parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_is_21_to_1() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


def test_grey_777777_on_white_just_misses_4_5_to_1() -> None:
    # From memory: the grey that guides to WCAG name as the one that fails by a hair, 4.48:1.
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("word", WORDS)
@pytest.mark.parametrize("ground", GROUNDS)
def test_words_and_figures_reach_7_to_1(scheme: str, word: str, ground: str) -> None:
    own = colours(scheme)
    assert contrast(own[word], own[ground]) >= 7


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("state", WASHES)
def test_a_state_s_word_reaches_7_to_1_on_its_wash(scheme: str, state: str) -> None:
    own = colours(scheme)
    assert contrast(own[state], own[f"{state}-wash"]) >= 7
    assert contrast(own["soft"], own[f"{state}-wash"]) >= 7


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ground", GROUNDS)
def test_edges_of_what_one_types_in_reach_3_to_1(scheme: str, ground: str) -> None:
    own = colours(scheme)
    assert contrast(own["edge"], own[ground]) >= 3
