"""The tags in a photo."""

import zxingcpp
from PIL import Image, ImageFilter, ImageOps

from yard.models.tagcode import TagCodeError, check

QR = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
_SHARPEN = ImageFilter.UnsharpMask(radius=3, percent=200, threshold=0)


def read_photo(image: Image.Image) -> list[str]:
    """The codes of all tags in a photo, each once; [] when none is seen. Other QR symbols are passed over.

    As long as none is seen it looks again: with the greys spread out, which brings back a faded or half shaded
    label, then sharpened, which brings back a blurred one (rates: tests/bench/bench_tags.py).
    """
    grey = image.convert("L")
    return _codes(grey) or _codes(ImageOps.equalize(grey)) or _codes(grey.filter(_SHARPEN))


def _codes(grey: Image.Image) -> list[str]:
    codes = {}
    for found in zxingcpp.read_barcodes(grey, formats=QR):
        try:
            codes[check(found.text)] = True
        except TagCodeError:
            continue
    return list(codes)
