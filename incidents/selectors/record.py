"""What of the record is not covered by a signed report yet."""

from dataclasses import dataclass

from incidents.models import Incident
from incidents.models.log import ADDENDUM


@dataclass(frozen=True, slots=True, kw_only=True)
class SigningDue:
    """The stretch of a closed incident's log that no report prints the head of."""

    first: int
    last: int
    addenda: int


def signing_due(incident: Incident) -> SigningDue | None:
    """None while the incident is open, and once a report covers all of it. Two queries."""
    if not incident.is_closed:
        return None
    heads = incident.reports.order_by("-head_seq").values_list("head_seq", flat=True)
    covered = heads.first() or 0
    if covered >= incident.head_seq:
        return None
    rows = incident.entries.filter(seq__gt=covered, kind=ADDENDUM)
    return SigningDue(first=covered + 1, last=incident.head_seq, addenda=rows.count())
