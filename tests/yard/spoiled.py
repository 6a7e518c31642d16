"""Pictures of labels, printed from their PDF and spoiled on purpose; and the decoders that must read them.

A spoiling takes a grey picture (0 black, 255 white), a symbol's square in it and a seeded generator, so that each case
can be named and repeated. Shapes and amounts of what a label meets outdoors are our own choice.
"""

import random
import shutil
import subprocess
import tempfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray
from PIL import Image
from stdnum.iso7064 import mod_37_2

from tests.conftest import skip_or_fail
from yard.labels import Label, Sheet, labels_pdf, read_photo
from yard.labels.arrangement import arrange
from yard.labels.sheet import Box
from yard.labels.symbol import QUIET_MODULES, address, modules
from yard.models.tagcode import ALPHABET

SITE = "https://yard.example"
MODULES = 29  # a side, of the symbol of an address on SITE (version 3)
WOOD_GREY, MUD_GREY, NOISE_GREY = 150, 70, 3.0

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Square:
    """A symbol in a picture without its quiet zone, in px; y grows downwards."""

    x: float
    y: float
    side: float

    @property
    def module(self) -> float:
        return self.side / MODULES

    def cut(self, picture: Picture) -> tuple[Picture, "Square"]:
        """The symbol with its quiet zone, out of the picture."""
        quiet = QUIET_MODULES * self.module
        left, upper, span = round(self.x - quiet), round(self.y - quiet), round(self.side + 2 * quiet)
        return picture[upper : upper + span, left : left + span], Square(self.x - left, self.y - upper, self.side)

    def moved(self, scale: float, by: float) -> "Square":
        return Square(self.x * scale + by, self.y * scale + by, self.side * scale)


Spoiling = Callable[[Picture, Square, np.random.Generator], Picture]


@dataclass(frozen=True)
class PrintedTag:
    code: str
    picture: Picture
    squares: list[Square]


def some_codes(count: int) -> list[str]:
    """True tag codes, the same in every run."""
    chance, codes = random.Random(2025), []
    while len(codes) < count:
        drawn = "".join(chance.choices(ALPHABET, k=9))
        if (check_character := mod_37_2.calc_check_digit(drawn)) in ALPHABET:
            codes.append(drawn + check_character)
    return codes


def need_poppler() -> None:
    """Without it no PDF can be looked at: skips, and fails in CI."""
    for program in ("pdftoppm", "pdftotext"):
        if not shutil.which(program):
            skip_or_fail(f"{program} is missing; it comes with poppler (Debian, Ubuntu: apt install poppler-utils)")


def printed(labels: list[Label], sheet: Sheet, dots_per_inch: int) -> list[Picture]:
    """The pages of the labels' PDF as poppler draws them."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "labels.pdf").write_bytes(labels_pdf(labels, sheet, SITE))
        command = [shutil.which("pdftoppm") or "pdftoppm", "-gray", "-r", str(dots_per_inch)]
        subprocess.run([*command, str(folder / "labels.pdf"), str(folder / "page")], check=True)
        return [cv2.imread(str(page), cv2.IMREAD_GRAYSCALE) for page in sorted(folder.glob("page*.pgm"))]


def symbol_squares(cell: Box, sheet: Sheet, picture: Picture) -> list[Square]:
    """Where a label's symbols must lie in the picture of its page."""
    arrangement = arrange(cell, sheet.symbols, len(modules(address(some_codes(1)[0], SITE))))
    px, quiet = picture.shape[1] / sheet.width_mm, QUIET_MODULES * arrangement.module_mm
    return [
        Square((box.x + quiet) * px, (sheet.height_mm - box.y - box.height + quiet) * px, (box.width - 2 * quiet) * px)
        for box in arrangement.symbols
    ]


def printed_tags(count: int, sheet: Sheet, dots_per_inch: int = 200) -> list[PrintedTag]:
    """Blank tags, one a page."""
    codes, cell = some_codes(count), next(sheet.cells())
    pages = printed([Label(code) for code in codes], sheet, dots_per_inch)
    return [PrintedTag(code, page, symbol_squares(cell, sheet, page)) for code, page in zip(codes, pages, strict=True)]


def untouched(picture: Picture, square: Square, chance: np.random.Generator) -> Picture:
    """Nothing but the camera's noise, which all the others have too."""
    return picture


def blurred(sigma_px: float) -> Spoiling:
    return lambda picture, square, chance: cv2.GaussianBlur(picture, None, sigma_px)


