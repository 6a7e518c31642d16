"""How often a spoiled tag is read, by decoders that share no code; all shares are of the same seeded pictures.

Needs pdftoppm (poppler-utils). Where node and npm are there and the registry answers, the pure JavaScript decoder `qr`
is measured too, installed into a temporary folder; where not, one figure says so and is short.
"""

import json
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import cv2

from tests.bench.figure import Figure
from tests.yard.spoiled import (
    CASES,
    READERS,
    SITE,
    Picture,
    PrintedTag,
    Spoiling,
    blob,
    corner_covered,
    count_read,
    label_photo,
    printed_tags,
    symbol_photo,
    untouched,
    wholly_covered,
)
from yard.labels import label_printer
from yard.labels.symbol import address

TAGS, PX_PER_MODULE = 40, 6.0
QR_PACKAGE = "qr@0.7.0"
NO_GATE = {"OpenCV"}
BEYOND_ONE_SYMBOL = {"corner without finder covered, 20 %", "one blob, 5 %", "one blob, 10 %"}
LABELS: dict[str, list[Spoiling]] = {
    "left symbol gone": [wholly_covered, untouched],
    "right symbol gone": [untouched, wholly_covered],
    "one symbol gone, other with its corner covered 15 %": [wholly_covered, corner_covered(0.15)],
    "a blob of 5 % on each symbol": [blob(0.05), blob(0.05)],
    "a blob of 10 % on each symbol": [blob(0.10), blob(0.10)],
}
_READ_FRAMES = """
import { readFileSync } from "node:fs";
import { decodeQR } from "qr/decode.js";
const texts = [];
for (const { path, width, height } of JSON.parse(readFileSync("frames.json"))) {
  const grey = readFileSync(path), data = new Uint8ClampedArray(4 * grey.length);
  grey.forEach((value, i) => data.set([value, value, value, 255], 4 * i));
  try { texts.push(decodeQR({ width, height, data }) ?? ""); } catch { texts.push(""); }
}
console.log(JSON.stringify(texts));
"""


def figures() -> Iterator[Figure]:
    if not shutil.which("pdftoppm"):
        yield Figure("tags: not measured, pdftoppm is missing (poppler-utils)", 0, "", "measured", False)
        return
    tags = printed_tags(TAGS, label_printer(148, 105, 2))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) if install_qr(Path(name)) else None
        if folder is None:
            yield Figure(f"tags: {QR_PACKAGE} not measured, no node, npm or registry", 0, "", "measured", False)
        yield from measured(tags, folder)


def measured(tags: list[PrintedTag], folder: Path | None) -> Iterator[Figure]:
    for case in CASES:
        photos = [symbol_photo(tag, case, PX_PER_MODULE) for tag in tags]
        for reader, share in shares(tags, photos, folder):
            gate = reader not in NO_GATE and case not in BEYOND_ONE_SYMBOL
            yield _figure(f"tags, one symbol, {case}: {reader}", share, 90 if gate else None)
    for case, spoilings in LABELS.items():
        photos = [label_photo(tag, spoilings, PX_PER_MODULE) for tag in tags]
        for reader, share in shares(tags, photos, folder):
            yield _figure(f"tags, label, {case}: {reader}", share, None if reader in NO_GATE else 90)
    yield from least_pixels(tags, folder)


def least_pixels(tags: list[PrintedTag], folder: Path | None) -> Iterator[Figure]:
    """The fewest pixels a module from which on every step up still reads 95 % of clean symbols."""
    steps = (4.0, 3.0, 2.5, 2.0, 1.75, 1.5, 1.25)
    least: dict[str, float] = {}
    lost: set[str] = set()
    for px in steps:
        for reader, share in shares(tags, [symbol_photo(tag, "clean", px) for tag in tags], folder):
            if share < 95:
                lost.add(reader)
            elif reader not in lost:
                least[reader] = px
    for reader, px in least.items():
        goal = "for comparison" if reader in NO_GATE else "<= 2.5, what LEAST_MODULE_MM counts on"
        yield Figure(f"tags, fewest pixels a module: {reader}", px, "px", goal, reader in NO_GATE or px <= 2.5)


def shares(tags: list[PrintedTag], photos: list[Picture], folder: Path | None) -> Iterator[tuple[str, float]]:
    """Percent of photos read, by reader."""
    for reader in READERS:
        yield reader, 100 * count_read(reader, tags, photos) / len(tags)
    if not folder:
        return
    wanted = [address_of(tag) for tag in tags]
    first = read_by_qr(photos, folder)
    second = read_by_qr([cv2.equalizeHist(photo) for photo in photos], folder)
    yield QR_PACKAGE, 100 * sum(map(str.__eq__, first, wanted)) / len(tags)
    either = [text in pair for text, *pair in zip(wanted, first, second, strict=True)]
    yield f"{QR_PACKAGE}, again with the greys spread out", 100 * sum(either) / len(tags)


def address_of(tag: PrintedTag) -> str:
    return address(tag.code, SITE)


def install_qr(folder: Path) -> bool:
    """The decoder into a temporary folder; False where that can't be."""
    npm = shutil.which("npm")
    if not npm or not shutil.which("node"):
        return False
    (folder / "read.mjs").write_text(_READ_FRAMES)
    command = [npm, "install", "--prefix", str(folder), "--ignore-scripts", "--no-audit", "--no-fund", QR_PACKAGE]
    try:
        return subprocess.run(command, capture_output=True, timeout=120).returncode == 0
    except subprocess.TimeoutExpired:
        return False


def read_by_qr(photos: list[Picture], folder: Path) -> list[str]:
    frames = []
    for index, photo in enumerate(photos):
        (folder / f"{index}.grey").write_bytes(photo.tobytes())
        frames.append({"path": f"{index}.grey", "width": photo.shape[1], "height": photo.shape[0]})
    (folder / "frames.json").write_text(json.dumps(frames))
    node = shutil.which("node") or "node"
    run = subprocess.run([node, "read.mjs"], cwd=folder, capture_output=True, check=True)
    return json.loads(run.stdout)


def _figure(name: str, share: float, least: float | None) -> Figure:
    goal = "for comparison" if least is None else f">= {least:.0f} %"
    return Figure(name, share, "% read", goal, least is None or share >= least)
