"""Draw the app's icons: three boards on stickers, drying from below upwards (wet, dry, ready)."""

from pathlib import Path
from typing import Any, NamedTuple

from django.conf import settings
from django.core.management.base import BaseCommand
from PIL import Image, ImageDraw

INK, PAPER = "#12130e", "#f2f1e6"
WET, DRY, READY = "#4d9fe0", "#efc566", "#72c068"
GRID = 64
# A maskable icon may be cut to a circle of 80 % of its width: the drawing's corners must lie inside.
MASKABLE_SCALE = 0.68


class Bar(NamedTuple):
    """A rectangle on the grid of 64 × 64 units: left, top, width, height, colour."""

    x: float
    y: float
    width: float
    height: float
    colour: str


BARS = (
    Bar(10, 12, 44, 10, READY),
    Bar(10, 27, 44, 10, DRY),
    Bar(10, 42, 44, 10, WET),
    *(Bar(x, y, 6, 5, PAPER) for y in (22, 37) for x in (14, 44)),
)


def svg() -> str:
    """The icon as SVG, with round corners."""
    bars = "".join(f'<rect x="{b.x}" y="{b.y}" width="{b.width}" height="{b.height}" fill="{b.colour}"/>' for b in BARS)
    ground = f'<rect width="{GRID}" height="{GRID}" rx="8" fill="{INK}"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {GRID} {GRID}">{ground}{bars}</svg>\n'


def png(size: int, scale: float = 1.0, round_corners: bool = True) -> Image.Image:
    """The icon in `size` pixels, the drawing shrunk to `scale` about the middle."""
    image = Image.new("RGBA", (size, size), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle((0, 0, size - 1, size - 1), radius=size / 8 if round_corners else 0, fill=INK)
    for bar in BARS:
        draw.rectangle(box(bar, size, scale), fill=bar.colour)
    return image


def box(bar: Bar, size: int, scale: float) -> tuple[int, int, int, int]:
    """The bar's pixels, both ends included."""
    edges = (bar.x, bar.y, bar.x + bar.width, bar.y + bar.height)
    left, top, right, bottom = (round(((edge / GRID - 0.5) * scale + 0.5) * size) for edge in edges)
    return left, top, right - 1, bottom - 1


class Command(BaseCommand):
    requires_system_checks = []
    help = "Draw the app's icons into static/icons (they are committed; run this after changing the drawing)."

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--folder", type=Path, default=Path(settings.BASE_DIR) / "static" / "icons")

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "drystack.svg").write_text(svg(), encoding="utf-8")
        for size in (192, 512):
            png(size).save(folder / f"drystack-{size}.png", optimize=True)
        png(512, MASKABLE_SCALE, round_corners=False).save(folder / "drystack-maskable-512.png", optimize=True)
        self.stdout.write(f"Icons drawn in {folder}")
