"""Stress left in dried boards: the gap of a split slice, the prongs of a cut one, and core against shell.

The gap test is ENV 14464's; its text was not at hand: the method and the classes' bounds are recalled and can be given
instead. The prong test is USDA AH-188's (ch. 6, recalled), whose reading is by eye; the bound used here is common
practice, no source. mm and % MC; numbers or arrays; out-of-range input raises ValueError naming quantity, value, range.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drying.ranges import FloatArray, within

GAP_WIDTH_MM = 100.0
# Largest gap, mm on 100 mm width, by class: European Drying Group's recommendation (1994), recalled.
GAP_CLASSES_MM = {"exclusive": 1.0, "quality": 2.0, "standard": 3.0}
# Tips that move by less than this share of the prongs' length, %: stress-free. Common practice, no source.
STILL_PCT = 2.0
# Core above shell, % MC, that still moves a board after planing: common practice, no source (as in drying.watch).
GRADIENT_PCT = 3.0


def gap_on_100_mm(gap_mm: ArrayLike, width_mm: ArrayLike) -> FloatArray:
    """Gap, mm, as on 100 mm of width, from that of a slice 40..300 mm wide; gap 0..50 mm (ENV 14464, recalled).

    A slice split at mid-thickness bends to arcs, so the gap grows as the square of the width: gap x (100/width)^2
    (geometry of a shallow arc, checked against exact circles in the tests to 1 %). Measured after the slice has stood
    24 to 48 h in a room, so that its moisture is even (recalled).
    """
    width = within("width of the slice", width_mm, 40, 300, "mm")
    return within("gap", gap_mm, 0, 50, "mm") * (GAP_WIDTH_MM / width) ** 2


@dataclass(frozen=True, slots=True)
class GapResult:
    """Gaps of a lot's slices, mm on 100 mm: mean, largest, and the best class whose bound `share_pct` % of them keep
    (None: not even the standard class)."""

    mean_mm: float
    largest_mm: float
    gap_class: str | None
    share_pct: float
    from_memory: bool = True


def gap_class(gap_mm: ArrayLike, width_mm: ArrayLike, *, share_pct: float = 90.0) -> GapResult:
    """Class of a lot by its slices' gaps, [n] mm, at widths 40..300 mm: exclusive 1, quality 2, standard 3 mm.

    Bounds and the 90 % that must keep them: European Drying Group, recalled. `share_pct` 50..100.
    """
    gaps = np.atleast_1d(gap_on_100_mm(gap_mm, width_mm))
    share = float(within("share of slices", share_pct, 50, 100, "%"))
    kept = [name for name, most in GAP_CLASSES_MM.items() if 100 * np.mean(gaps <= most + 1e-9) >= share - 1e-9]
    return GapResult(float(gaps.mean()), float(gaps.max()), kept[0] if kept else None, share)


Prong = Literal["case_hardened", "stress_free", "reverse"]


def prong(fresh_mm: ArrayLike, rested_mm: ArrayLike, prong_mm: ArrayLike) -> NDArray[np.str_]:
    """Verdict on a stress section: prongs of 20..300 mm, tips `fresh_mm` apart when cut, `rested_mm` a day later.

    Tips that close in: "case_hardened" (condition); that spread: "reverse" (conditioned too long or too damp); that
    stay, within 2 % of the prongs' length (common practice, no source): "stress_free". AH-188 ch. 6, recalled. What
    happens at once is stress; what comes in the rest is stress and uneven moisture together.
    """
    length = within("length of the prongs", prong_mm, 20, 300, "mm")
    opened = within("tips apart after rest", rested_mm, 0, 300, "mm") - within("tips apart", fresh_mm, 0, 300, "mm")
    share = 100 * opened / length
    return np.where(share < -STILL_PCT, "case_hardened", np.where(share > STILL_PCT, "reverse", "stress_free"))


@dataclass(frozen=True, slots=True)
class Gradient:
    """Core against shell of a lot's boards, % MC: mean and largest difference core - shell; `too_steep`: share of
    boards, %, above the bound; `verdict` by the mean: "even", "core_wet" (equalise on) or "shell_wet" (rewetted)."""

    mean_pct: float
    largest_pct: float
    too_steep_pct: float
    verdict: Literal["even", "core_wet", "shell_wet"]


def gradient(core_pct: ArrayLike, shell_pct: ArrayLike, *, most_pct: float = GRADIENT_PCT) -> Gradient:
    """Core and shell moisture of the same boards, [n] % MC, 1..200 each: from slices, or pins at half and at a tenth of
    the thickness. `most_pct`, 0.5..10: the difference that is too much (3 points: common practice, no source)."""
    core = np.atleast_1d(within("core moisture", core_pct, 1, 200, "%"))
    shell = np.atleast_1d(within("shell moisture", shell_pct, 1, 200, "%"))
    bound = float(within("bound on core less shell", most_pct, 0.5, 10, "%"))
    apart = core - shell
    mean = float(apart.mean())
    verdict: Literal["even", "core_wet", "shell_wet"] = "even"
    if abs(mean) > bound:
        verdict = "core_wet" if mean > 0 else "shell_wet"
    largest = float(apart.flat[np.abs(apart).argmax()])
    return Gradient(mean, largest, 100 * float(np.mean(np.abs(apart) > bound)), verdict)
