"""Scripts of drills: kept as they were written, or made from a past incident."""

import hashlib
from collections.abc import Mapping
from datetime import date, datetime

from incidents.documents import dumps_lines
from incidents.models import Agency, DrillScript, Incident, Person, PlannedDrill
from incidents.services import permissions
from incidents.services.errors import EntryRefusedError, NotAllowedError
from incidents.services.locking import one_transaction
from incidents.services.setup import named
from incidents.services.typed import refused
from incidents.worksheet import worksheet_document
from review.disguise import Disguise, disguised
from review.scripts import read_script
from screening.worksheet import WorksheetErrors, load_json
from screening.worksheet.strict_json import LARGEST_DOCUMENT


def add_script(
    *,
    person: Person,
    file: bytes,
    at: datetime,
    name: str = "",
    from_incident: Incident | None = None,
) -> DrillScript:
    """Keep a script as it was written; `name` is the incident's in it if left out.

    The same script of the same agency is kept once. Raises `NotAllowedError`, and
    `EntryRefusedError` with every error of the document and its JSON Pointer.
    """
    agency = permissions.require_reviewer(person)
    if len(file) > LARGEST_DOCUMENT:
        raise refused("", "a smaller document", f"{len(file):,} bytes")
    try:
        script = read_script(load_json(file))
        text = file.decode("utf-8")
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error
    except UnicodeDecodeError as error:
        raise refused("", "text in UTF-8") from error
    title = named(name or script.worksheet.context.name, "/name")
    digest = hashlib.sha256(file).hexdigest()
    with one_transaction():
        known = DrillScript.objects.filter(agency=agency, sha256=digest, name=title)
        return known.first() or DrillScript.objects.create(
            agency=agency,
            name=title,
            document=text,
            sha256=digest,
            made_at=at,
            made_by=person,
            from_incident=from_incident,
        )


def script_from_incident(
    *,
    incident: Incident,
    person: Person,
    name: str,
    place: str,
    goals: tuple[str, ...],
    briefing: str = "",
    places: Mapping[str, str] | None = None,
    people: Mapping[str, str] | None = None,
    at: datetime,
) -> DrillScript:
    """A script of what was read and decided in an incident, with nobody's name in it.

    `places` gives another name for a place of the log, `people` one for a member, by
    "team/member"; what is not given gets an invented one. Notes and reasons are dropped.
    """
    agency = permissions.require_reviewer(person)
    if incident.agency_id != agency.pk:
        raise NotAllowedError(f"This is no incident of {agency.name}.")
    if not goals:
        raise refused("/drill/goals", "at least one learning goal")
    as_what = Disguise(
        name=named(name, "/name"),
        place=named(place, "/place"),
        places=dict(places or {}),
        people=dict(people or {}),
        goals=goals,
        briefing=briefing,
    )
    document = disguised(worksheet_document(incident), as_what)
    file = dumps_lines(document).encode()
    return add_script(
        person=person, file=file, at=at, name=name, from_incident=incident
    )


def plan_drill(
    *,
    person: Person,
    script: DrillScript,
    day: date,
    crew: list[Person],
    at: datetime,
) -> PlannedDrill:
    """Put a drill on a day; it begins when the training officer begins it."""
    agency = permissions.require_reviewer(person)
    require_own(script, agency)
    require_crew(crew, agency, person)
    with one_transaction():
        planned = PlannedDrill.objects.create(
            script=script, day=day, planned_by=person, planned_at=at
        )
        planned.crew.set(crew)
    return planned


def call_off(*, person: Person, planned: PlannedDrill, at: datetime) -> None:
    """Take a planned drill off its day; a second time does no harm."""
    agency = permissions.require_reviewer(person)
    require_own(planned.script, agency)
    PlannedDrill.objects.filter(pk=planned.pk, called_off_at=None).update(
        called_off_at=at
    )


def require_own(script: DrillScript, agency: Agency) -> None:
    if script.agency_id != agency.pk:
        raise NotAllowedError("This script is not your agency's.")


def require_crew(crew: list[Person], agency: Agency, leader: Person) -> None:
    """Somebody of the agency, and not who leads it: they know what comes."""
    if not crew:
        raise refused("/crew", "at least one person")
    for person in crew:
        if person.agency_id != agency.pk or not person.is_active:
            raise NotAllowedError(f"{person.shown_name} is not of {agency.name}.")
        if person.pk == leader.pk:
            raise NotAllowedError("Who leads a drill knows what comes, and is no crew.")
