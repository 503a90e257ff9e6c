"""Records are kept for thirty years past employment; one person's over all incidents."""

from datetime import date, timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from incidents import selectors, services
from incidents.medical import code_of
from incidents.models import EmploymentEnd, Incident
from incidents.services.errors import KeptError
from incidents.services.importing import import_worksheet
from incidents.services.keeping import delete_incident, record_employment_end
from tests.factories import (
    PersonFactory,
    acid,
    entry,
    join,
    log,
    open_incident,
)
from tests.incidents.services.test_importing import FOREIGN

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

ALDER = code_of("Alder")


def been_in(person, name="Quarry Lane pump house", hours=3):
    """An incident in which the entry team, Alder and Birch, was inside."""
    at = timezone.now() - timedelta(hours=hours)
    incident = open_incident(person=person, at=at, name=name)
    log(incident, entry("enter", at, team="entry-1", place="tank room"))
    log(incident, acid(at + timedelta(minutes=5)))
    log(incident, entry("exit", at + timedelta(minutes=20), team="entry-1"))
    incident.refresh_from_db()
    return incident


@pytest.fixture
def boss():
    return PersonFactory.create(display_name="C. Mander")


def left(boss, name, day):
    owner = PersonFactory.create(agency=boss.agency, is_agency_owner=True)
    return record_employment_end(
        person=owner, name=name, ended_on=day, at=timezone.now()
    )


# --- How long -------------------------------------------------------------------------


def test_while_somebody_is_employed_there_is_no_end(boss):
    incident = been_in(boss)

    found = selectors.kept_until(incident, timezone.now())

    assert found.until is None
    assert found.employed == ("Alder", "Birch")
    assert found.least.year == timezone.now().year + 30


def test_thirty_years_past_the_last_employment_to_end(boss):
    """29 CFR 1910.1020(d)(1)(i): the duration of employment plus thirty years."""
    incident = been_in(boss)
    today = timezone.now().date()
    left(boss, "alder ", today)  # one name, typed in whatever way
    left(boss, "Birch", today - timedelta(days=1))

    found = selectors.kept_until(incident, timezone.now())

    assert found.until == date(today.year + 30, today.month, today.day)


def test_who_left_before_the_incident_shortens_nothing(boss):
    """29 CFR 1910.1020(d)(1)(ii): an exposure record, thirty years from the record."""
    incident = been_in(boss)
    for name in ("Alder", "Birch"):
        left(boss, name, date(1999, 1, 1))

    found = selectors.kept_until(incident, timezone.now())

    assert found.until == found.least
    assert found.least.year == timezone.now().year + 30


def test_a_row_that_takes_the_end_back_counts(boss):
    incident = been_in(boss)
    today = timezone.now().date()
    for name in ("Alder", "Birch"):
        left(boss, name, today)
    left(boss, "Alder", None)

    assert selectors.kept_until(incident, timezone.now()).employed == ("Alder",)


def test_the_page_of_the_record_says_until_when(client, boss):
    incident = been_in(boss)
    client.force_login(boss)
    url = reverse("incidents:record", args=(incident.pk,))

    assert "past the employment of Alder, Birch" in client.get(url).text
    for name in ("Alder", "Birch"):
        left(boss, name, timezone.now().date())
    assert f"Until {timezone.now().year + 30}-" in client.get(url).text


# --- Nothing is deleted ---------------------------------------------------------------


def test_the_service_refuses_and_says_why(boss):
    incident = been_in(boss)

    with pytest.raises(KeptError, match=r"29 CFR 1910\.1020"):
        delete_incident(incident_id=incident.pk, person=boss)

    assert Incident.objects.filter(pk=incident.pk).exists()


