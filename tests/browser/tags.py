"""Reading a printed sheet of tags, as a phone's camera would."""

import io
import shutil
import subprocess
from pathlib import Path

import zxingcpp
from PIL import Image

from tests.conftest import skip_or_fail


def addresses(pdf: bytes, folder: Path) -> list[str]:
    """The distinct addresses in the QR symbols of a sheet's first page, in reading order."""
    if shutil.which("pdftoppm") is None:
        skip_or_fail("needs poppler; on Debian: apt-get install poppler-utils")
    (folder / "sheet.pdf").write_bytes(pdf)
    command = ["pdftoppm", "-png", "-r", "150", "-f", "1", "-l", "1", "-singlefile", "sheet.pdf", "sheet"]
    subprocess.run(command, cwd=folder, check=True)
    page = Image.open(io.BytesIO((folder / "sheet.png").read_bytes()))
    return list(dict.fromkeys(found.text for found in zxingcpp.read_barcodes(page)))