def shaken(length_px: int) -> Spoiling:
    """The hand moved so far, in a direction of chance, while the shutter was open."""

    def spoil(picture: Picture, square: Square, chance: np.random.Generator) -> Picture:
        kernel = np.zeros((length_px, length_px), np.float32)
        kernel[length_px // 2] = 1
        turn = cv2.getRotationMatrix2D(((length_px - 1) / 2,) * 2, chance.uniform(0, 180), 1)
        kernel = cv2.warpAffine(kernel, turn, (length_px, length_px))
        return cv2.filter2D(picture, -1, kernel / kernel.sum())

    return spoil


def tilted(degrees: float) -> Spoiling:
    """The label turned about an axis of chance in its own plane, seen from three picture widths away."""

    def spoil(picture: Picture, square: Square, chance: np.random.Generator) -> Picture:
        height, width = picture.shape
        axis, away = chance.uniform(0, 2 * np.pi), 3.0 * max(width, height)
        turn = cv2.Rodrigues(np.radians(degrees) * np.array([np.cos(axis), np.sin(axis), 0.0]))[0]
        corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
        space = np.c_[corners - [width / 2, height / 2], np.zeros(4)] @ turn.T
        seen = (away / (away + space[:, 2]))[:, None] * space[:, :2] + [width / 2, height / 2]
        matrix = cv2.getPerspectiveTransform(corners, seen.astype(np.float32))
        return cv2.warpPerspective(picture, matrix, (width, height), borderValue=WOOD_GREY)

    return spoil


def faded(black: int, white: int) -> Spoiling:
    """Black and white have come as near to each other as these greys."""
    return lambda picture, square, chance: (black + picture * ((white - black) / 255.0)).astype(np.uint8)


def half_in_shadow(picture: Picture, square: Square, chance: np.random.Generator) -> Picture:
    """Beyond a line of chance through the symbol's middle 35 % of the light; the edge is a few modules soft."""
    rows, columns = np.indices(picture.shape)
    angle, middle = chance.uniform(0, 2 * np.pi), square.side / 2
    across = (columns - square.x - middle) * np.cos(angle) + (rows - square.y - middle) * np.sin(angle)
    return (picture * (0.35 + 0.65 / (1 + np.exp(-across / square.module)))).astype(np.uint8)


def corner_covered(share: float) -> Spoiling:
    """A square of mud in the corner without finder pattern (lower right), over this share of the symbol."""

    def spoil(picture: Picture, square: Square, chance: np.random.Generator) -> Picture:
        right, lower, side = square.x + square.side, square.y + square.side, square.side * np.sqrt(share)
        return _muddy(picture, right - side, lower - side, right, lower)

    return spoil


def blob(share: float) -> Spoiling:
    """One round splash of mud of this share of the symbol's area, wholly on the symbol, at a place of chance."""

    def spoil(picture: Picture, square: Square, chance: np.random.Generator) -> Picture:
        radius = square.side * np.sqrt(share / np.pi)
        x, y = np.add(chance.uniform(radius, square.side - radius, 2), (square.x, square.y))
        return cv2.circle(picture.copy(), (round(x), round(y)), round(radius), MUD_GREY, cv2.FILLED)

    return spoil


def wholly_covered(picture: Picture, square: Square, chance: np.random.Generator) -> Picture:
    """Mud over the symbol and its quiet zone."""
    quiet = QUIET_MODULES * square.module
    right, lower = square.x + square.side + quiet, square.y + square.side + quiet
    return _muddy(picture, square.x - quiet, square.y - quiet, right, lower)


def _muddy(picture: Picture, left: float, upper: float, right: float, lower: float) -> Picture:
    out = picture.copy()
    out[max(0, round(upper)) : round(lower), max(0, round(left)) : round(right)] = MUD_GREY
    return out


CASES: dict[str, Spoiling] = {
    "clean": untouched,
    "blur of 2 px": blurred(2),
    "blur of 3 px": blurred(3),
    "shaken by 7 px": shaken(7),
    "tilt of 45 degrees": tilted(45),
    "faded to 115 and 150": faded(115, 150),
    "half in shadow": half_in_shadow,
    "corner without finder covered, 15 %": corner_covered(0.15),
    "corner without finder covered, 20 %": corner_covered(0.20),
    "one blob, 5 %": blob(0.05),
    "one blob, 10 %": blob(0.10),
}


def symbol_photo(tag: PrintedTag, case: str, px_per_module: float) -> Picture:
    """The tag's first symbol alone, spoiled as the case says."""
    picture, square = _on_wood(*tag.squares[0].cut(tag.picture), px_per_module)
    chance = _chance(tag, case)
    return _taken(CASES[case](picture, square, chance), chance)


def label_photo(tag: PrintedTag, spoilings: list[Spoiling], px_per_module: float) -> Picture:
    """The whole label; each spoiling acts at the symbol of its own index."""
    scale, by = px_per_module / tag.squares[0].module, 6 * px_per_module
    picture, _ = _on_wood(tag.picture, tag.squares[0], px_per_module)
    chance = _chance(tag, "label")
    for spoiling, square in zip(spoilings, tag.squares, strict=True):
        picture = spoiling(picture, square.moved(scale, by), chance)
    return _taken(picture, chance)


def _chance(tag: PrintedTag, case: str) -> np.random.Generator:
    return np.random.default_rng(zlib.crc32(f"{tag.code} {case}".encode()))


def _on_wood(picture: Picture, square: Square, px_per_module: float) -> tuple[Picture, Square]:
    scale, pad = px_per_module / square.module, round(6 * px_per_module)
    small = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    ground = cv2.copyMakeBorder(small, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=WOOD_GREY)
    return ground, square.moved(scale, pad)


def _taken(picture: Picture, chance: np.random.Generator) -> Picture:
    """What the camera makes of it: noise of a standard deviation of NOISE_GREY."""
    return np.clip(picture + chance.normal(0, NOISE_GREY, picture.shape), 0, 255).astype(np.uint8)


def read_by_zxing(picture: Picture) -> set[str]:
    return {found.text for found in zxingcpp.read_barcodes(picture)}


def read_by_opencv(picture: Picture) -> set[str]:
    """OpenCV's detector and decoder share no code with zxing-cpp and are weaker."""
    texts = cv2.QRCodeDetector().detectAndDecodeMulti(picture)[1]
    return {text for text in texts if text}


def read_by_us(picture: Picture) -> set[str]:
    """What the yard itself does with a photo."""
    return {address(code, SITE) for code in read_photo(Image.fromarray(picture))}


READERS = {"zxing-cpp": read_by_zxing, "read_photo": read_by_us, "OpenCV": read_by_opencv}


def count_read(reader: str, tags: list[PrintedTag], photos: list[Picture]) -> int:
    """How many photos gave their own tag's address and no other."""
    read = READERS[reader]
    return sum(read(photo) == {address(tag.code, SITE)} for tag, photo in zip(tags, photos, strict=True))
