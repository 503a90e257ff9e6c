"""`manage.py make_archive`: invented incidents through the services of the web."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import override_settings
from django.utils import timezone

from incidents.models import ArchiveRow, Incident, LogEntry, Person, SopProfile
from incidents.services import chain, demo
from incidents.services.rebuilding import rebuild
from review.inventing import FIRST_DAY, LAST_DAY

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def make(**options):
    out = StringIO()
    given = {"incidents": 3, "entries": 20, "seed": 4} | options
    call_command("make_archive", stdout=out, **given)
    return out.getvalue()


def recorded():
    """All that the seed settles of every record; who wrote it is the database's."""
    rows = LogEntry.objects.order_by("incident_id", "seq")
    return list(
        rows.values_list(
            "incident_id", "client_uuid", "kind", "observed_at", "recorded_at"
        )
    )


def test_it_makes_closed_incidents_of_the_demos_agency_and_counts_them():
    said = make()
    assert "3 of 3 incidents" in said
    assert "Made 3 incidents with" in said
    assert "entries a second" in said
    for incident in Incident.objects.all():
        assert incident.agency.slug == "example-county"
        assert incident.is_demo
        assert incident.is_closed
        assert not incident.is_drill
        assert FIRST_DAY <= incident.opened_at <= LAST_DAY
        assert incident.sop.name == "Example County SOP"
        assert chain.verify(incident) is None
        assert not rebuild(incident_id=incident.pk)
    assert ArchiveRow.objects.count() == 3


def test_a_second_run_adds_nothing_and_says_so():
    make()
    before = recorded()
    said = make()
    assert "3 incidents were there already." in said
    assert "Nothing was added." in said
    assert recorded() == before
    assert "Made 1 incidents" in make(incidents=4)


def test_the_same_seed_makes_the_same_again():
    made = []
    for _ in range(2):
        with transaction.atomic():
            make()
            made.append(recorded())
            transaction.set_rollback(True)
    assert len(made[0]) > 60
    assert made[0] == made[1]


def test_another_seed_makes_others():
    make(incidents=1)
    make(incidents=1, seed=5)
    assert Incident.objects.count() == 2


def test_its_people_cannot_sign_in_and_its_editions_were_in_force_then():
    make(incidents=12)
    for person in Person.objects.filter(username__startswith="archive-"):
        assert not person.has_usable_password()
    used = SopProfile.objects.filter(incidents__isnull=False).distinct()
    assert {one.version for one in used} == {"1", "2"}
    for incident in Incident.objects.select_related("sop"):
        assert incident.sop.effective_on <= incident.opened_at.date()


def test_it_goes_nowhere_near_real_incidents():
    with (
        override_settings(PRODUCTION=True),
        pytest.raises(CommandError, match="Invented incidents do not go where"),
    ):
        make()
    assert not Incident.objects.exists()


@pytest.mark.parametrize("options", [{"incidents": -1}, {"entries": 5}])
def test_what_cannot_be_made_is_said(options):
    with pytest.raises(CommandError, match="Nothing was made: .* or more"):
        make(**options)


def test_the_demo_is_still_played_beside_an_archive():
    make(incidents=1)
    play = demo.scenario()
    assert demo.served_incident(play) is None
    served = demo.play_served(
        play, demo.set_up(play, now=timezone.now()), now=timezone.now()
    )
    assert demo.served_incident(play) == served
