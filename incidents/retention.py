"""How long the record of an incident has to be kept. Neither writes nor decides.

29 CFR 1910.1020(d)(1): medical records for the employment and thirty years, exposure
records for thirty years. Here both for the employment and thirty years, the longer of the
two: an incident is one record. Where the end of somebody's employment is not known it is
taken for not ended. Nothing here ever frees a record to be deleted.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from command.whereabouts import Person
from incidents.medical import code_of
from incidents.models import Agency, EmploymentEnd, Incident
from reports.exposure import KEPT_YEARS

SOURCE: Final = "29 CFR 1910.1020(d)(1)(i) and (ii)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Until when, at the least. `until` is None while somebody's employment goes on."""

    least: date  # thirty years from the incident, whoever is employed
    until: date | None
    people: tuple[tuple[str, date | None], ...]  # name, and the end of the employment

    @property
    def employed(self) -> tuple[str, ...]:
        """Those whose employment is not known to have ended."""
        return tuple(name for name, ended in self.people if ended is None)


def ends_of(agency: Agency) -> dict[str, date | None]:
    """The end of each employment that is known, by the code of the name. One query."""
    rows = EmploymentEnd.objects.filter(agency=agency).order_by("pk")
    return dict(rows.values_list("person_code", "ended_on"))


def kept(incident: Incident, people: Iterable[Person], last: datetime) -> Kept:
    """`people` are those who have a record, `last` is when the incident ended, or now."""
    ends = ends_of(incident.agency)
    named = tuple((each.name, ends.get(code_of(each.name))) for each in people)
    least = years_on(last.date(), KEPT_YEARS)
    ended = [day for _, day in named if day is not None]
    all_known = len(ended) == len(named)
    until = max([least, *(years_on(day, KEPT_YEARS) for day in ended)])
    return Kept(least=least, until=until if all_known else None, people=named)


def years_on(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # the 29th of February
        return day.replace(year=day.year + years, month=3, day=1)
