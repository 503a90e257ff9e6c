"""One person's exposure over all incidents, and until when an incident is kept."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, cast

from django.db.models import QuerySet

from incidents import medical
from incidents.models import Agency, Incident, Member, Person
from incidents.moments import ended_at
from incidents.retention import Kept, ends_of, kept
from incidents.selectors.access import incidents_for
from incidents.selectors.exposure import exposed_people, exposure_record
from reports.exposure import ExposureRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class OfIncident:
    """One person's record of one incident."""

    incident: Incident
    record: ExposureRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonalRecord:
    """One person's records, oldest first, as far as the reader may see them."""

    name: str
    records: tuple[OfIncident, ...]
    # Incidents that name the person and that the reader has no such part in.
    elsewhere: int
    imported: int  # worksheets of others with this name in them: somebody else's
    is_own: bool
    ended_on: date | None  # the day, or None where it is not known to have ended


def kept_until(incident: Incident, at: datetime) -> Kept:
    """By the employment of the agency's own people; of an import nobody is one."""
    if not _of_own_people(incident):
        return kept(incident, (), ended_at(incident) or at)
    people = [each.person for each in exposed_people(incident, at)]
    return kept(incident, people, ended_at(incident) or at)


def personal_record(
    reader: Person, code: str, at: datetime, *, seeing: Collection[str]
) -> PersonalRecord | None:
    """Over all incidents of the reader's agency, no drills; None where they see none.

    Imported worksheets and drills are left out.

    Whose role in an incident is one of `seeing` sees it from there; the person themself sees
    all. They are known by the name that the agency gave their account, if it gave that
    name to nobody else.
    """
    agency = reader.agency
    if agency is None:
        return None
    own = _is_own(reader, agency, code)
    mine = list(_seen(reader, agency, own, seeing))
    records = [
        OfIncident(incident=incident, record=record)
        for incident in mine
        if (record := exposure_record(incident, code, at)) is not None
    ]
    if not records:
        return None
    return PersonalRecord(
        name=records[0].record.name,
        records=tuple(sorted(records, key=lambda each: each.incident.opened_at)),
        elsewhere=_named(
            Member.objects.filter(
                team__incident__in=agency.incidents.of_own_people()
            ).exclude(team__incident__in=mine),
            code,
        ),
        imported=_named(
            Member.objects.filter(team__incident__in=_imports(agency)), code
        ),
        is_own=own,
        ended_on=ends_of(agency).get(code),
    )


def employments(agency: Agency) -> list[tuple[str, date | None]]:
    """Everyone of the agency's teams by name, with the end of the employment. Two queries."""
    ends = ends_of(agency)
    names = Member.objects.filter(team__incident__in=agency.incidents.of_own_people())
    found = {medical.code_of(n): n for n in names.values_list("name", flat=True)}
    people = [(name, ends.get(code)) for code, name in found.items()]
    return sorted(people, key=lambda each: each[0].casefold())


def own_code(person: Person) -> str:
    return medical.code_of(person.shown_name)


def _is_own(reader: Person, agency: Agency, code: str) -> bool:
    if own_code(reader) != code:
        return False
    others = agency.people.exclude(pk=reader.pk)
    return all(own_code(other) != code for other in others)


def _seen(
    reader: Person, agency: Agency, own: bool, seeing: Collection[str]
) -> list[Incident]:
    if own:
        rows = agency.incidents.of_own_people()
        return list(rows.select_related("agency", "sop"))
    parts = incidents_for(reader).select_related("sop")
    parts = parts.filter(pk__in=agency.incidents.of_own_people())
    return [each for each in parts if cast(Any, each).role in seeing]


def _named(members: QuerySet[Member], code: str) -> int:
    """In how many incidents one of these members has that name."""
    named = members.values_list("team__incident", "name").distinct()
    return len({key for key, name in named if medical.code_of(name) == code})


def _imports(agency: Agency) -> QuerySet[Incident]:
    return agency.incidents.filter(imported__isnull=False)


def _of_own_people(incident: Incident) -> bool:
    return Incident.objects.of_own_people().filter(pk=incident.pk).exists()
