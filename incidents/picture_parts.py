"""What is written into a photo's file beside the picture: time, position, device, words.

A list of the parts that are known to be needed for the picture; whatever else a file
holds counts as metadata, also what nobody has thought of yet. Pure: bytes in, names out.
"""

import re
import struct
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Final

TRAILING: Final = "bytes after the picture"
BROKEN: Final = "parts that cannot be read"
# ITU-T T.81, table B.1.
_SOI, _EOI, _SOS = 0xD8, 0xD9, 0xDA
_ALONE: Final = frozenset({0x01, *range(0xD0, 0xD8)})
_NEXT_MARKER: Final = re.compile(rb"\xff+([^\x00\xd0-\xd7\xff])")
# Application segments that tell how to draw: JFIF, a colour profile, Adobe's transform.
_JPEG_DRAWS: Final[Mapping[int, bytes]] = MappingProxyType(
    {0xE0: b"JFIF\x00", 0xE2: b"ICC_PROFILE\x00", 0xEE: b"Adobe"}
)
_JPEG_NAMES: Final = ((b"Exif\x00", "EXIF"), (b"http://ns.adobe.com/xap/", "XMP"))
_PNG_DRAWS: Final = frozenset(
    {
        b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB",
        b"iCCP", b"pHYs", b"sBIT", b"bKGD",
    }
)  # fmt: skip
_WEBP_DRAWS: Final = frozenset({b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"})


def written_into(content: bytes, media_type: str) -> tuple[str, ...]:
    """The names of the parts that are no part of the picture, each once."""
    try:
        return tuple(dict.fromkeys(_READERS[media_type](content)))
    except (struct.error, IndexError):
        return (BROKEN,)


def _jpeg(content: bytes) -> Iterator[str]:
    position = 2
    while True:
        found = _NEXT_MARKER.search(content, position)
        if found is None:
            yield BROKEN
            return
        if found.start() != position:
            yield BROKEN  # a gap between two segments
        marker = found.group(1)[0]
        position = found.end()
        if marker == _EOI:
            break
        if marker in _ALONE:
            continue
        (length,) = struct.unpack_from(">H", content, position)
        yield from _segment(marker, content[position + 2 : position + length])
        position += length
        if marker == _SOS:
            position = _after_scan(content, position)
    if position < len(content):
        yield TRAILING


def _after_scan(content: bytes, position: int) -> int:
    """Where the coded picture ends: at the next marker."""
    found = _NEXT_MARKER.search(content, position)
    return found.start() if found else len(content)


def _segment(marker: int, data: bytes) -> Iterator[str]:
    if marker == 0xFE:
        yield "a comment"
    elif 0xE0 <= marker <= 0xEF:
        draws = _JPEG_DRAWS.get(marker)
        if draws is None or not data.startswith(draws):
            known = (name for start, name in _JPEG_NAMES if data.startswith(start))
            yield next(known, f"application data {marker - 0xE0}")


def _png(content: bytes) -> Iterator[str]:
    position = 8
    kind = b""
    while kind != b"IEND":
        length, kind = struct.unpack_from(">I4s", content, position)
        if kind not in _PNG_DRAWS:
            yield kind.decode("latin-1")
        position += length + 12
    if position < len(content):
        yield TRAILING


def _webp(content: bytes) -> Iterator[str]:
    (size,) = struct.unpack_from("<I", content, 4)
    position, end = 12, size + 8
    while position < end:
        kind, length = struct.unpack_from("<4sI", content, position)
        if kind not in _WEBP_DRAWS:
            yield kind.decode("latin-1").strip()
        position += 8 + length + length % 2
    if end < len(content):
        yield TRAILING


_READERS: Final[Mapping[str, Callable[[bytes], Iterator[str]]]] = MappingProxyType(
    {"image/jpeg": _jpeg, "image/png": _png, "image/webp": _webp}
)
