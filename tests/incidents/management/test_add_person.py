from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from incidents.models import Agency, Person

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def add(username, **options):
    out = StringIO()
    options = {"agency": "Example County", "time_zone": "America/Chicago"} | options
    call_command("add_person", username, stdout=out, **options)
    return out.getvalue().strip().rpartition(" ")[2]


def test_the_printed_password_signs_in():
    password = add("dana", name="Dana Holt", may_open=True)

    person = Person.objects.get()
    assert Client().login(username="dana", password=password)
    assert (person.shown_name, person.may_open) == ("Dana Holt", True)
    assert person.agency.time_zone == "America/Chicago"
    assert not person.is_staff
    assert not person.is_agency_owner
    assert person.must_change_password


def test_who_runs_the_agency_is_said_when_they_are_added():
    add("dana", owner=True)

    assert Person.objects.get().is_agency_owner


def test_two_agencies_whose_names_look_alike_get_two_short_names():
    add("dana", agency="Mill Town")
    add("robin", agency="Mill-Town")

    slugs = Agency.objects.order_by("pk").values_list("slug", flat=True)
    assert list(slugs) == ["mill-town", "mill-town-2"]


def test_the_second_person_joins_the_agency_that_is_there():
    add("dana")

    add("robin", time_zone=None)

    assert Agency.objects.get().people.count() == 2
    assert not Person.objects.get(username="robin").may_open


def test_the_right_to_write_the_sop_is_given_by_its_option():
    add("dana", may_edit_sop=True)
    add("robin")

    assert Person.objects.get(username="dana").may_edit_sop
    assert not Person.objects.get(username="robin").may_edit_sop


@pytest.mark.parametrize(
    ("username", "options", "reason"),
    [
        ("dana", {}, "already"),
        ("DANA", {}, "already"),
        ("robin", {"agency": "Elsewhere", "time_zone": None}, "time zone"),
        ("robin", {"agency": "Elsewhere", "time_zone": "Mars/Base"}, "no known"),
        ("robin", {"agency": "Elsewhere", "time_zone": "../etc"}, "no known"),
        (" ", {}, "needs a name"),
        ("robin", {"agency": ""}, "needs a name"),
        ("r\x00b", {}, "cannot be kept"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_stored(username, options, reason):
    add("dana")

    with pytest.raises(CommandError, match=reason):
        add(username, **options)

    assert Person.objects.count() == 1
    assert Agency.objects.count() == 1
