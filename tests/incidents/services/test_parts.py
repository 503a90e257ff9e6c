"""Who takes which part: given, changed, taken back, and offered to other agencies."""

from datetime import timedelta

import pytest

from incidents import selectors, services
from incidents.documents import loads
from incidents.models import Incident, IncidentRole, Invitation, LogEntry
from incidents.services import chain
from incidents.services.parts import GOOD_FOR, INVITABLE
from tests.factories import PersonFactory, acid, join, log, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def invite(incident, role="technician", at=None, **changes):
    given = {
        "incident_id": incident.pk,
        "person": incident.opened_by,
        "role": role,
        "meant_for": "E. Moss, state team",
        "at": at or minutes(1),
    }
    return services.invite(**(given | changes))


def accept(code, person, at=None):
    return services.accept_invitation(code=code, person=person, at=at or minutes(2))


def last_part(incident):
    return loads(incident.entries.order_by("-seq")[0].body)["role"]


@pytest.fixture
def incident():
    return open_incident()


@pytest.fixture
def neighbour():
    return PersonFactory.create(display_name="E. Moss", may_open=False)


# --- Invited from another agency ---------------------------------------------------


@pytest.mark.parametrize("role", INVITABLE)
def test_whoever_brings_the_code_has_the_part_and_the_log_says_who_and_by_whom(
    incident, neighbour, role
):
    _, code = invite(incident, role)

    accept(code, neighbour)

    assert IncidentRole.of(neighbour, incident) == role
    part = last_part(incident)
    assert part["name"] == "E. Moss"
    assert part["agency"] == neighbour.agency.name
    assert part["invited_by"] == incident.opened_by.shown_name
    assert part["role"] == role
    assert incident.entries.order_by("-seq")[0].author == neighbour
    assert chain.verify(Incident.objects.get()) is None


def test_the_code_is_typed_from_paper_with_or_without_capitals_and_hyphens(
    incident, neighbour
):
    _, code = invite(incident)

    accept(f" {code.upper().replace('-', ' ')} ", neighbour)

    assert IncidentRole.of(neighbour, incident) == "technician"


def test_the_code_itself_is_kept_nowhere(incident):
    invitation, code = invite(incident)

    kept = " ".join(str(value) for value in vars(invitation).values())
    assert code not in kept
    assert code.replace("-", "") not in kept
    assert LogEntry.objects.count() == 1


def test_two_codes_are_never_the_same_and_hold_fifty_bits(incident):
    codes = {invite(incident)[1] for _ in range(20)}

    assert len(codes) == 20
    assert {len(code.replace("-", "")) for code in codes} == {12}


def test_a_code_works_once(incident, neighbour):
    _, code = invite(incident)
    accept(code, neighbour)

    with pytest.raises(services.NoSuchInvitationError):
        accept(code, PersonFactory.create())

    assert incident.roles.count() == 2


@pytest.mark.parametrize(
    ("after", "works"),
    [
        (GOOD_FOR - timedelta(seconds=1), True),
        (GOOD_FOR, False),
        (timedelta(days=3), False),
    ],
)
def test_a_code_works_for_an_hour_and_not_at_its_end(incident, neighbour, after, works):
    _, code = invite(incident, at=minutes(1))

    if works:
        accept(code, neighbour, at=minutes(1) + after)
    else:
        with pytest.raises(services.NoSuchInvitationError):
            accept(code, neighbour, at=minutes(1) + after)

    assert bool(IncidentRole.of(neighbour, incident)) is works


def test_a_withdrawn_code_does_not_work(incident, neighbour):
    invitation, code = invite(incident)

    services.withdraw_invitation(
        incident_id=incident.pk,
        person=incident.opened_by,
        number=invitation.pk,
        at=minutes(1),
    )

    with pytest.raises(services.NoSuchInvitationError):
        accept(code, neighbour)
    assert not selectors.invitations_of(incident, minutes(2)).exists()


