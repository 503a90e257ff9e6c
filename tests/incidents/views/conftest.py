import pytest
from django.utils import timezone

from tests.factories import PersonFactory, join, open_incident


@pytest.fixture
def incident(db):
    """Open now, so that what is sent by a page lies after it."""
    return open_incident(at=timezone.now())


@pytest.fixture
def commander(client, incident):
    client.force_login(incident.opened_by)
    return incident.opened_by


@pytest.fixture
def technician(client, incident):
    person = join(incident, "technician", display_name="T. Rowan")
    client.force_login(person)
    return person


@pytest.fixture
def stranger(db):
    """Of another agency."""
    return PersonFactory.create()


@pytest.fixture
def officer(client, db):
    """Signed in; writes the SOP of an agency, and may open incidents."""
    person = PersonFactory.create(may_edit_sop=True, display_name="S. Ferris")
    client.force_login(person)
    return person
