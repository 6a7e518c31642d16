"""A Chromium whose camera shows pictures of ours, and those pictures: printed tags, held as a hand would hold them."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from playwright.sync_api import Browser

from tests.chromium import ARGUMENTS
from tests.yard.spoiled import WOOD_GREY, Picture, PrintedTag, symbol_photo

WIDTH, HEIGHT, PX_PER_MODULE = 1280, 720, 9.0
FAKE = ["--use-fake-device-for-media-stream"]
ALLOWED = "--use-fake-ui-for-media-stream"
VIEWS: dict[str, Callable[[PrintedTag], Picture]] = {
    "clean": lambda tag: symbol_photo(tag, "clean", PX_PER_MODULE),
    "tilted": lambda tag: symbol_photo(tag, "tilt of 45 degrees", PX_PER_MODULE),
    "dim": lambda tag: symbol_photo(tag, "faded to 115 and 150", PX_PER_MODULE),
    "partly covered": lambda tag: symbol_photo(tag, "corner without finder covered, 15 %", PX_PER_MODULE),
}


def frame(*photos: Picture) -> Picture:
    """What the camera sees: the photos side by side on wood."""
    ground = np.full((HEIGHT, WIDTH), WOOD_GREY, np.uint8)
    span = WIDTH // len(photos)
    for index, photo in enumerate(photos):
        height, width = photo.shape
        upper, left = (HEIGHT - height) // 2, index * span + (span - width) // 2
        ground[upper : upper + height, left : left + width] = photo
    return ground


def film(path: Path, *pictures: Picture) -> Path:
    """A Motion-JPEG file of these pictures, some frames each, which Chromium shows over and over."""
    path.write_bytes(b"".join(_jpeg(picture) * (10 if len(pictures) == 1 else 40) for picture in pictures))
    return path


def _jpeg(picture: Picture) -> bytes:
    coloured = cv2.cvtColor(picture, cv2.COLOR_GRAY2BGR)
    return cv2.imencode(".jpg", coloured, [cv2.IMWRITE_JPEG_QUALITY, 90])[1].tobytes()


@contextmanager
def camera_browser(kind: Any, found: str, shown: Path, *, allowed: bool = True) -> Iterator[Browser]:
    """A browser of its own for each film, since the camera is a switch at its start."""
    switches = [*ARGUMENTS, *FAKE, f"--use-file-for-fake-video-capture={shown}", *([ALLOWED] if allowed else [])]
    browser = kind.launch(executable_path=found, args=switches)
    try:
        yield browser
    finally:
        browser.close()
