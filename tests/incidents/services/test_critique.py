"""What is said in looking back: who may, what an improvement needs, and nothing changes."""

import uuid
from datetime import date

import pytest
from django.db import DatabaseError, transaction

from incidents import services
from incidents.models import CritiqueNote, CritiqueStep
from incidents.selectors import critique as read
from incidents.services.critique import Says
from tests.factories import PersonFactory, acid, join, log, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

DUE = date(2026, 4, 1)


@pytest.fixture
def incident():
    incident = open_incident()
    log(incident, acid(minutes(3)))
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(30),
        reason="Handed over",
    )
    incident.refresh_from_db()
    return incident


def pin(incident, person=None, *, kind="improvement", **changes):
    given = {
        "record": "critique",
        "moment": minutes(5),
        "at": minutes(60),
        "client_uuid": uuid.uuid4(),
        "says": Says(
            text="Wet the paper before the door.",
            owner=incident.opened_by if kind == "improvement" else None,
            due_on=DUE if kind == "improvement" else None,
        ),
    }
    return services.pin_note(
        incident_id=incident.pk,
        person=person or incident.opened_by,
        kind=kind,
        **(given | changes),
    )


def change(note, person, **says):
    last = note.steps.last()
    given = {"text": last.text, "owner": last.owner, "due_on": last.due_on} | says
    return services.change_note(
        note_id=note.pk,
        person=person,
        client_uuid=uuid.uuid4(),
        seen=last.pk,
        says=Says(**given),
        at=minutes(90),
    )


@pytest.mark.parametrize("role", ["safety_officer", "training_officer"])
def test_a_closed_incident_takes_notes_from_those_who_answer_for_it(incident, role):
    before = (incident.head_seq, incident.head_hash, incident.revision)
    note = pin(incident, join(incident, role, may_open=False), kind="strength")

    incident.refresh_from_db()
    assert (note.kind, note.steps.get().state) == ("strength", "open")
    assert note.steps.get().owner is None
    assert (incident.head_seq, incident.head_hash, incident.revision) == before


def test_who_reviews_the_agency_writes_without_a_part_and_nobody_of_another_does(
    incident,
):
    reviewer = PersonFactory.create(agency=incident.agency, may_review=True)
    assert pin(incident, reviewer).author_name == reviewer.shown_name

    others = (
        PersonFactory.create(may_review=True),
        PersonFactory.create(agency=incident.agency),
        join(incident, "technician"),
        join(incident, "viewer"),
    )
    for person in others:
        with pytest.raises(services.NotAllowedError):
            pin(incident, person)
    assert CritiqueNote.objects.count() == 1


@pytest.mark.parametrize(
    ("says", "pointer"),
    [
        ({"owner": None, "due_on": DUE}, "/owner"),
        ({"due_on": None}, "/due_on"),
        ({"text": " "}, "/text"),
        ({"state": "done", "said": ""}, "/said"),
    ],
)
def test_an_improvement_has_an_owner_a_day_and_words(incident, says, pointer):
    given = {"text": "x", "owner": incident.opened_by, "due_on": DUE} | says
    with pytest.raises(services.EntryRefusedError) as refusal:
        pin(incident, says=Says(**given))

    assert refusal.value.errors[0].pointer == pointer
    assert not CritiqueNote.objects.exists()


def test_the_owner_is_of_the_agency_and_the_moment_has_passed(incident):
    stranger = PersonFactory.create()
    with pytest.raises(services.EntryRefusedError, match="/owner"):
        pin(incident, says=Says(text="x", owner=stranger, due_on=DUE))
    with pytest.raises(services.EntryRefusedError, match="/at"):
        pin(incident, moment=minutes(61))
    with pytest.raises(services.EntryRefusedError, match="/entry"):
        pin(incident, entry_seq=99)
    assert pin(incident, entry_seq=2).entry.kind == "ph_paper"


def test_sending_twice_pins_once(incident):
    key = uuid.uuid4()

    assert pin(incident, client_uuid=key) == pin(incident, client_uuid=key)
    assert CritiqueStep.objects.count() == 1


