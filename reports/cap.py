"""A draft of a warning in the Common Alerting Protocol, OASIS CAP 1.2.

Its status is always Draft, of a drill Exercise, and its scope Restricted: whoever is allowed to warn the public
reads, completes and releases it in their own system. Nothing here sends anything.
Urgency, severity and certainty are "Unknown", as no reading says them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final
from xml.etree import ElementTree

from screening.verdicts import CAUTION

NAMESPACE: Final = "urn:oasis:names:tc:emergency:cap:1.2"
EVENT: Final = "Hazardous materials incident"
# CAP 1.2, 3.2.2, responseType; the words are our own.
RESPONSES: Final = {
    "Shelter": "Go inside, close doors and windows, and stay in until told otherwise.",
    "Evacuate": "Leave the area by the way that the authorities name.",
    "Avoid": "Keep away from the area.",
}
# CAP 1.2, 3.2.1: an exercise says in its note which one it is.
DRILL: Final = "Drill, nothing of this happens. "
_RESTRICTION: Final = "For whoever may release a warning to the public"


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What the incident knows; corners are (latitude, longitude) in WGS 84."""

    identifier: str
    sender: str
    sent: datetime  # with its offset
    incident: str
    agency: str
    response: str  # one of `RESPONSES`
    area: str
    corners: Sequence[tuple[Decimal, Decimal]] = ()
    drill: bool = False


def draft(of: Draft) -> bytes:
    """The alert as XML, its elements in the order of the CAP 1.2 schema."""
    ElementTree.register_namespace("", NAMESPACE)
    alert = ElementTree.Element(_name("alert"))
    for tag, text in (
        ("identifier", of.identifier),
        ("sender", of.sender),
        ("sent", _moment(of.sent)),
        ("status", "Exercise" if of.drill else "Draft"),
        ("msgType", "Alert"),
        ("scope", "Restricted"),
        ("restriction", _RESTRICTION),
        ("note", f"{DRILL if of.drill else ''}Draft, not released. {CAUTION}"),
    ):
        _add(alert, tag, text)
    info = ElementTree.SubElement(alert, _name("info"))
    for tag, text in (
        ("language", "en-US"),
        ("category", "CBRNE"),
        ("event", EVENT),
        ("responseType", of.response),
        ("urgency", "Unknown"),
        ("severity", "Unknown"),
        ("certainty", "Unknown"),
        ("senderName", of.agency),
        ("headline", f"{DRILL if of.drill else ''}{EVENT}: {of.incident}"),
        ("instruction", RESPONSES[of.response]),
    ):
        _add(info, tag, text)
    area = ElementTree.SubElement(info, _name("area"))
    _add(area, "areaDesc", of.area)
    if of.corners:
        _add(area, "polygon", polygon(of.corners))
    ElementTree.indent(alert)
    made: bytes = ElementTree.tostring(alert, "utf-8", xml_declaration=True)
    return made + b"\n"


def polygon(corners: Sequence[tuple[Decimal, Decimal]]) -> str:
    """Pairs of latitude and longitude, the first once more at the end (CAP 1.2, 3.2.4)."""
    ring = list(corners)
    if ring[0] != ring[-1]:
        ring.append(ring[0])
    return " ".join(f"{latitude:f},{longitude:f}" for latitude, longitude in ring)


def _moment(at: datetime) -> str:
    """Whole seconds with the offset in figures (CAP 1.2, 3.3.2).

    "Z" is not to be used, and UTC is written as "-00:00".
    """
    offset = at.utcoffset()
    if offset is None:
        raise ValueError("a time in CAP needs its offset")
    seconds = at.replace(microsecond=0, tzinfo=None).isoformat()
    minutes = int(offset.total_seconds()) // 60
    sign = "+" if minutes > 0 else "-"
    hours, rest = divmod(abs(minutes), 60)
    return f"{seconds}{sign}{hours:02}:{rest:02}"


def _name(tag: str) -> str:
    return f"{{{NAMESPACE}}}{tag}"


def _add(parent: ElementTree.Element, tag: str, text: str) -> None:
    ElementTree.SubElement(parent, _name(tag)).text = text
