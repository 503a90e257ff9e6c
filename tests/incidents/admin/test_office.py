"""Who comes into the office of an agency, and that it is no way round the log."""

import pytest
from django.apps import apps
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse
from django.utils import timezone

from incidents.admin import office
from incidents.models import Agency, Incident, LogEntry, Person, SignInRecord
from tests.factories import (
    PASSWORD,
    PersonFactory,
    acid,
    join,
    log,
    open_incident,
)
from tests.incidents.admin.pages import GIVEN, page, person_page

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


# --- Who comes in -----------------------------------------------------------------------


def office_routes():
    """The names of every route of the office."""
    resolver = next(
        one for one in get_resolver().url_patterns if one.namespace == "admin"
    )
    found, waiting = [], [resolver]
    while waiting:
        one = waiting.pop()
        if isinstance(one, URLPattern):
            found.append(one)
        else:
            waiting += one.url_patterns
    return {one.name for one in found if one.name}


# Every route with the number of arguments it takes; a route that is not here fails.
ROUTES = {
    "index": None,
    "login": None,
    "logout": None,
    "password_change": None,
    "jsi18n": None,
    "app_list": "incidents",
    "person-new-password": Person,
    "person-no-second-step": Person,
} | {
    f"incidents_{model._meta.model_name}_{what}": None
    if what in ("changelist", "add")
    else model
    for model in (Person, Agency, SignInRecord)
    for what in ("changelist", "add", "history", "delete", "change")
}


def addresses(agency):
    person = agency.people.first() or PersonFactory.create(agency=agency)
    record = SignInRecord.objects.create(
        at=timezone.now(), person=person, agency=agency, outcome="signed_in"
    )
    number = {Person: person.pk, Agency: agency.pk, SignInRecord: record.pk}
    number["incidents"] = "incidents"
    return {
        name: page(name, number[model]) if model else page(name)
        for name, model in ROUTES.items()
    }


def test_every_route_of_the_office_is_walked():
    assert office_routes() == set(ROUTES)


def test_only_people_agencies_and_sign_ins_are_there():
    assert set(office._registry) == {Person, Agency, SignInRecord}


def test_nobody_but_who_runs_an_agency_comes_in(agency):
    incident = open_incident(person=PersonFactory.create(agency=agency))
    people = [
        incident.opened_by,
        *(join(incident, role) for role in ("technician", "training_officer")),
        PersonFactory.create(agency=agency, is_staff=True),
        PersonFactory.create(agency=None, is_agency_owner=True),
    ]

    for person in people:
        client = Client()
        client.force_login(person)
        for url in addresses(agency).values():
            assert client.get(url, follow=True).status_code == 403, url
            assert client.post(url, follow=True).status_code == 403, url


def test_whoever_is_not_signed_in_is_asked_to_by_our_own_page(agency):
    sign_in = reverse("incidents:sign-in")

    for url in addresses(agency).values():
        for answer in (Client().get(url, follow=True), Client().post(url, follow=True)):
            assert answer.redirect_chain[-1][0].startswith(sign_in), url
            assert answer.request["PATH_INFO"] == sign_in


def test_after_signing_in_it_goes_on_where_one_wanted(client, owner, crew):
    client.logout()
    asked = client.get(person_page(crew), follow=True)

    answer = client.post(
        asked.request["PATH_INFO"],
        {
            "username": "owner",
            "password": PASSWORD,
            "next": asked.context["next"],
        },
    )

    assert answer.url == person_page(crew)


@pytest.mark.parametrize("place", ["//evil.example", "https://evil.example/"])
def test_nobody_is_sent_to_another_place_from_the_office(client, owner, place):
    answer = client.get(page("login"), {"next": place})

    assert answer.url == page("index")


def test_who_has_to_change_the_password_does_that_first(client, owner):
    owner.must_change_password = True
    owner.save()

    assert client.get(page("index")).url == reverse("incidents:password")


@pytest.mark.usefixtures("owner")
def test_another_agency_is_not_there(client, foreign):
    of_theirs = addresses(foreign.agency)

    for name, model in ROUTES.items():
        if model in (None, "incidents"):
            continue
        for answer in (client.get(of_theirs[name]), client.post(of_theirs[name])):
            # Django sends people on to the index where there is no such thing.
            assert answer.status_code in (302, 403, 404), name
            assert "F. Oreign" not in answer.text
            assert GIVEN.search(answer.text) is None
    for name in ("person", "agency", "signinrecord"):
        listed = client.get(page(f"incidents_{name}_changelist")).text
        assert "F. Oreign" not in listed
        assert foreign.username not in listed
        assert foreign.agency.name not in listed
    foreign.refresh_from_db()
    assert foreign.check_password(PASSWORD)


# --- No way round the log ---------------------------------------------------------------


def test_what_was_recorded_has_no_address_whatever_is_sent(client, owner):
    commander = PersonFactory.create(agency=owner.agency)
    incident = open_incident(person=commander)
    reading = log(incident, acid(incident.opened_at)).entry
    root = PersonFactory.create(agency=None, is_superuser=True, is_staff=True)
    before = list(LogEntry.objects.values_list("hash", "body"))

    for person in (owner, root):
        client.force_login(person)
        for model in apps.get_app_config("incidents").get_models():
            if model in office._registry:
                continue
            name = model._meta.model_name
            for rest in ("", "add/", f"{reading.pk}/change/", f"{reading.pk}/delete/"):
                url = f"{page('index')}incidents/{name}/{rest}"
                sent = {"action": "delete_selected", "_selected_action": reading.pk}
                assert client.get(url).status_code == 404, url
                assert client.post(url, sent | {"post": "yes"}).status_code == 404

    assert list(LogEntry.objects.values_list("hash", "body")) == before
    assert Incident.objects.count() == 1


@pytest.mark.parametrize("kind", ["owner", "root"])
def test_nothing_is_deleted_and_sign_ins_are_only_read(client, owner, crew, kind):
    if kind == "root":
        client.force_login(PersonFactory.create(agency=None, is_superuser=True))
    at = addresses(owner.agency)
    record = SignInRecord.objects.get()
    sent = {"post": "yes", "name": "x", "outcome": "signed_out", "_save": "Save"}

    for name in ("person", "agency", "signinrecord"):
        assert client.post(at[f"incidents_{name}_delete"], sent).status_code == 403
        chosen = {
            "action": "delete_selected",
            "_selected_action": [crew.pk, record.pk, owner.agency.pk],
            "post": "yes",
        }
        client.post(at[f"incidents_{name}_changelist"], chosen)
    assert client.post(at["incidents_signinrecord_add"], sent).status_code == 403
    assert client.post(at["incidents_signinrecord_change"], sent).status_code == 403

    assert Person.objects.filter(pk=crew.pk).exists()
    assert Agency.objects.filter(pk=owner.agency.pk).exists()
    kept = SignInRecord.objects.get()
    assert (kept.outcome, kept.name) == (record.outcome, record.name)
