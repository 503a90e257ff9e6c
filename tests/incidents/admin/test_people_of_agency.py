"""What whoever runs an agency does there: people, its name, who signed in."""

import pytest
from django.contrib.admin.models import LogEntry as OfficeEntry
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_otp.plugins.otp_totp.models import TOTPDevice

from incidents.models import Agency, Person, SignInRecord
from incidents.services import second_step
from tests.factories import (
    PASSWORD,
    PersonFactory,
    join,
    open_incident,
)
from tests.incidents.admin.pages import GIVEN, page, person_page

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

Outcome = SignInRecord.Outcome


# --- People -------------------------------------------------------------------------------


def add(client, **changes):
    given = {"username": "new", "display_name": "N. Ew", "may_open": "on"}
    return client.post(page("incidents_person_add"), given | changes)


def test_a_new_person_gets_a_password_that_is_shown_once_and_changed_at_first(
    client, owner
):
    answer = add(client)
    password = GIVEN.search(answer.text)[1]

    person = Person.objects.get(username="new")
    assert (person.agency, person.display_name) == (owner.agency, "N. Ew")
    assert (person.may_open, person.is_agency_owner) == (True, False)
    assert (person.is_staff, person.is_superuser) == (False, False)
    assert answer["Cache-Control"].startswith(("no-store", "max-age=0"))
    theirs = Client()
    assert theirs.login(username="new", password=password)
    assert theirs.get("/").url == reverse("incidents:password")
    assert password not in client.get(person_page(person)).text


@pytest.mark.parametrize(
    "changes",
    [
        {"is_superuser": "on", "is_staff": "on"},
        {"agency": "foreign"},
        {"password": "chosen-by-someone", "must_change_password": ""},
        {"user_permissions": "1", "groups": "1"},
    ],
)
def test_what_the_form_does_not_ask_is_not_taken(client, owner, foreign, changes):
    if "agency" in changes:
        changes = {"agency": foreign.agency_id}

    add(client, **changes)

    person = Person.objects.get(username="new")
    assert (person.agency, person.is_superuser, person.is_staff) == (
        owner.agency,
        False,
        False,
    )
    assert person.must_change_password
    assert not person.check_password("chosen-by-someone")


@pytest.mark.usefixtures("owner", "foreign")
@pytest.mark.parametrize(
    "changes",
    [
        {"username": ""},
        {"username": "OWNER"},
        {"username": "foreign"},
        {"username": "two words"},
        {"display_name": "N.\u202eEw"},
        {"display_name": "x" * 121},
    ],
)
def test_what_cannot_be_is_refused_at_the_field(client, changes):
    answer = add(client, **changes)

    assert answer.status_code == 200
    assert "errorlist" in answer.text
    assert Person.objects.count() == 2


def test_a_new_password_ends_what_someone_is_signed_in_at_and_is_kept(
    client, owner, crew
):
    theirs = Client()
    theirs.force_login(crew)
    url = page("person-new-password", crew.pk)
    assert GIVEN.search(client.get(url).text) is None
    crew.refresh_from_db()
    assert crew.check_password(PASSWORD)

    password = GIVEN.search(client.post(url).text)[1]

    assert theirs.get("/").status_code == 302
    assert Client().login(username="robin", password=password)
    record = SignInRecord.objects.get()
    assert (record.outcome, record.person, record.by) == (
        Outcome.PASSWORD_GIVEN,
        crew,
        owner,
    )
    assert OfficeEntry.objects.get().user == owner


def test_a_lost_authenticator_is_taken_away_by_who_runs_the_agency(client, owner, crew):
    TOTPDevice.objects.create(user=crew, name="x", confirmed=True)
    url = page("person-no-second-step", crew.pk)
    client.get(url)
    assert second_step.is_on(crew)

    client.post(url)

    assert not second_step.is_on(crew)
    record = SignInRecord.objects.get()
    assert (record.outcome, record.by) == (Outcome.SECOND_STEP_OFF, owner)


def change(client, person, **changes):
    marks = {"may_open": "on", "is_active": "on", "display_name": person.display_name}
    if person.is_agency_owner:
        marks["is_agency_owner"] = "on"
    sent = {key: value for key, value in (marks | changes).items() if value}
    return client.post(person_page(person), sent)


