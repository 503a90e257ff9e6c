"""Corrections that link both entries, and addenda after closing: nothing of before goes."""

import uuid

import pytest

from incidents import selectors, services
from incidents.models import Report
from incidents.services import chain
from reports import reading
from tests.factories import acid, entry, join, log, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    return open_incident()


def struck(incident, person=None):
    """Entry 2, pH 2, struck by entry 3; entry 4 is what should have been typed."""
    wrong = log(incident, acid(minutes(1)), person=person)
    log(
        incident,
        entry("strike", minutes(2), entry=wrong.entry.key, reason="typed 2 for 7"),
        person=person,
    )
    log(incident, acid(minutes(3), ph="7"), person=person)


def link(incident, wrong=2, right=4, person=None):
    return services.link_correction(
        incident_id=incident.pk,
        person=person or incident.opened_by,
        wrong=wrong,
        right=right,
        at=minutes(4),
    )


def test_a_correction_names_both_and_both_name_it(incident):
    struck(incident)

    link(incident)

    wrong, right = selectors.log_row(incident, 2), selectors.log_row(incident, 4)
    assert (wrong.right_seq, wrong.strike_reason) == (4, "typed 2 for 7")
    assert right.wrong_seq == 2
    assert wrong.entry.body.count('"ph":2') == 1  # what was first written stays
    assert incident.entries.get(seq=5).kind == "correction"
    assert chain.verify(incident) is None


def test_a_correction_sent_twice_is_one_record(incident):
    struck(incident)

    assert not link(incident).duplicate
    assert link(incident).duplicate
    assert incident.entries.filter(kind="correction").count() == 1


@pytest.mark.parametrize(
    ("wrong", "right", "words"),
    [
        (4, 2, "an entry that was struck"),
        (2, 1, "with the number 1"),  # the opening is no entry
        (2, 3, "a later entry of the same kind"),
        (9, 4, "with the number 9"),
    ],
)
def test_what_was_not_struck_or_stands_for_nothing_is_refused(
    incident, wrong, right, words
):
    struck(incident)

    with pytest.raises(services.EntryRefusedError, match=words):
        link(incident, wrong, right)

    assert incident.entries.filter(kind="correction").count() == 0


def test_somebody_else_s_correction_is_not_for_a_technician(incident):
    struck(incident)
    technician = join(incident, "technician")

    with pytest.raises(services.NotAllowedError):
        link(incident, person=technician)


# --- After closing --------------------------------------------------------------------


def closed(incident):
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(30),
        reason="Handed over",
    )
    return incident


def add(incident, text="The drum was relabelled.", person=None, **changes):
    given = {
        "incident_id": incident.pk,
        "person": person or incident.opened_by,
        "client_uuid": uuid.uuid4(),
        "at": minutes(90),
        "recorded_at": minutes(90),
    }
    return services.add_addendum(text=text, **given | changes)


def reported(incident):
    incident.refresh_from_db()
    return Report.objects.create(
        incident=incident,
        created_at=minutes(60),
        created_by=incident.opened_by,
        pdf=b"%PDF-",
        sha256="0" * 64,
        head_seq=incident.head_seq,
        head_hash=incident.head_hash,
        certificate_fingerprint="0" * 64,
    )


def test_an_addendum_follows_on_the_closing_and_changes_nothing_of_before(incident):
    log(incident, acid(minutes(1)))
    closed(incident)
    before = list(incident.entries.order_by("seq").values_list("hash", flat=True))

    add(incident)

    incident.refresh_from_db()
    rows = list(incident.entries.order_by("seq"))
    assert [row.hash for row in rows[:-1]] == before
    assert (rows[-1].kind, rows[-1].prev_hash) == ("addendum", before[-1])
    assert incident.is_closed
    assert chain.verify(incident) is None


def test_an_addendum_is_to_be_signed_again(incident):
    closed(incident)
    assert selectors.signing_due(refreshed(incident)).last == 2
    reported(incident)
    assert selectors.signing_due(refreshed(incident)) is None

    add(incident)
    add(incident, "And a second drum.")

    due = selectors.signing_due(refreshed(incident))
    assert (due.first, due.last, due.addenda) == (3, 4, 2)
    reported(incident)
    assert selectors.signing_due(refreshed(incident)) is None
    assert incident.reports.count() == 2


def refreshed(incident):
    incident.refresh_from_db()
    return incident


def test_an_open_incident_takes_notes_and_no_addendum(incident):
    with pytest.raises(services.IncidentOpenError):
        add(incident)

    assert selectors.signing_due(incident) is None


@pytest.mark.parametrize("role", ["viewer", "medical", "training_officer"])
def test_who_may_log_nothing_may_add_nothing(incident, role):
    person = join(closed(incident), role)

    with pytest.raises(services.NotAllowedError):
        add(incident, person=person)


@pytest.mark.parametrize("text", ["", "   ", "x" * 10_001])
def test_an_addendum_of_nothing_or_without_end_is_refused(incident, text):
    closed(incident)

    with pytest.raises(services.EntryRefusedError):
        add(incident, text)


def test_the_report_prints_what_was_first_written_what_stands_and_the_addendum(
    incident,
):
    struck(incident)
    link(incident)
    closed(incident)
    add(incident, "The drum was relabelled.")
    report = services.make_report(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(95)
    )

    text = " ".join(" ".join(reading.page_texts(bytes(report.pdf))).split())

    assert "typed 2 for 7" in text
    assert "Entry 4 stands in the place of entry 2" in text
    assert "Addendum after closing: The drum was relabelled." in text
    assert "pH 2" in text
    assert "pH 7" in text
