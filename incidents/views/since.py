"""What others decided while a page was open, so that nobody decides past anybody."""

from dataclasses import dataclass
from datetime import datetime

from incidents.documents import loads
from incidents.models import Incident, Person
from incidents.models.log import WRITTEN_KINDS
from incidents.services.permissions import READING_KINDS
from incidents.views.words import names_of, words_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Meanwhile:
    """One decision of somebody else."""

    seq: int
    kind: str
    team: str
    by: str
    at: datetime
    words: str


def meanwhile(incident: Incident, person: Person, opened: int) -> list[Meanwhile]:
    """Decisions of others after entry `opened`, oldest first. One query."""
    rows = incident.entries.filter(seq__gt=opened, seq__lte=incident.head_seq)
    rows = rows.exclude(author_id=person.pk).exclude(kind__in=READING_KINDS)
    names = names_of(incident)
    return [
        Meanwhile(
            seq=row.seq,
            kind=row.kind,
            team=names.team(str(body.get("team", ""))),
            by=row.author_name,
            at=row.recorded_at,
            words=words_of(row, body, names),
        )
        for row in rows.order_by("seq")
        if row.is_for_engine or row.kind in WRITTEN_KINDS
        for body in (loads(row.body),)
    ]
