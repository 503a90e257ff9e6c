"""Reading a PDF back: the words on its pages and the files in it.

Written for the reports that this package makes: simple fonts with a ToUnicode map and
text in plain strings. It is how the printed head is compared with the attached chain.
"""

import io
import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

_TOKEN: Final = re.compile(
    rb"\((?:[^()\\]|\\.)*\)"  # a string
    rb"|/[^\s/()<>\[\]]+"  # a name
    rb"|[^\s/()<>\[\]]+",  # a number or an operator
    re.DOTALL,
)
_ESCAPE: Final = re.compile(rb"\\([0-7]{1,3}|.)", re.DOTALL)
_ESCAPED: Final = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_NEW_LINE: Final = frozenset({b"T*", b"ET", b"Td", b"Tm"})


def page_texts(pdf: bytes) -> list[str]:
    """The words of each page, line by line as they were set."""
    from pyhanko.pdf_utils.reader import PdfFileReader

    reader = PdfFileReader(io.BytesIO(pdf))
    return [_page_text(page) for page in _pages(reader.root["/Pages"])]


def attachments(pdf: bytes) -> Mapping[str, bytes]:
    """The files embedded in the document, by name.

    Raises ValueError where a name is used twice.
    """
    from pyhanko.pdf_utils.reader import PdfFileReader

    root = PdfFileReader(io.BytesIO(pdf)).root
    if "/Names" not in root or "/EmbeddedFiles" not in root["/Names"]:
        return {}
    names = root["/Names"]["/EmbeddedFiles"]["/Names"]
    found: dict[str, bytes] = {}
    for index in range(0, len(names), 2):
        spec = names[index + 1]
        name = str(spec["/UF"] if "/UF" in spec else spec["/F"])
        if name in found:
            raise ValueError(f"two attachments are named {name}")
        found[name] = spec["/EF"]["/F"].data
    return found


def _pages(node: Any, inherited: Any = None) -> Iterator[tuple[Any, Any]]:
    """Each page with its resources, which a page may inherit."""
    resources = node.get("/Resources", inherited)
    if "/Kids" not in node:
        yield node, resources
        return
    for kid in node["/Kids"]:
        yield from _pages(kid.get_object(), resources)


def _page_text(page_and_resources: tuple[Any, Any]) -> str:
    page, resources = page_and_resources
    fonts = resources["/Font"] if resources and "/Font" in resources else {}
    maps = {str(name): _to_unicode(fonts[name]) for name in fonts}
    contents = page["/Contents"]
    streams = contents if isinstance(contents, list) else [contents]
    data = b"\n".join(stream.get_object().data for stream in streams)
    return _shown(data, maps)


def _shown(data: bytes, maps: Mapping[str, Mapping[int, str]]) -> str:
    out: list[str] = []
    current: Mapping[int, str] = {}
    name, string = "", b""
    for match in _TOKEN.finditer(data):
        token = match[0]
        if token.startswith(b"("):
            string = _unescaped(token[1:-1])
        elif token.startswith(b"/"):
            name = token.decode("latin-1")
        elif token == b"Tf":
            current = maps.get(name, {})
        elif token == b"Tj":
            out.append("".join(current.get(code, "\ufffd") for code in string))
        elif token in _NEW_LINE and out and not out[-1].endswith("\n"):
            out.append("\n")
    return "".join(out)


def _unescaped(string: bytes) -> bytes:
    def one(match: re.Match[bytes]) -> bytes:
        escaped = match[1]
        if escaped.isdigit():
            return bytes([int(escaped, 8) & 0xFF])
        return _ESCAPED.get(escaped, escaped)

    return _ESCAPE.sub(one, string)


def _to_unicode(font: Any) -> Mapping[int, str]:
    """Code to characters, from a ToUnicode map of ranges and single codes."""
    if "/ToUnicode" not in font:
        return {}
    data = font["/ToUnicode"].data
    found: dict[int, str] = {}
    for block in re.findall(rb"beginbfrange(.*?)endbfrange", data, re.DOTALL):
        for low, high, rest in re.findall(
            rb"<(\w+)>\s*<(\w+)>\s*(<\w+>|\[.*?\])", block, re.DOTALL
        ):
            targets = [_utf16(hexes) for hexes in re.findall(rb"<(\w+)>", rest)]
            for offset, code in enumerate(range(int(low, 16), int(high, 16) + 1)):
                listed = rest.startswith(b"[")
                target = targets[offset if listed else 0]
                found[code] = target if listed else chr(ord(target) + offset)
    for block in re.findall(rb"beginbfchar(.*?)endbfchar", data, re.DOTALL):
        for code_hex, target_hex in re.findall(rb"<(\w+)>\s*<(\w+)>", block):
            found[int(code_hex, 16)] = _utf16(target_hex)
    return found


def _utf16(digits: bytes) -> str:
    return bytes.fromhex(digits.decode("ascii")).decode("utf-16-be")
