"""Photos as bytes: what they are, and a smaller copy. Pure: no Django, no database.

Pillow takes long to import and is asked for inside the functions.
"""

import io
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from incidents.picture_parts import written_into

if TYPE_CHECKING:
    from PIL.Image import Image

# Enough to read a label or a strip from one step away; the phone's page scales to the same.
LONGEST_SIDE: Final = 1600
QUALITY: Final = 80
# A scaled one; those kept as the camera made them have the limit of the SOP.
MOST_BYTES: Final = 2_000_000
# Rather more than a phone's camera gives. Above it nothing is unpacked.
MOST_PIXELS: Final = 60_000_000
_TOO_MANY: Final = f"a photo of at most {MOST_PIXELS // 1_000_000} million points"
SUFFIXES: Final[Mapping[str, str]] = MappingProxyType(
    {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
)
_FORMATS: Final = ("JPEG", "PNG", "WEBP")
# Some cameras put a second, small picture behind the first: still a JPEG.
_TYPES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "JPEG": "image/jpeg",
        "MPO": "image/jpeg",
        "PNG": "image/png",
        "WEBP": "image/webp",
    }
)


class PictureError(ValueError):
    """The bytes are no picture that can be kept; the words say why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    media_type: str
    width: int
    height: int
    colours: str  # Pillow's mode: "RGB", "L", "CMYK", …
    metadata: tuple[str, ...]  # what is written into it beside the picture


def look_at(content: bytes) -> Picture:
    """Open the bytes to the end, however wrong they are. Raises `PictureError`."""
    image = _opened(content)
    width, height = image.size
    media_type = _TYPES[image.format or ""]
    colours = image.mode
    _read_whole(image)
    return Picture(
        media_type=media_type,
        width=width,
        height=height,
        colours=colours,
        metadata=written_into(content, media_type),
    )


def scaled(content: bytes, *, longest: int = LONGEST_SIDE) -> bytes:
    """A JPEG of the picture the right way up, without its metadata. Raises `PictureError`.

    The same bytes give the same copy.
    """
    from PIL import Image, ImageOps

    image = _opened(content)
    image.draft("RGB", (longest, longest))  # JPEG: unpack no more than is needed
    _read_whole(image)
    profile = image.info.get("icc_profile")
    upright = ImageOps.exif_transpose(image)
    upright.thumbnail((longest, longest))
    if upright.mode in ("RGBA", "LA", "P", "PA"):
        on_white = Image.new("RGBA", upright.size, "white")
        on_white.alpha_composite(upright.convert("RGBA"))
        upright = on_white
    if upright.mode not in ("RGB", "L"):
        # The profile is for the colours of before.
        profile = profile if upright.mode == "RGBA" else None
        upright = upright.convert("RGB")
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=QUALITY, optimize=True, icc_profile=profile)
    return out.getvalue()


def _opened(content: bytes) -> "Image":
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            # Our own bound, below, is the lower one.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(content), formats=_FORMATS)
    except UnidentifiedImageError as error:
        raise PictureError("a photo as JPEG, PNG or WebP") from error
    except Image.DecompressionBombError as error:
        raise PictureError(_TOO_MANY) from error
    except Exception as error:  # a broken head: the library raises whatever it met
        raise PictureError("a photo that can be opened; this one is broken") from error
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise PictureError(_TOO_MANY)
    return image


def _read_whole(image: "Image") -> None:
    try:
        image.load()
    except (
        Exception
    ) as error:  # cut short or broken: the library raises whatever it met
        raise PictureError("a whole photo; this one is cut short or broken") from error