def test_whatever_is_wrong_with_a_code_the_answer_is_the_same(incident, neighbour):
    _, used = invite(incident)
    accept(used, PersonFactory.create())
    _, old = invite(incident, at=minutes(-90))
    said = set()

    for code in (used, old, "no-such-code", ""):
        with pytest.raises(services.NoSuchInvitationError) as refused:
            accept(code, neighbour)
        said.add(str(refused.value))

    assert len(said) == 1


def test_command_is_not_offered_by_code(incident):
    with pytest.raises(services.EntryRefusedError):
        invite(incident, "commander")

    assert Invitation.objects.count() == 0


@pytest.mark.parametrize("role", INVITABLE)
def test_only_the_commander_invites_and_withdraws(incident, role):
    person = join(incident, role)
    invitation, _ = invite(incident)

    with pytest.raises(services.NotAllowedError):
        invite(incident, person=person)
    with pytest.raises(services.NotAllowedError):
        services.withdraw_invitation(
            incident_id=incident.pk, person=person, number=invitation.pk, at=minutes(1)
        )

    assert selectors.invitations_of(incident, minutes(1)).count() == 1


def test_an_invitation_of_another_incident_is_not_withdrawn_from_this_one(incident):
    other = open_incident()
    invitation, _ = invite(other)

    services.withdraw_invitation(
        incident_id=incident.pk,
        person=incident.opened_by,
        number=invitation.pk,
        at=minutes(1),
    )

    assert selectors.invitations_of(other, minutes(2)).count() == 1


def test_people_of_the_same_agency_and_of_none_do_not_use_up_a_code(
    incident, neighbour
):
    _, code = invite(incident)
    own = PersonFactory.create(agency=incident.agency)

    for person in (own, PersonFactory.create(agency=None)):
        with pytest.raises(services.NotAllowedError):
            accept(code, person)

    accept(code, neighbour)
    assert IncidentRole.of(own, incident) == ""


def test_who_has_a_part_keeps_it_and_the_code_is_still_good(incident, neighbour):
    accept(invite(incident, "technician")[1], neighbour)
    _, second = invite(incident, "viewer")

    with pytest.raises(services.NotAllowedError, match="already"):
        accept(second, neighbour)

    assert IncidentRole.of(neighbour, incident) == "technician"
    assert selectors.invitations_of(incident, minutes(2)).count() == 1


def test_a_code_needs_a_name_that_can_be_kept(incident):
    for name in ("", "  ", "x" * 121, "E.\x00Moss"):
        with pytest.raises(services.EntryRefusedError):
            invite(incident, meant_for=name)


def test_an_invited_person_finds_that_incident_and_no_other(incident, neighbour):
    other = open_incident(
        person=PersonFactory.create(agency=incident.agency), name="Another one"
    )
    accept(invite(incident)[1], neighbour)

    assert [one.pk for one in selectors.incidents_for(neighbour)] == [incident.pk]
    assert selectors.sheet_tag(incident.pk, person=neighbour)
    with pytest.raises(Exception, match="No such incident"):
        selectors.sheet_tag(other.pk, person=neighbour)


def test_an_invited_technician_logs_and_decides_nothing(incident, neighbour):
    accept(invite(incident, "technician")[1], neighbour)

    assert log(incident, acid(minutes(3)), person=neighbour).entry.author == neighbour
    with pytest.raises(services.NotAllowedError):
        log(
            incident,
            {"kind": "par", "team": "entry-1", "at": minutes(3).isoformat()},
            person=neighbour,
        )


def test_an_invited_person_can_be_given_another_part_but_not_command(
    incident, neighbour
):
    accept(invite(incident, "viewer")[1], neighbour)
    given = {
        "incident_id": incident.pk,
        "person": incident.opened_by,
        "to": neighbour,
        "at": minutes(3),
    }

    services.give_role(role="technician", **given)
    with pytest.raises(services.NotAllowedError, match="Command"):
        services.give_role(role="commander", **given)

    assert IncidentRole.of(neighbour, incident) == "technician"


