"""Opening, amending, closing and opening again."""

from decimal import Decimal

import pytest

from incidents import engine, services
from incidents.documents import loads
from incidents.models import EntryTeam, Incident, IncidentRole, Member, StoredFinding
from incidents.services import chain
from incidents.services.rebuilding import rebuild
from screening.verdicts import Action
from tests.factories import (
    START,
    TEAMS,
    PersonFactory,
    acid,
    join,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def test_opening_stores_the_set_up_the_teams_and_the_first_record():
    incident = open_incident()

    opening = incident.entries.get()
    assert (opening.seq, opening.kind) == (1, "opening")
    body = loads(opening.body)
    assert body["setup"] == loads(incident.setup)
    assert body["location"] == "Quarry Lane"
    assert body["names"]["entry-1"] == "Entry team 1"
    assert body["names"]["entry-1/a"] == "Alder"
    assert incident.head_hash == opening.hash
    assert [team.key for team in incident.teams.all()] == ["entry-1", "backup-1"]
    assert [m.name for m in Member.objects.filter(team__key="entry-1")] == [
        "Alder",
        "Birch",
    ]
    assert IncidentRole.objects.get(incident=incident).role == "commander"
    assert "name" not in loads(incident.setup)["teams"][0]
    assert chain.verify(incident) is None


def test_a_set_up_with_errors_is_refused_with_all_of_them_and_stores_nothing():
    with pytest.raises(services.EntryRefusedError) as refused:
        open_incident(
            mission="picnic",
            teams=[TEAMS[0] | {"ensemble": "raincoat"}],
            weather={"relative_humidity_percent": Decimal(101)},
        )

    pointers = [error.pointer for error in refused.value.errors]
    assert "/incident/mission" in pointers
    assert "/teams/0/ensemble" in pointers
    assert "/incident/weather/relative_humidity_percent" in pointers
    assert Incident.objects.count() == EntryTeam.objects.count() == 0


@pytest.mark.parametrize("name", ["", "   ", "a\x00b"])
def test_an_incident_needs_a_name_that_can_be_kept(name):
    with pytest.raises(services.EntryRefusedError) as refused:
        open_incident(name=name)

    assert refused.value.errors[0].pointer == "/incident/name"


def test_a_closed_incident_takes_nothing_more():
    incident = open_incident()
    log(incident, acid(START))
    boss = incident.opened_by

    closed = services.close_incident(
        incident_id=incident.pk, person=boss, at=minutes(9), reason="handed over"
    )

    assert closed.closed_at == minutes(9)
    assert closed.closed_by == boss
    closing = incident.entries.get(kind="closing")
    body = loads(closing.body)
    assert body["reason"] == "handed over"
    assert body["standing"]["entry-1"] == "stop"
    assert body["inside"] == ["entry-1"]
    given = {"incident_id": incident.pk, "person": boss, "at": minutes(10)}
    for act in (
        lambda: log(incident, acid(minutes(10))),
        lambda: services.close_incident(**given),
        lambda: services.amend_setup(changes={"suspects": ["ammonia"]}, **given),
        lambda: services.add_team(team=TEAMS[0] | {"id": "entry-2"}, **given),
    ):
        with pytest.raises(services.IncidentClosedError):
            act()
    assert incident.entries.count() == 3
    incident.refresh_from_db()
    assert chain.verify(incident) is None


def test_opening_again_needs_a_reason_and_lets_readings_in():
    incident = open_incident()
    given = {"incident_id": incident.pk, "person": incident.opened_by}
    with pytest.raises(services.IncidentOpenError):
        services.reopen_incident(at=minutes(1), reason="x", **given)
    services.close_incident(at=minutes(1), **given)

    with pytest.raises(services.EntryRefusedError):
        services.reopen_incident(at=minutes(2), reason="  ", **given)
    services.reopen_incident(at=minutes(2), reason="a second drum", **given)

    log(incident, acid(minutes(3)))
    incident.refresh_from_db()
    assert incident.closed_at is None
    assert loads(incident.entries.get(kind="reopening").body)["reason"] == (
        "a second drum"
    )
    assert chain.verify(incident) is None


def test_an_amended_set_up_judges_the_log_again_and_keeps_what_was_shown():
    incident = open_incident()
    dry = {"kind": "ph_paper", "moistened": False, "ph": Decimal(7)}
    log(incident, acid(START) | dry)
    log(incident, acid(minutes(1)))
    shown = set(StoredFinding.objects.values_list("pk", flat=True))

    services.amend_setup(
        incident_id=incident.pk,
        person=incident.opened_by,
        changes={
            "mission": "product_control",
            "weather": {"relative_humidity_percent": Decimal(10)},
            "suspects": ["ammonia"],
        },
        at=minutes(2),
        reason="the humidity was wrong",
    )

    incident.refresh_from_db()
    setup = loads(incident.setup)
    assert incident.mission == setup["incident"]["mission"] == "product_control"
    assert setup["incident"]["weather"] == {"relative_humidity_percent": Decimal(10)}
    assert shown <= set(StoredFinding.objects.values_list("pk", flat=True))
    assert engine.live(incident).context.suspects == ("ammonia",)
    assert not rebuild(incident_id=incident.pk)
    assert chain.verify(incident) is None


def test_a_set_up_under_which_the_log_cannot_be_read_is_refused():
    incident = open_incident(suspects=["tracer gas"])
    log(incident, meter(START, over_range=["tracer gas"]))
    before = incident.entries.count()

    with pytest.raises(services.EntryRefusedError):
        services.amend_setup(
            incident_id=incident.pk,
            person=incident.opened_by,
            changes={"suspects": []},
            at=minutes(1),
        )

    assert incident.entries.count() == before


def test_only_what_can_be_amended_is():
    incident = open_incident()

    with pytest.raises(services.EntryRefusedError) as refused:
        services.amend_setup(
            incident_id=incident.pk,
            person=incident.opened_by,
            changes={"teams": []},
            at=minutes(1),
        )

    assert refused.value.errors[0].pointer == "/teams"


def test_a_team_that_comes_later_is_judged_like_the_others():
    incident = open_incident()
    log(incident, acid(START))

    services.add_team(
        incident_id=incident.pk,
        person=incident.opened_by,
        team=TEAMS[0] | {"id": "entry-2", "name": "Entry team 2"},
        at=minutes(1),
    )
    appended = log(incident, acid(minutes(2), team="entry-2"))

    assert appended.assessment.by_team()["entry-2"].action is Action.STOP
    incident.refresh_from_db()
    assert [team.name for team in incident.teams.all()][-1] == "Entry team 2"
    assert chain.verify(incident) is None
    assert not rebuild(incident_id=incident.pk)


def test_two_teams_of_one_name_are_refused():
    incident = open_incident()

    with pytest.raises(services.EntryRefusedError):
        services.add_team(
            incident_id=incident.pk,
            person=incident.opened_by,
            team=TEAMS[0],
            at=minutes(1),
        )

    assert incident.teams.count() == 2


def test_who_was_given_a_part_by_whom_is_in_the_log():
    incident = open_incident()
    person = PersonFactory.create(agency=incident.agency)

    services.give_role(
        incident_id=incident.pk,
        person=incident.opened_by,
        to=person,
        role="technician",
        at=minutes(1),
    )

    row = incident.entries.get(seq=2)
    assert loads(row.body)["role"] == {
        "id": person.pk,
        "name": person.shown_name,
        "role": "technician",
    }
    log(incident, acid(minutes(2)), person=person)
    incident.refresh_from_db()
    assert chain.verify(incident) is None


def test_people_of_another_agency_take_no_part():
    incident = open_incident()

    with pytest.raises(services.NotAllowedError):
        services.give_role(
            incident_id=incident.pk,
            person=incident.opened_by,
            to=PersonFactory.create(),
            role="viewer",
            at=minutes(1),
        )


def test_an_unknown_role_is_refused():
    incident = open_incident()

    with pytest.raises(services.EntryRefusedError):
        services.give_role(
            incident_id=incident.pk,
            person=incident.opened_by,
            to=join(incident, "viewer"),
            role="chief",
            at=minutes(1),
        )
