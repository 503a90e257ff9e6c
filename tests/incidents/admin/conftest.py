import pytest

from tests.factories import AgencyFactory, PersonFactory


@pytest.fixture
def agency():
    return AgencyFactory.create(name="Example County")


@pytest.fixture
def owner(client, agency):
    person = PersonFactory.create(
        agency=agency, is_agency_owner=True, username="owner", display_name="O. Ner"
    )
    client.force_login(person)
    return person


@pytest.fixture
def crew(agency):
    return PersonFactory.create(agency=agency, username="robin", display_name="R. Ash")


@pytest.fixture
def foreign():
    return PersonFactory.create(username="foreign", display_name="F. Oreign")
