"""Who reviews an agency's incidents sees all of them, and writes in none."""

import pytest
from django.http import Http404
from django.urls import reverse

from incidents import selectors, services
from incidents.models import IncidentRole
from incidents.services.errors import NotAllowedError
from tests.factories import START, PersonFactory, acid, log, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]
TRAINING_OFFICER = IncidentRole.Role.TRAINING_OFFICER


def reviewer(incident, **rights):
    rights = {"may_review": True, "agency": incident.agency} | rights
    return PersonFactory.create(**rights)


def test_a_reviewer_sees_an_incident_without_a_part_as_its_training_officer():
    incident = open_incident()
    seen = selectors.get_incident_for(reviewer(incident), incident.pk)
    assert seen.pk == incident.pk
    assert seen.role == TRAINING_OFFICER


def test_a_part_in_it_goes_before_the_review():
    incident = open_incident()
    commander = incident.opened_by
    commander.may_review = True
    commander.save()
    seen = selectors.get_incident_for(commander, incident.pk)
    assert seen.role == IncidentRole.Role.COMMANDER


@pytest.mark.parametrize(
    "rights", [{"may_review": False}, {"is_active": False}, {"agency": None}]
)
def test_nobody_else_without_a_part_sees_it(rights):
    incident = open_incident()
    with pytest.raises(Http404):
        selectors.get_incident_for(reviewer(incident, **rights), incident.pk)


def test_a_reviewer_of_another_agency_sees_nothing():
    incident = open_incident()
    stranger = PersonFactory.create(may_review=True)
    assert stranger.agency_id != incident.agency_id
    with pytest.raises(Http404):
        selectors.get_incident_for(stranger, incident.pk)
    assert not selectors.may_see_incident(stranger, incident.pk)


def test_a_reviewer_logs_nothing():
    incident = open_incident()
    with pytest.raises(NotAllowedError):
        log(incident, acid(at=START), person=reviewer(incident))


def test_a_drill_says_so_in_its_first_record():
    real = open_incident()
    drill = services.open_incident(
        person=real.opened_by,
        name="Drill",
        mission="reconnaissance",
        at=real.opened_at,
        is_drill=True,
    )
    assert "drill" not in real.entries.get(seq=1).body
    assert '"drill":true' in drill.entries.get(seq=1).body.replace(" ", "")


def test_a_reviewer_without_a_part_opens_the_sheet_of_an_incident(client):
    incident = open_incident()
    client.force_login(reviewer(incident))
    for name in ("sheet", "sheet-live", "late"):
        assert (
            client.get(reverse(f"incidents:{name}", args=(incident.pk,))).status_code
            == 200
        )