def test_a_row_across_agencies_that_nobody_was_invited_to_opens_nothing(
    incident, neighbour
):
    IncidentRole.objects.create(
        incident=incident, person=neighbour, role=IncidentRole.Role.VIEWER
    )

    assert IncidentRole.of(neighbour, incident) == ""
    assert not selectors.incidents_for(neighbour).exists()
    assert neighbour not in {row.person for row in selectors.people_of(incident)}
    with pytest.raises(services.NotAllowedError):
        services.give_role(
            incident_id=incident.pk,
            person=incident.opened_by,
            to=neighbour,
            role="viewer",
            at=minutes(1),
        )


# --- Taken back ----------------------------------------------------------------------


def test_a_part_that_is_taken_back_is_logged_and_ends_at_once(incident, neighbour):
    accept(invite(incident)[1], neighbour)

    services.end_role(
        incident_id=incident.pk,
        person=incident.opened_by,
        of=neighbour,
        at=minutes(3),
    )

    assert IncidentRole.of(neighbour, incident) == ""
    assert not selectors.incidents_for(neighbour).exists()
    part = last_part(incident)
    assert (part["name"], part["role"], part["ended"]) == (
        "E. Moss",
        "",
        "technician",
    )


def test_who_was_let_go_comes_back_only_by_a_new_code(incident, neighbour):
    _, code = invite(incident)
    accept(code, neighbour)
    services.end_role(
        incident_id=incident.pk,
        person=incident.opened_by,
        of=neighbour,
        at=minutes(3),
    )

    with pytest.raises(services.NoSuchInvitationError):
        accept(code, neighbour)
    accept(invite(incident, "viewer")[1], neighbour)

    assert IncidentRole.of(neighbour, incident) == "viewer"


def test_somebody_always_commands(incident):
    commander = incident.opened_by
    given = {"incident_id": incident.pk, "person": commander, "at": minutes(1)}

    with pytest.raises(services.NotAllowedError, match="command"):
        services.end_role(of=commander, **given)
    with pytest.raises(services.NotAllowedError, match="command"):
        services.give_role(to=commander, role="viewer", **given)
    second = join(incident, "commander")
    services.give_role(to=commander, role="viewer", **given)

    assert IncidentRole.of(commander, incident) == "viewer"
    assert IncidentRole.of(second, incident) == "commander"


def test_a_commander_who_may_no_longer_sign_in_does_not_count_as_one(incident):
    join(incident, "commander", is_active=False)

    with pytest.raises(services.NotAllowedError, match="command"):
        services.end_role(
            incident_id=incident.pk,
            person=incident.opened_by,
            of=incident.opened_by,
            at=minutes(1),
        )


@pytest.mark.parametrize("role", INVITABLE)
def test_only_the_commander_takes_a_part_back(incident, role):
    person, other = join(incident, role), join(incident, "viewer")

    with pytest.raises(services.NotAllowedError):
        services.end_role(
            incident_id=incident.pk, person=person, of=other, at=minutes(1)
        )

    assert IncidentRole.of(other, incident) == "viewer"


def test_a_part_that_nobody_has_is_not_taken_back(incident, neighbour):
    with pytest.raises(services.NotAllowedError, match="no part"):
        services.end_role(
            incident_id=incident.pk,
            person=incident.opened_by,
            of=neighbour,
            at=minutes(1),
        )

    assert LogEntry.objects.count() == 1


# --- Who has a part ------------------------------------------------------------------


def test_the_list_of_people_comes_in_one_query_however_many(
    incident, django_assert_num_queries
):
    for _ in range(20):
        accept(invite(incident, "viewer")[1], PersonFactory.create())

    with django_assert_num_queries(1):
        rows = [
            (row.person.shown_name, row.person.agency.name, row.given_at)
            for row in selectors.people_of(incident)
        ]

    assert len(rows) == 21
    assert rows[0][0] == incident.opened_by.shown_name