@pytest.mark.parametrize(
    "table",
    [
        "incidents_incident",
        "incidents_entryteam",
        "incidents_member",
        "incidents_employmentend",
        "incidents_logentry",
    ],
)
def test_the_database_refuses_to_delete(boss, table):
    been_in(boss)
    left(boss, "Alder", timezone.now().date())

    with (
        pytest.raises(DatabaseError, match="takes no delete"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(f"DELETE FROM {table}")

    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM {table}")
        assert cursor.fetchone()[0] > 0


def test_nobody_is_chosen_to_begin_with(client, boss):
    """The first of the list would have left by one press too early."""
    been_in(boss)
    client.force_login(PersonFactory.create(agency=boss.agency, is_agency_owner=True))
    url = reverse("incidents:employment")

    assert '<option value="">Choose</option>' in client.get(url).text
    answer = client.post(url, {"name": "", "ended_on": "2020-01-01"})

    assert answer.status_code == 422
    assert "whose employment" in answer.text
    assert not EmploymentEnd.objects.exists()


@pytest.mark.parametrize("role", ["commander", "viewer"])
def test_who_does_not_run_the_agency_ends_nobody_s_employment(boss, role):
    person = join(open_incident(person=boss), role)

    with pytest.raises(services.NotAllowedError):
        record_employment_end(
            person=person, name="Alder", ended_on=None, at=timezone.now()
        )

    assert not EmploymentEnd.objects.exists()


def test_who_runs_the_agency_records_it_on_the_page(client, boss):
    been_in(boss)
    owner = PersonFactory.create(agency=boss.agency, is_agency_owner=True)
    client.force_login(owner)
    url = reverse("incidents:employment")
    assert "Alder" in client.get(url).text

    assert client.post(url, {"name": "Alder", "ended_on": "2026-01-31"}).url == url
    assert "until 2026-01-31" in client.get(url).text
    later = timezone.now().date() + timedelta(days=2)
    refused = client.post(url, {"name": "Alder", "ended_on": later.isoformat()})
    assert refused.status_code == 422
    assert "a day that has come" in refused.text


# --- One person over all incidents ----------------------------------------------------


def personal(client, code=ALDER):
    return client.get(reverse("incidents:personal-record", args=(code,)))


def test_one_person_s_record_holds_every_incident_and_nobody_else(client, boss):
    been_in(boss, "First fire", hours=9)
    been_in(boss, "Second fire")
    client.force_login(boss)

    text = personal(client).text

    assert text.index("First fire") < text.index("Second fire")
    assert text.count("Time in the hot zone") == 2
    assert "2 incidents" in text
    assert "Birch" not in text
    assert "Not whole" not in text


def test_who_has_a_part_in_one_incident_sees_that_and_that_there_are_more(client, boss):
    first = been_in(boss, "First fire")
    been_in(boss, "Second fire")
    officer = join(first, "safety_officer", may_open=False)
    client.force_login(officer)

    text = personal(client).text

    assert "First fire" in text
    assert "Second fire" not in text
    assert "1 more incident of the agency" in text


def test_the_person_sees_all_of_their_own_and_needs_no_part(client, boss):
    been_in(boss, "First fire")
    alder = PersonFactory.create(agency=boss.agency, display_name="Alder")
    client.force_login(alder)

    sent_on = client.get(reverse("incidents:own-record"))

    assert sent_on.url == reverse("incidents:personal-record", args=(ALDER,))
    assert "First fire" in personal(client).text
    assert personal(client, code_of("Birch")).status_code == 404


def test_a_name_that_two_accounts_have_opens_nothing(client, boss):
    been_in(boss)
    for _ in range(2):
        alder = PersonFactory.create(agency=boss.agency, display_name="Alder")
    client.force_login(alder)

    assert personal(client).status_code == 404
    page = client.get(reverse("incidents:own-record")).text
    assert "No incident of your agency has a record under the name" in page


@pytest.mark.parametrize("who", ["technician", "viewer", "another agency"])
def test_who_may_not_see_exposure_finds_nothing(client, boss, who):
    incident = been_in(boss)
    person = (
        PersonFactory.create(display_name="Alder")
        if who == "another agency"
        else join(incident, who)
    )
    client.force_login(person)

    assert personal(client).status_code == 404


# --- Of other people --------------------------------------------------------------------


def imported(boss, name="Alder"):
    """A worksheet of somebody else in which a member has that name."""
    file = FOREIGN.replace('"id": "a"', f'"id": "{name}"')
    return import_worksheet(
        file=file.encode(), person=boss, agency=boss.agency, at=timezone.now()
    )


def test_a_name_in_an_imported_worksheet_is_not_that_person(client, boss):
    been_in(boss, "First fire")
    imported(boss)
    client.force_login(PersonFactory.create(agency=boss.agency, display_name="Alder"))

    text = personal(client).text

    assert "Canal Road" not in text
    assert "1 incident of" in text
    assert "Not whole" not in text
    assert "1 imported worksheet names somebody the same" in text


def test_who_only_an_imported_worksheet_names_has_no_record(client, boss):
    incident = imported(boss, "Alder")
    alder = PersonFactory.create(agency=boss.agency, display_name="Alder")
    client.force_login(alder)

    assert personal(client).status_code == 404
    page = client.get(reverse("incidents:own-record")).text
    assert "Imported worksheets and drills do not count" in page
    assert selectors.employments(boss.agency) == []
    incident.roles.update(role="commander")
    client.force_login(boss)
    assert personal(client).status_code == 404


def test_an_imported_worksheet_is_kept_by_nobody_s_employment(client, boss):
    been_in(boss)
    left(boss, "Alder", timezone.now().date())
    incident = imported(boss)
    incident.refresh_from_db()

    found = selectors.kept_until(incident, timezone.now())

    assert found.people == ()
    assert found.until == found.least == date(2056, 3, 4)  # its last entry, and thirty
    client.force_login(boss)
    page = client.get(reverse("incidents:record", args=(incident.pk,))).text
    assert "nobody's employment counts" in page
    assert "is not that person" in page


def test_the_people_of_an_imported_worksheet_lead_to_nobody_s_own_record(client, boss):
    incident = imported(boss)
    incident.roles.update(role="commander")
    client.force_login(boss)

    exposures = client.get(reverse("incidents:exposures", args=(incident.pk,))).text
    one = client.get(reverse("incidents:exposure", args=(incident.pk, ALDER))).text

    assert "is not the same person" in exposures
    assert "All incidents" not in one


def test_a_drill_is_in_nobody_s_record(client, boss):
    at = timezone.now() - timedelta(hours=1)
    drill = open_incident(person=boss, at=at, name="Drill hall", is_drill=True)
    log(drill, entry("enter", at, team="entry-1", place="tank room"))
    client.force_login(boss)

    assert personal(client).status_code == 404
    assert selectors.employments(boss.agency) == []
