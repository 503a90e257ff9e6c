"""The log of requests for records, those that are overdue first."""

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from incidents.models import AccessAnswer, AccessRequest, Agency

Outcome = AccessAnswer.Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class RequestRow:
    """One request, where it stands and until when it is to be answered."""

    request: AccessRequest
    answers: tuple[AccessAnswer, ...]
    today: date

    @property
    def is_open(self) -> bool:
        return all(answer.outcome == Outcome.LATER for answer in self.answers)

    @property
    def due(self) -> date:
        """The day that was named for a delay, where one was; else the fifteenth."""
        named = [one.earliest_on for one in self.answers if one.earliest_on]
        return named[-1] if named else self.request.due_on

    @property
    def is_overdue(self) -> bool:
        return self.is_open and self.today > self.due

    @property
    def was_late(self) -> bool:
        """Whether the first answer of any kind came after the fifteenth working day."""
        first = self.answers[0].answered_on if self.answers else self.today
        return first > self.request.due_on

    @property
    def order(self) -> tuple[object, ...]:
        newest = -self.request.received_on.toordinal()
        closed = not self.is_open
        return (
            not self.is_overdue,
            closed,
            newest if closed else self.due.toordinal(),
            self.request.pk,
        )


def access_requests(agency: Agency, today: date) -> list[RequestRow]:
    """Overdue, then open by the day, then what was answered, newest first. Two queries."""
    found = _rows(AccessRequest.objects.filter(agency=agency), today)
    return sorted(found, key=lambda row: row.order)


def access_request(agency: Agency, pk: int, today: date) -> RequestRow | None:
    """One request of the agency. Two queries, or one where there is none."""
    rows = _rows(AccessRequest.objects.filter(agency=agency, pk=pk), today)
    return rows[0] if rows else None


def _rows(requests: QuerySet[AccessRequest], today: date) -> list[RequestRow]:
    return [
        RequestRow(request=row, answers=tuple(row.answers.all()), today=today)
        for row in requests.prefetch_related("answers")
    ]
