"""The services ask for the role themselves, whatever page the request came from."""

import itertools

import pytest

from incidents import services
from incidents.models import IncidentRole, LogEntry
from incidents.services import permissions
from screening.readings import KINDS
from tests.factories import (
    START,
    TEAMS,
    AgencyFactory,
    PersonFactory,
    acid,
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

READINGS = [acid(minutes(1)), meter(minutes(1))]
DECISIONS = [
    entry("enter", minutes(1), team="entry-1"),
    entry("exit", minutes(1), team="entry-1"),
    entry("par", minutes(1), team="entry-1"),
    entry("change_ensemble", minutes(1), team="entry-1", ensemble="level_a"),
    entry("ventilate", minutes(1), place="tank room", method="fan"),
    entry("clear", minutes(1), hazard="acid_vapour", place="tank room", reason="dry"),
]


@pytest.mark.parametrize("body", READINGS + DECISIONS, ids=lambda body: body["kind"])
@pytest.mark.parametrize("role", ["training_officer", "medical", "viewer"])
def test_who_reads_only_writes_nothing(role, body):
    incident = open_incident()
    reader = join(incident, role)

    with pytest.raises(services.NotAllowedError):
        log(incident, body, person=reader)

    assert LogEntry.objects.count() == 1


@pytest.mark.parametrize("body", DECISIONS, ids=lambda body: body["kind"])
@pytest.mark.parametrize("role", ["technician", "safety_officer"])
def test_who_logs_readings_does_not_decide(body, role):
    incident = open_incident()
    person = join(incident, role)

    with pytest.raises(services.NotAllowedError, match="decision"):
        log(incident, body, person=person)

    assert LogEntry.objects.count() == 1


@pytest.mark.parametrize("body", READINGS, ids=lambda body: body["kind"])
@pytest.mark.parametrize("role", ["technician", "safety_officer", "commander"])
def test_readings_are_for_those_who_work_with_the_teams(role, body):
    incident = open_incident()

    appended = log(incident, body, person=join(incident, role))

    assert appended.entry.seq == 2


@pytest.mark.parametrize("role", ["technician", "safety_officer"])
def test_people_put_right_their_own_readings_and_no_others(role):
    incident = open_incident()
    mine, other = join(incident, role), join(incident, role)
    reading = log(incident, acid(START), person=mine).entry
    strike = entry("strike", minutes(1), entry=reading.key, reason="misread")

    with pytest.raises(services.NotAllowedError, match="your own readings"):
        log(incident, strike, person=other)
    assert log(incident, strike, person=mine).entry.seq == 3


@pytest.mark.parametrize("role", ["technician", "safety_officer"])
def test_nobody_but_the_commander_strikes_a_strike(role):
    incident = open_incident()
    technician = join(incident, role)
    reading = log(incident, acid(START), person=technician).entry
    struck = log(
        incident,
        entry("strike", minutes(1), entry=reading.key, reason="misread"),
        person=technician,
    ).entry

    with pytest.raises(services.NotAllowedError):
        log(
            incident,
            entry("strike", minutes(2), entry=struck.key, reason="no"),
            person=technician,
        )


def test_the_commander_puts_right_any_reading():
    incident = open_incident()
    reading = log(incident, acid(START), person=join(incident, "technician")).entry

    appended = log(
        incident, entry("strike", minutes(1), entry=reading.key, reason="misread")
    )

    assert appended.entry.seq == 3


def strangers(incident):
    foreign = PersonFactory.create(agency=AgencyFactory.create())
    yield foreign
    yield PersonFactory.create(agency=None)
    yield PersonFactory.create(agency=incident.agency)
    # A role that was given by mistake does not cross the agency's border.
    IncidentRole.objects.create(incident=incident, person=foreign, role="commander")
    yield foreign
    yield join(incident, "commander", is_active=False)


def test_nobody_without_a_part_in_it_writes_anything():
    incident = open_incident()
    given = {"incident_id": incident.pk, "at": minutes(1)}

    for stranger in strangers(incident):
        for act in (
            lambda who: log(incident, acid(minutes(1)), person=who),
            lambda who: services.close_incident(person=who, **given),
            lambda who: services.amend_setup(person=who, changes={}, **given),
            lambda who: services.add_team(person=who, team=TEAMS[0], **given),
            lambda who: services.give_role(
                person=who, to=who, role="commander", **given
            ),
        ):
            with pytest.raises(services.NotAllowedError):
                act(stranger)

    assert LogEntry.objects.count() == 1


@pytest.mark.parametrize(
    "role", [role for role in IncidentRole.Role.values if role != "commander"]
)
def test_only_the_commander_closes_amends_and_gives_roles(role):
    incident = open_incident()
    person = join(incident, role)
    given = {"incident_id": incident.pk, "person": person, "at": minutes(1)}

    for act in (
        lambda: services.close_incident(**given),
        lambda: services.reopen_incident(reason="x", **given),
        lambda: services.amend_setup(changes={"suspects": ["ammonia"]}, **given),
        lambda: services.add_team(team=TEAMS[0] | {"id": "entry-2"}, **given),
        lambda: services.give_role(to=person, role="commander", **given),
    ):
        with pytest.raises(services.NotAllowedError):
            act()

    assert IncidentRole.objects.get(person=person).role == role
    assert LogEntry.objects.count() == 1


def test_opening_an_incident_takes_leave_and_an_agency():
    for person in (
        PersonFactory.create(may_open=False),
        PersonFactory.create(agency=None),
        PersonFactory.create(is_active=False),
    ):
        with pytest.raises(services.NotAllowedError):
            open_incident(person=person)

    assert LogEntry.objects.count() == 0


def test_every_kind_is_someones():
    roles = [role.value for role in IncidentRole.Role]

    for role, kind in itertools.product(roles, KINDS):
        allowed = permissions.may_log(role, kind)
        if role == "commander":
            assert allowed
        elif role in ("technician", "safety_officer"):
            expected = KINDS[kind].is_reading or kind in ("strike", "bump_test")
            assert allowed is expected
        else:
            assert not allowed
    assert not permissions.may_log("commander", "opening")


def test_medical_data_are_seen_by_medical_and_safety_and_recorded_by_medical():
    roles = IncidentRole.Role.values

    assert {r for r in roles if permissions.may_see_medical(r)} == {
        "medical",
        "safety_officer",
    }
    assert [r for r in roles if permissions.may_record_medical(r)] == ["medical"]
    assert not permissions.may_see_medical("")
    assert not permissions.may_record_medical("")
