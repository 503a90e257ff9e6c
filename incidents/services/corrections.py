"""What is said about the record later: which entry stands for a struck one, and addenda.

Nothing of before is touched. An addendum follows on the closing in the same chain: all
after the closing is a stretch of its own, which the reports of before do not cover
(`selectors.signing_due` says so until a report covers it).
"""

from datetime import datetime
from typing import Any, Final
from uuid import UUID, uuid5

from incidents.documents import loads
from incidents.models import Incident, LogEntry, Person
from incidents.models.log import ADDENDUM, CORRECTION
from incidents.services import permissions
from incidents.services.entries import Appended
from incidents.services.errors import IncidentOpenError, NotAllowedError
from incidents.services.locking import lock, one_transaction
from incidents.services.records import Sent, Writing
from incidents.services.typed import refused, typed

LONGEST_ADDENDUM: Final = 10_000


def link_correction(
    *, incident_id: UUID, person: Person, wrong: int, right: int, at: datetime
) -> Appended:
    """Record that entry `right` stands in the place of the struck entry `wrong`.

    Whoever struck the one or commands may say so. A repeat gives the first again.
    """
    with one_transaction():
        incident = lock(incident_id)
        role = permissions.require_writer(person, incident)
        struck, stands = _entry(incident, wrong), _entry(incident, right)
        strike = _strike_of(incident, struck)
        if strike is None:
            raise refused("/wrong", "an entry that was struck")
        if stands.seq <= struck.seq or stands.kind != struck.kind:
            raise refused("/right", "a later entry of the same kind")
        if strike.author_id != person.pk and not permissions.may_command(role):
            raise NotAllowedError("Whoever struck the entry says what stands for it.")
        sent = Sent(
            incident_id=incident_id,
            person=person,
            client_uuid=uuid5(struck.client_uuid, f"corrected by {stands.key}"),
            at=at,
            recorded_at=at,
        )
        return Writing(incident, sent, CORRECTION).keep(
            {
                "wrong": struck.key,
                "wrong_seq": struck.seq,
                "right": stands.key,
                "right_seq": stands.seq,
            }
        )


def _entry(incident: Incident, seq: int) -> LogEntry:
    row = incident.entries.filter(seq=seq).first()
    if row is None or not row.is_for_engine:
        raise refused("", f"an entry of this log with the number {seq}")
    return row


def _strike_of(incident: Incident, row: LogEntry) -> LogEntry | None:
    strikes = incident.entries.filter(kind="strike")
    return next((s for s in strikes if loads(s.body)["entry"] == row.key), None)


def add_addendum(*, text: str, **sent: Any) -> Appended:
    """Add words to a closed incident; `sent` are the fields of `records.Sent`.

    Whoever may log in it may say something later. An open incident takes notes.
    """
    given = Sent(**sent)
    with one_transaction():
        incident = lock(given.incident_id)
        permissions.require_writer(given.person, incident)
        if not incident.is_closed:
            raise IncidentOpenError(f"{incident.name} is open: write a note.")
        words = typed(text, "/text", longest=LONGEST_ADDENDUM, needed="what to add")
        return Writing(incident, given, ADDENDUM).keep({"text": words})
