"""Photos for the tests, made on the spot."""

import io
import random

from PIL import Image, ImageDraw

EXIF_GPS = 0x8825
EXIF_ORIENTATION = 0x0112
EXIF_MODEL = 0x0110
MODEL = "Camera of the north vault"


def _exif(orientation=1):
    exif = Image.Exif()
    exif[EXIF_MODEL] = MODEL
    exif[EXIF_ORIENTATION] = orientation
    exif.get_ifd(EXIF_GPS).update({1: "N", 2: (43.0, 4.0, 30.5), 3: "W"})
    return exif


def label(width=800, height=600, *, kind="JPEG", exif=False, orientation=1, mode="RGB"):
    """A white label with a red band at its top and some words."""
    image = Image.new("RGB", (width, height), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 0, width, height // 4), fill=(200, 0, 0))
    draw.text((width // 10, height // 2), "UN 1017 CHLORINE", fill="black")
    return saved(image.convert(mode), kind, exif=exif, orientation=orientation)


def twelve_megapixels(**given):
    """As restless as a picture of gravel: hard to pack."""
    rng = random.Random(12)
    small = Image.frombytes("RGB", (500, 375), rng.randbytes(500 * 375 * 3))
    return saved(small.resize((4000, 3000), Image.Resampling.BICUBIC), **given)


def saved(image, kind="JPEG", *, exif=False, orientation=1, **options):
    out = io.BytesIO()
    if exif:
        options["exif"] = _exif(orientation)
    image.save(out, kind, **options)
    return out.getvalue()
