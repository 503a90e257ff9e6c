"""People sign off before the agency's key does: in the log, in print, with dissent."""

import uuid

import pytest
from django.urls import reverse

from incidents import services
from incidents.documents import loads
from incidents.forms.signing import AGREE
from incidents.models.log import APP_KINDS
from incidents.report_checks import check, known_here
from incidents.services import chain
from incidents.services.errors import AlreadyDoneError
from incidents.services.reports import report_body
from incidents.sign_offs import sign_offs_of
from reports.chain import OWN_KINDS
from reports.reading import page_texts
from reports.verifying import verify_pdf
from tests.factories import acid, join, log, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    incident = open_incident()
    log(incident, acid(minutes(1)))
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(9),
        reason="Handed over",
    )
    incident.refresh_from_db()
    return incident


def sign(incident, person=None, at=None, **given):
    return services.sign_off(
        incident_id=incident.pk,
        person=person or incident.opened_by,
        client_uuid=given.pop("client_uuid", None) or uuid.uuid4(),
        at=at or minutes(10),
        **given,
    )


def printed(incident):
    incident.refresh_from_db()
    pdf, _ = report_body(incident, incident.opened_by, minutes(20))
    return " ".join(page_texts(pdf)[-1].split())


def test_a_sign_off_is_a_record_of_the_chain_with_part_and_time(incident):
    row = sign(incident)

    incident.refresh_from_db()
    assert row.seq == incident.head_seq
    assert '"role":"Incident commander"' in row.body.replace(": ", ":")
    assert row.recorded_at == minutes(10)
    assert chain.verify(incident) is None
    assert incident.is_closed
    kept = incident.anchors.latest("pk")
    assert (kept.why, kept.seq, kept.hash) == ("sign_off", row.seq, row.hash)


def test_the_report_prints_who_signed_off_when_and_over_which_records(incident):
    sign(incident)

    words = printed(incident)

    assert "Nobody has signed off yet" not in words
    assert "Not signed off." not in words
    assert "Incident commander" in words
    assert incident.opened_by.shown_name in words
    assert "2026-03-04 13:10:00" in words or "13:10" in words
    assert "records 1 to 3" in words


def test_who_should_sign_off_and_has_not_is_named(incident):
    officer = join(incident, "safety_officer", display_name="T. Osei")

    before = printed(incident)
    sign(incident)
    after = printed(incident)
    sign(incident, officer)

    assert f"Incident commander: {incident.opened_by.shown_name}" in before
    assert "Not signed off. Safety officer: T. Osei" in before
    assert "Not signed off. Safety officer: T. Osei" in after
    assert "Not signed off. Incident commander" not in after
    assert "Not signed off." not in printed(incident)


def test_a_sign_off_of_before_more_was_logged_does_not_count(incident):
    sign(incident)
    services.reopen_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(11),
        reason="A second drum",
    )
    log(incident, acid(minutes(12)))

    words = printed(incident)

    assert "2 records came after this." in words
    assert "Not signed off. Incident commander" in words


def test_a_dissent_is_printed_word_for_word_above_the_signature(incident):
    officer = join(incident, "safety_officer")
    sign(
        incident,
        officer,
        dissents=True,
        dissent="<b>The second entry</b> was against my word",
    )

    words = printed(incident)

    assert "Dissents: <b>The second entry</b> was against my word" in words
    assert words.index("Dissents:") < words.index("Digital signature.")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"dissents": True}, "what you do not stand for"),
        ({"dissents": True, "dissent": " \n "}, "what you do not stand for"),
        ({"dissent": "but"}, "no words where you stand for all of it"),
    ],
)
def test_an_answer_that_is_not_clear_is_refused(incident, given, words):
    with pytest.raises(services.EntryRefusedError, match=words):
        sign(incident, **given)

    assert incident.entries.count() == 3


def test_a_viewer_and_a_stranger_sign_nothing(incident):
    for person in (join(incident, "viewer"), open_incident().opened_by):
        with pytest.raises(services.NotAllowedError):
            sign(incident, person)


def test_sent_twice_it_is_kept_once(incident):
    key = uuid.uuid4()

    first, second = (sign(incident, client_uuid=key) for _ in range(2))

    assert first == second
    assert incident.entries.count() == 4


def test_the_same_answer_for_the_same_entries_is_refused(incident):
    first = sign(incident)

    with pytest.raises(AlreadyDoneError, match=f"in entry {first.seq}"):
        sign(incident, at=minutes(11))

    assert incident.entries.count() == 4


def test_another_answer_takes_the_place_of_the_first_and_both_are_printed(incident):
    boss = incident.opened_by
    first = sign(incident)
    second = sign(incident, at=minutes(11), dissents=True, dissent="Record 2 is wrong")

    words = printed(incident)

    assert loads(second.body)["replaces"] == first.seq
    assert f"Replaced by the same person's answer in record {second.seq}." in words
    assert words.index("Replaced by") < words.index("Dissents: Record 2 is wrong")
    signed = sign_offs_of(incident)
    assert [one.replaced_by for one in signed] == [second.seq, 0]
    assert [one.counts for one in signed] == [False, True]
    assert f"Not signed off. Incident commander: {boss.shown_name}" not in words
    with pytest.raises(AlreadyDoneError):
        sign(incident, dissents=True, dissent="Record 2 is wrong")
    assert chain.verify(incident) is None


def test_after_more_was_logged_the_same_answer_is_a_new_one(incident):
    sign(incident)
    services.add_addendum(
        incident_id=incident.pk,
        person=incident.opened_by,
        client_uuid=uuid.uuid4(),
        text="The valve was closed",
        at=minutes(12),
        recorded_at=minutes(12),
    )

    again = sign(incident, at=minutes(13))

    incident.refresh_from_db()
    assert "replaces" not in loads(again.body)
    assert [one.after for one in sign_offs_of(incident)] == [1, 0]


def test_another_person_s_answer_stands_beside_the_first(incident):
    sign(incident)

    sign(incident, join(incident, "safety_officer"))

    incident.refresh_from_db()
    assert [one.replaced_by for one in sign_offs_of(incident)] == [0, 0]


def test_the_page_refuses_the_same_answer_in_words(client, incident):
    sign(incident)
    client.force_login(incident.opened_by)

    answer = client.post(
        reverse("incidents:sign-off", args=(incident.pk,)),
        {"client_uuid": str(uuid.uuid4()), "answer": AGREE, "dissent": ""},
    )

    assert answer.status_code == 422
    assert "You have answered so for all of these entries" in answer.text


def test_the_sealed_report_with_sign_offs_and_notes_holds(incident):
    """The attached records hold kinds that the worksheet has no place for."""
    services.reopen_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(10),
        reason="More to write down",
    )
    services.write_note(
        text="Wind turned",
        incident_id=incident.pk,
        person=incident.opened_by,
        client_uuid=uuid.uuid4(),
        at=minutes(11),
        recorded_at=minutes(11),
    )
    sign(incident, at=minutes(12))

    report = services.make_report(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(13)
    )

    found = check(
        bytes(report.pdf), known_here(), lambda pdf, known: verify_pdf(pdf, known=known)
    )
    assert found.holds, [str(one) for one in found.refused]


def test_the_verifier_knows_every_kind_that_is_no_entry():
    assert OWN_KINDS == APP_KINDS


def test_the_body_is_the_same_twice(incident):
    sign(incident)
    incident.refresh_from_db()

    first, second = (
        report_body(incident, incident.opened_by, minutes(20))[0] for _ in range(2)
    )

    assert first == second