def test_a_change_is_a_row_more_and_what_was_said_stays(incident):
    note = pin(incident)
    change(note, incident.opened_by, text="Wet it at the truck.")
    change(
        note, incident.opened_by, state="done", said="Drilled", done_on=date(2026, 3, 2)
    )

    row = read.note_row(note.pk)
    assert [step.text for step in row.steps] == [
        "Wet the paper before the door.",
        "Wet it at the truck.",
        "Wet it at the truck.",
    ]
    assert (row.last.state, row.last.said, row.last.done_on) == (
        "done", "Drilled", date(2026, 3, 2),
    )  # fmt: skip
    assert row.last.by_name == incident.opened_by.shown_name


def test_two_who_change_the_same_note_do_not_overwrite_each_other(incident):
    note = pin(incident)
    first = note.steps.get().pk
    change(note, incident.opened_by, text="Mine")

    with pytest.raises(services.NoteChangedError, match="changed this meanwhile"):
        services.change_note(
            note_id=note.pk,
            person=join(incident, "safety_officer"),
            client_uuid=uuid.uuid4(),
            seen=first,
            says=Says(text="Theirs", owner=incident.opened_by, due_on=DUE),
            at=minutes(91),
        )
    assert note.steps.count() == 2


def test_the_owner_says_that_it_is_done_and_no_more(incident):
    owner = PersonFactory.create(agency=incident.agency, may_open=False)
    note = pin(incident, says=Says(text="Buy paper", owner=owner, due_on=DUE))

    with pytest.raises(services.NotAllowedError):
        change(note, owner, text="Less work")
    with pytest.raises(services.NotAllowedError):
        change(
            note, PersonFactory.create(agency=incident.agency), state="done", said="x"
        )
    step = change(note, owner, text="Less work", state="done", said="Bought")

    assert (step.text, step.state, step.by) == ("Buy paper", "done", owner)


def test_a_strength_is_never_done_and_can_be_taken_back_with_a_reason(incident):
    note = pin(incident, kind="strength", says=Says(text="Good PAR"))

    with pytest.raises(services.EntryRefusedError, match="/state"):
        change(note, incident.opened_by, state="done", said="x")
    with pytest.raises(services.EntryRefusedError, match="/said"):
        change(note, incident.opened_by, state="taken_back")
    assert change(note, incident.opened_by, state="taken_back", said="Not so").said


@pytest.mark.parametrize("model", [CritiqueNote, CritiqueStep])
def test_the_database_refuses_to_change_or_delete_what_was_said(incident, model):
    pin(incident)
    row = model.objects.get()

    with pytest.raises(DatabaseError), transaction.atomic():
        model.objects.filter(pk=row.pk).update(client_uuid=uuid.uuid4())
    with pytest.raises(DatabaseError), transaction.atomic():
        model.objects.filter(pk=row.pk)._raw_delete("default")

    assert model.objects.get() == row


def test_the_follow_up_lists_open_ones_first_and_never_mixes_drills(incident):
    reviewer = PersonFactory.create(agency=incident.agency, may_review=True)
    drill = open_incident(person=incident.opened_by, is_drill=True)
    late = pin(incident, says=Says(text="b", owner=reviewer, due_on=date(2026, 5, 1)))
    soon = pin(incident)
    done = pin(incident)
    change(done, incident.opened_by, state="done", said="Drilled")
    gone = pin(incident)
    change(gone, incident.opened_by, state="taken_back", said="Twice")
    pin(incident, kind="strength", says=Says(text="Good"))
    of_drill = pin(drill)

    def found(person=reviewer, **wanted):
        rows = read.follow_up(person, read.Wanted(**wanted))
        return [row.note for row in rows]

    assert found(state="") == [soon, late, done]
    assert found() == [soon, late]
    assert found(overdue_on=date(2026, 4, 2)) == [soon]
    assert found(owner=reviewer.pk) == [late]
    assert found(incident="no such") == []
    assert found(drills=True) == [of_drill]
    assert found(incident.opened_by) == [soon]  # what they own, no more
    assert found(PersonFactory.create(may_review=True)) == []


def test_the_follow_up_asks_as_much_for_one_as_for_twenty(
    incident, django_assert_num_queries
):
    reviewer = PersonFactory.create(agency=incident.agency, may_review=True)
    for count in (1, 19):
        for _ in range(count):
            pin(incident)
        with django_assert_num_queries(2):
            rows = read.follow_up(reviewer, read.Wanted())
            assert all(row.note.incident.agency.name and row.last.text for row in rows)
