"""What the archive finds an incident by: made from its log and findings, never written.

Made anew when an incident is opened, closed, opened again or said more of, and by
`manage.py rebuild`. While it is open the row stays as it is. A fault here keeps nobody
from closing an incident: it is logged, and `rebuild` names the row as missing.
"""

import logging
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.db import transaction

from incidents import measured
from incidents.documents import loads
from incidents.models import (
    ArchiveRow,
    Incident,
    IncidentRole,
    LogEntry,
    Member,
    StoredFinding,
)
from incidents.models.log import AMENDMENT, OPENING, PLAN
from incidents.text import folded, search_words
from screening.substances import find

log = logging.getLogger(__name__)

# Of an entry's body: names of other things, and words that every entry has.
_NO_WORDS: Final = frozenset(
    {
        "id",
        "at",
        "kind",
        "team",
        "member",
        "entry",
        "unit",
        "height",
        "sample",
        "result",
    }
)
_DERIVED: Final = (
    "agency_id", "opened_at", "head_seq", "entries", "worst", "hazards", "rules",
    "places", "substances", "people", "words", "figures",
)  # fmt: skip


def keep_in_archive(incident: Incident) -> None:
    """Make the row of a locked incident anew; a fault is logged and stops nothing."""
    if incident.is_drill:
        return
    try:
        with transaction.atomic():
            row = derived(incident)
            ArchiveRow.objects.update_or_create(
                incident=incident,
                defaults={name: getattr(row, name) for name in _DERIVED},
            )
    except Exception:
        log.exception("Incident %s was not put into the archive", incident.pk)


def differs(incident: Incident) -> bool:
    """Whether what is kept is not what the log and the findings say.

    The row of an open incident may be of an earlier record; that is no difference.
    """
    kept = ArchiveRow.objects.filter(incident=incident).first()
    if incident.is_drill or kept is None:
        return incident.is_drill is (kept is not None)
    if kept.head_seq < incident.head_seq and not incident.is_closed:
        return False
    row = derived(incident)
    return any(getattr(kept, name) != getattr(row, name) for name in _DERIVED)


def derived(incident: Incident) -> ArchiveRow:
    """The row that follows from what is stored; it is not saved. Six queries."""
    rows = list(incident.entries.order_by("seq").defer("canonical"))
    found = list(
        incident.findings.select_related("entry")
        .prefetch_related("events")
        .order_by("pk")
    )
    material = _Material.of(incident, rows, found)
    stands = [one for one in found if not one.superseded]
    figures = measured.measures_from(incident, rows, found, rows[-1].recorded_at)
    return ArchiveRow(
        incident=incident,
        agency_id=incident.agency_id,
        opened_at=incident.opened_at,
        head_seq=incident.head_seq,
        entries=sum(row.is_for_engine for row in rows),
        worst=max((one.action for one in stands), default=0),
        hazards=_items(one.hazard for one in stands),
        rules=_items(str(one.number) for one in stands if one.number),
        places=_items(map(folded, material.places)),
        substances=_items(map(folded, material.substances)),
        people=_items(map(folded, material.people)),
        words=" ".join(sorted(set(_words(material.texts)))),
        figures=measured.figures_text(figures),
    )


def _items(values: Iterable[str]) -> str:
    """Each once, between line ends; "" for none."""
    once = sorted({value for value in values if value})
    return "\n" + "\n".join(once) + "\n" if once else ""


def _words(texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        yield from search_words(text)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Material:
    """What a person may look an incident up by, as it was written."""

    places: Sequence[str]
    substances: Sequence[str]
    people: Sequence[str]
    texts: Sequence[str]

    @classmethod
    def of(
        cls,
        incident: Incident,
        rows: Sequence[LogEntry],
        found: Sequence[StoredFinding],
    ) -> "_Material":
        bodies = [(row.kind, loads(row.body)) for row in rows]
        said = [body for kind, body in bodies if kind not in (OPENING, AMENDMENT)]
        places = [incident.location, *(one.place for one in found)]
        places += [str(body.get("place", "")) for body in said]
        substances = list(_substances(incident, bodies))
        people = list(_people(incident, rows, said))
        day = incident.opened_at.astimezone(ZoneInfo(incident.agency.time_zone))
        texts = [incident.name, str(incident.pk), f"{day:%Y-%m-%d}"]
        texts += [*places, *substances, *people]
        texts += [text for body in said for text in _texts(body)]
        return cls(places=places, substances=substances, people=people, texts=texts)


def _substances(
    incident: Incident, bodies: Iterable[tuple[str, Mapping[str, Any]]]
) -> Iterator[str]:
    """What was suspected, planned for or read by a cell, with its other names."""
    named = list(loads(incident.setup).get("suspects", ()))
    for kind, body in bodies:
        named += body.get("gases", {}) if kind == "gas_meter" else ()
        if kind == PLAN and body.get("part") == "substances":
            named.append((body.get("says") or {}).get("name", ""))
    for name in dict.fromkeys(named):
        yield name
        known = find(name)
        if known is not None:
            yield from (known.name, *known.aliases)


def _people(
    incident: Incident, rows: Iterable[LogEntry], said: Iterable[Mapping[str, Any]]
) -> Iterator[str]:
    """Who wrote, who was in a team, who had a part, who is named as having decided."""
    yield from (row.author_name for row in rows)
    yield from (str(body["by"]) for body in said if body.get("by"))
    members = Member.objects.filter(team__incident=incident)
    yield from members.values_list("name", flat=True)
    roles = IncidentRole.objects.filter(incident=incident).select_related("person")
    yield from (role.person.shown_name for role in roles)


def _texts(value: Any, key: str = "") -> Iterator[str]:
    """Every text that a body holds, but names of other things."""
    if key in _NO_WORDS:
        return
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for name, item in value.items():
            yield from _texts(item, name)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item, key)
