"""What the archive keeps of an incident: all of it follows from the log."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from incidents import services
from incidents.measured import measures_of, read_figures
from incidents.models import ArchiveRow, Incident
from incidents.services import archive
from incidents.services.rebuilding import rebuild
from incidents.text import folded
from review.measures import Outcome
from tests.factories import acid, entry, join, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    found = open_incident(location="Rue des Érables 4", suspects=["hydrogen chloride"])
    log(found, entry("enter", minutes(1), team="entry-1"))
    stop = log(found, acid(minutes(2), note="Red at the sill")).entry
    log(found, entry("acknowledge", minutes(3), entry=stop.key))
    log(found, entry("exit", minutes(4), team="entry-1"))
    return found


def close(incident):
    return services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(30),
        reason="Handed over to the owner",
    )


def row_of(incident):
    return ArchiveRow.objects.get(incident=incident)


def test_an_incident_has_a_row_from_its_opening_on(incident):
    row = row_of(incident)
    assert (row.head_seq, row.entries, row.worst) == (1, 0, 0)
    assert "rue des erables 4" in row.places


def test_closing_puts_into_it_what_was_found(incident):
    close(incident)
    row = row_of(incident)
    assert row.worst == 2
    assert "\n1\n" in row.rules
    assert "\nacid_vapour\n" in row.hazards
    assert "\ntank room\n" in row.places
    assert "\nmuriatic acid\n" in row.substances  # another name of what is suspected
    assert "\nalder\n" in row.people
    assert f"\n{folded(incident.opened_by.shown_name)}\n" in row.people
    assert {"sill", "quarry", "erables"} <= set(row.words.split())
    assert row.entries == 4


def test_the_figures_are_those_of_the_incident(incident):
    closed = close(incident)
    kept = read_figures(row_of(incident).figures, 2026)
    whole = measures_of(closed, minutes(600))
    assert kept.series["to_heard"] == list(whole.to_heard) == [60.0]
    assert kept.series["to_acted"] == list(whole.to_acted) == [120.0]
    assert kept.never_looked == list(whole.never_looked)
    (said,) = kept.stops
    assert (said.number, said.place, said.outcome) == (1, "tank room", Outcome.ACTED_ON)


def test_a_sensor_over_its_range_is_a_look_for_its_hazard(incident):
    before = measures_of(incident, minutes(600)).never_looked
    over = entry("gas_meter", minutes(5), team="entry-1", over_range=["lel"])
    log(incident, over)

    after = measures_of(incident, minutes(600)).never_looked

    assert set(before) - set(after) == {"flammable_atmosphere"}


def test_what_is_said_later_and_opening_again_go_into_it(incident):
    close(incident)
    commander = incident.opened_by
    services.add_addendum(
        text="Wipe samples came back from the Labor",
        incident_id=incident.pk,
        person=commander,
        client_uuid=incident.pk,
        at=minutes(90),
        recorded_at=minutes(90),
    )
    assert "samples" in row_of(incident).words
    services.reopen_incident(
        incident_id=incident.pk, person=commander, at=minutes(95), reason="Rekindled"
    )
    row = row_of(incident)
    assert "rekindled" in row.words
    assert row.head_seq == Incident.objects.get(pk=incident.pk).head_seq


def test_a_role_given_after_closing_is_found_by_the_name(incident):
    close(incident)
    person = join(incident, "viewer", display_name="Ottilie Ash")
    services.give_role(
        incident_id=incident.pk,
        person=incident.opened_by,
        to=person,
        role="technician",
        at=minutes(40),
    )
    assert "\nottilie ash\n" in row_of(incident).people


def test_a_drill_has_no_row():
    drill = open_incident(is_drill=True)
    close(drill)
    assert not ArchiveRow.objects.filter(incident=drill).exists()
    assert not archive.differs(drill)


def test_all_of_it_is_derived_again_from_the_log(incident):
    closed = close(incident)
    before = ArchiveRow.objects.filter(incident=incident).values().get()
    assert not archive.differs(closed)
    ArchiveRow.objects.filter(incident=incident).delete()
    assert archive.differs(closed)
    rebuild(incident_id=incident.pk, write=True)
    assert ArchiveRow.objects.filter(incident=incident).values().get() == before


def test_rebuild_names_a_row_that_says_otherwise_and_mends_it(incident):
    close(incident)
    ArchiveRow.objects.filter(incident=incident).update(worst=0)
    out = StringIO()
    with pytest.raises(SystemExit):
        call_command("rebuild", str(incident.pk), stdout=out)
    assert "the archive has it otherwise" in out.getvalue()
    assert row_of(incident).worst == 0
    with pytest.raises(SystemExit):
        call_command("rebuild", str(incident.pk), "--write", stdout=out)
    assert row_of(incident).worst == 2
    call_command("rebuild", str(incident.pk), stdout=out)


def test_the_row_of_an_open_incident_may_be_of_an_earlier_record(incident):
    log(incident, meter(minutes(9)))
    assert not archive.differs(Incident.objects.get(pk=incident.pk))


def test_a_superseded_finding_is_not_what_was_found(incident):
    log(incident, entry("par", minutes(6), team="entry-1"))
    early = acid(minutes(2) + timedelta(seconds=5), ph="6")
    log(incident, early, recorded_at=minutes(8))
    first = incident.entries.get(kind="ph_paper", observed_at=minutes(2))
    log(incident, entry("strike", minutes(9), entry=first.key, reason="Wrong value"))
    closed = close(incident)
    stands = incident.findings.filter(superseded=False)
    assert row_of(closed).worst == max(one.action for one in stands)


def test_a_fault_in_the_archive_keeps_nobody_from_closing(
    incident, monkeypatch, caplog
):
    def broken(incident):
        raise ZeroDivisionError("of the test")

    monkeypatch.setattr(archive, "derived", broken)
    closed = close(incident)
    assert closed.is_closed
    assert "was not put into the archive" in caplog.text
    assert row_of(incident).head_seq == 1


@pytest.mark.parametrize("count", [1, 20])
def test_the_derivation_costs_the_same_number_of_queries(
    incident, count, django_assert_num_queries
):
    for number in range(count):
        log(incident, acid(minutes(10 + number)))
    found = Incident.objects.get(pk=incident.pk)
    with django_assert_num_queries(6):
        archive.derived(found)


def test_text_is_folded_for_searching():
    assert (
        folded("Érables, Señorial, Lindenstraße") == "erables, senorial, lindenstrasse"
    )
    assert folded("ﬁre") == "fire"