def test_who_leaves_is_out_at_once_and_may_come_back(client, owner, crew):
    theirs = Client()
    theirs.force_login(crew)

    assert change(client, crew, is_active="").status_code == 302
    assert theirs.get("/").status_code == 302
    change(client, Person.objects.get(pk=crew.pk), is_active="on")

    assert Person.objects.get(pk=crew.pk).is_active
    kept = SignInRecord.objects.order_by("pk").values_list("outcome", "by")
    assert list(kept) == [(Outcome.SHUT_OUT, owner.pk), (Outcome.LET_IN, owner.pk)]


def test_an_open_incident_that_nobody_commands_any_more_is_named(client, owner, crew):
    incident = open_incident(person=crew, name="Quarry Lane")
    both = open_incident(person=crew, name="Mill Road")
    join(both, "commander")

    assert owner.agency == incident.agency
    change(client, crew, is_active="")
    text = client.get(page("incidents_person_changelist")).text

    assert "Nobody commands “Quarry Lane” any more" in text
    assert "Mill Road" not in text


@pytest.mark.parametrize("mark", ["is_active", "is_agency_owner"])
def test_nobody_shuts_themself_out(client, owner, mark):
    answer = change(client, owner, **{mark: ""})

    assert answer.status_code == 200
    assert "Someone else who runs the agency" in answer.text
    owner.refresh_from_db()
    assert owner.is_active
    assert owner.is_agency_owner


def test_the_name_to_sign_in_with_and_the_agency_stay(client, owner, crew, foreign):
    change(client, crew, username="other", agency=str(foreign.agency_id))

    crew.refresh_from_db()
    assert (crew.username, crew.agency) == ("robin", owner.agency)


def test_who_runs_the_whole_server_is_not_in_an_owners_hands(client, owner):
    root = PersonFactory.create(agency=owner.agency, is_superuser=True)

    assert client.post(page("person-new-password", root.pk)).status_code == 404
    assert client.post(person_page(root), {"is_active": ""}).status_code == 302
    assert root.username not in client.get(page("incidents_person_changelist")).text

    root.refresh_from_db()
    assert root.is_active
    assert root.check_password(PASSWORD)


# --- The agency -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "taken"),
    [
        ("Europe/Berlin", True),
        ("Mars/Base", False),
        ("../etc/passwd", False),
        ("America", False),
        ("", False),
    ],
)
def test_a_time_zone_that_no_page_could_show_is_refused(client, owner, zone, taken):
    url = page("incidents_agency_change", owner.agency_id)

    client.post(url, {"name": "Example County", "time_zone": zone})

    owner.agency.refresh_from_db()
    assert owner.agency.time_zone == (zone if taken else "America/Chicago")


@pytest.mark.usefixtures("owner")
def test_who_runs_one_agency_makes_no_other(client):
    url = page("incidents_agency_add")

    answer = client.post(url, {"name": "Elsewhere", "time_zone": "UTC"})

    assert answer.status_code == 403
    assert Agency.objects.count() == 1


def test_who_runs_the_whole_server_makes_agencies_and_their_people(client):
    root = PersonFactory.create(agency=None, is_superuser=True)
    client.force_login(root)

    for name in ("Mill Town", "Mill-Town"):
        client.post(page("incidents_agency_add"), {"name": name, "time_zone": "UTC"})
    first, second = Agency.objects.order_by("pk")
    answer = add(client, agency=first.pk, is_agency_owner="on")

    assert (first.slug, second.slug) == ("mill-town", "mill-town-2")
    assert GIVEN.search(answer.text)
    assert first.people.get().is_agency_owner


# --- Who signed in -----------------------------------------------------------------------


def test_who_signed_in_from_where_is_listed_in_the_agencys_time(client, owner, crew):
    SignInRecord.objects.create(
        at=timezone.now().replace(month=1, day=5, hour=3, minute=7, second=0),
        person=crew,
        agency=crew.agency,
        name="robin",
        address="192.0.2.7",
        outcome=Outcome.WRONG_PASSWORD,
    )

    text = client.get(page("incidents_signinrecord_changelist")).text

    assert owner.agency.time_zone == "America/Chicago"
    assert "robin" in text
    assert "192.0.2.7" in text
    assert "Wrong password" in text
    assert "01-04 21:07:00" in text


def test_signing_out_from_the_office_is_kept_like_from_everywhere(client, owner):
    client.post(page("logout"))

    assert client.get("/").status_code == 302
    assert SignInRecord.objects.get().outcome == Outcome.SIGNED_OUT
    assert SignInRecord.objects.get().person == owner
