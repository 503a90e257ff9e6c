"""The pages that look back on one incident, as their readers meet them."""

import re
import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from incidents import services
from incidents.services.critique import Says
from incidents.services.importing import import_worksheet
from tests.factories import (
    PersonFactory,
    acid,
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
)
from tests.incidents.services.test_importing import FOREIGN

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    """In, a quiet meter, acid, a meter that came late, a struck one, out, closed."""
    incident = open_incident()
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(incident, meter(minutes(2)))
    log(incident, acid(minutes(3)))
    wrong = log(incident, acid(minutes(4), ph="9")).entry
    log(incident, entry("strike", minutes(5), entry=wrong.key, by="R", reason="Wrong"))
    log(incident, meter(minutes(3.5)), recorded_at=minutes(12))
    log(incident, entry("exit", minutes(20), team="entry-1"))
    services.close_incident(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(40), reason="x"
    )
    incident.refresh_from_db()
    return incident


@pytest.fixture
def get(client, incident):
    def open_page(name="look-back", /, person=None, **query):
        client.force_login(person or incident.opened_by)
        return client.get(reverse(f"incidents:{name}", args=(incident.pk,)), query)

    return open_page


def records(answer):
    return [int(seq) for seq in re.findall(r'<tr id="entry-(\d+)"', answer.text)]


def test_every_record_stands_in_the_table_and_in_the_chart(get, incident):
    answer = get()

    assert answer.status_code == 200
    seqs = set(incident.entries.values_list("seq", flat=True))
    assert set(records(answer)) == seqs
    wide = answer.text.partition("timeline-wide")[2].partition("timeline-narrow")[0]
    linked = {int(n) for n in re.findall(r"entries/(\d+)/", wide)}
    assert linked == seqs
    assert "recorded 13:12:00" in answer.text
    assert "put right: Wrong" in answer.text


def test_the_verdict_of_the_chart_is_the_one_that_was_shown(get):
    """The late meter changed nothing before it came."""
    text = get().text

    assert "Entry team 1: Continue from 13:00:00, Stop from 13:03:00" in text


def test_a_stretch_a_kind_and_a_team_are_chosen_by_the_address(get, incident):
    begin = minutes(2.9).isoformat()
    end = minutes(4.1).isoformat()

    of_stretch = get(**{"from": begin, "to": end})
    of_kind = get(kind="papers")
    of_team = get(team="backup-1")
    typed = get(**{"from": "2026-03-04T13:03", "to": "2026-03-04T13:04"})

    kinds = dict(incident.entries.values_list("seq", "kind"))
    assert [kinds[seq] for seq in records(of_stretch)] == [
        "ph_paper", "gas_meter", "ph_paper",
    ]  # fmt: skip
    assert {kinds[seq] for seq in records(of_kind)} == {"ph_paper"}
    assert not {"ph_paper", "enter"} & {kinds[seq] for seq in records(of_team)}
    assert records(typed) == records(of_stretch)
    assert records(get(**{"from": "13:03", "to": "13:04:00"})) == records(typed)
    # A link to another stretch keeps the kind.
    assert "kind=papers" in of_kind.context["stretches"][0][1]


@pytest.mark.parametrize(
    "query",
    [
        {"from": "yesterday"},
        {"from": "25:00"},
        {"kind": "rumours"},
        {"team": "nobody"},
        {"from": "2026-03-04T14:00", "to": "2026-03-04T13:00"},
    ],
)
def test_what_cannot_be_read_of_the_address_is_said_and_all_is_shown(get, query):
    answer = get(**query)

    assert answer.status_code == 422
    assert "error-summary" in answer.text
    assert records(answer)


def test_the_figures_say_their_cases_and_what_is_missing(get):
    figures = get().context["figures"]

    rows = {row.label: row for row in figures.rows}
    heard = rows["From a Stop or Withdraw to being heard"]
    assert heard.spread.n == 0
    assert heard.spread.missing >= 1
    assert heard.words == "no case"
    assert rows["From going in to the first reading"].words == "1 min"
    assert "Fluoride vapour" in figures.never_looked


def test_the_sheet_of_a_moment_leaves_out_what_came_later(get, incident):
    before = get("look-back-at", at=minutes(4.5).isoformat())
    after = get("look-back-at", at=minutes(13).isoformat())
    late = incident.entries.get(observed_at=minutes(3.5)).seq

    assert "As it was known at 13:04:30" in before.text
    assert f"entries/{late}/" not in before.text
    assert f"entries/{late}/" in after.text
    assert "put right: Wrong" not in before.text
    assert "put right: Wrong" in after.text
    assert "Nothing more is taken into the log" not in after.text


def test_steps_lead_from_record_to_record_and_by_the_minute(get):
    answer = get("look-back-at", at=minutes(3).isoformat())

    steps = dict(answer.context["steps"])
    assert steps["Record before"].endswith(
        "at=" + minutes(2).isoformat().replace("+", "%2B").replace(":", "%3A")
    )
    assert "13%3A04" not in steps["A minute back"]
    for name in ("Next record", "A minute on"):
        assert minutes(4).isoformat()[:16].replace(":", "%3A") in steps[name]


def test_a_moment_is_kept_within_the_incident_and_a_typed_one_is_its_whole_second(get):
    first = get("look-back-at", at="1999-01-01T00:00")
    last = get("look-back-at", at="2030-01-01T00:00")
    typed = get("look-back-at", at="2026-03-04T13:03:00")
    wrong = get("look-back-at", at="noon")

    assert first.context["moment"] == minutes(0)
    assert last.context["moment"] == minutes(40)
    assert "Nothing more is taken into the log" in last.text
    assert typed.context["moment"] == minutes(3) + timedelta(microseconds=999_999)
    assert wrong.status_code == 422


def test_nothing_can_be_pressed_in_the_past(get):
    text = get("look-back-at", at=minutes(4).isoformat()).text
    main = text.partition("<main")[2].partition("</main>")[0]

    assert 'method="post"' not in main
    assert "hx-" not in main
    assert "Heard<span" not in main


def test_a_drill_is_looked_back_on_by_its_crew_when_it_is_over(client):
    drill = open_incident(is_drill=True)
    log(drill, acid(minutes(1)))
    trainer = join(drill, "training_officer")

    def answers(person):
        client.force_login(person)
        return [
            client.get(reverse(f"incidents:{name}", args=(drill.pk,))).status_code
            for name in ("look-back", "look-back-at")
        ]

    assert answers(drill.opened_by) == [403, 403]
    assert answers(trainer) == [200, 200]
    services.close_incident(
        incident_id=drill.pk, person=drill.opened_by, at=minutes(9), reason="x"
    )
    assert answers(drill.opened_by) == [200, 200]


def test_an_imported_incident_says_that_nobody_knows_when_its_entries_came(client):
    person = PersonFactory.create(agency__name="Example County")
    imported = import_worksheet(
        file=FOREIGN.encode(), person=person, agency=person.agency, at=timezone.now()
    )
    client.force_login(person)

    page = client.get(reverse("incidents:look-back", args=(imported.pk,)))
    then = client.get(reverse("incidents:look-back-at", args=(imported.pk,)))

    assert "nobody knows when its entries were recorded" in page.text
    assert not any(row.mark.is_late for row in page.context["rows"])
    assert then.status_code == 200


def test_the_page_asks_the_database_as_much_for_many_records_as_for_few(
    client, django_assert_max_num_queries
):
    incident = open_incident()
    log(incident, acid(minutes(1)))
    client.force_login(incident.opened_by)
    address = reverse("incidents:look-back", args=(incident.pk,))
    for number in range(20):
        log(incident, meter(minutes(2 + number)))
    client.get(address)

    for number in range(20):
        log(incident, meter(minutes(30 + number)))
    with django_assert_max_num_queries(45):
        assert client.get(address).status_code == 200


# --- What is said ---------------------------------------------------------------------


def say(client, incident, **changes):
    given = {
        "client_uuid": str(uuid.uuid4()),
        "kind": "improvement",
        "record": "critique",
        "at": "2026-03-04T13:03:00",
        "entry": "3",
        "text": "Wet the paper before the door.",
        "owner": str(incident.opened_by.pk),
        "due_on": "2026-04-01",
    }
    return client.post(
        reverse("incidents:look-back-note-new", args=(incident.pk,)), given | changes
    )


def test_an_improvement_is_written_shown_on_the_chart_followed_up_and_done(
    client, incident
):
    client.force_login(join(incident, "safety_officer"))
    assert say(client, incident).status_code == 302
    note = incident.critique_notes.get()

    page = client.get(reverse("incidents:look-back", args=(incident.pk,))).text
    assert f'href="#note-{note.pk}"' in page
    assert f'id="note-{note.pk}"' in page
    client.force_login(incident.opened_by)  # owns it, reviews nothing
    listed = client.get(reverse("incidents:follow-up")).text
    assert "Wet the paper" in listed
    assert "Overdue" in listed
    item = reverse("incidents:follow-up-item", args=(note.pk,))
    client.post(
        item,
        {
            "client_uuid": str(uuid.uuid4()),
            "seen": note.steps.get().pk,
            "said": "Drilled on the 2nd",
            "done_on": "2026-03-02",
        },
    )

    last = note.steps.last()
    assert (last.state, last.said, last.by) == (
        "done", "Drilled on the 2nd", incident.opened_by,
    )  # fmt: skip
    assert "Wet the paper" not in client.get(reverse("incidents:follow-up")).text
    done = client.get(reverse("incidents:follow-up"), {"state": "done"}).text
    assert "Wet the paper" in done


def test_a_form_that_is_not_whole_says_what_is_missing_and_keeps_what_was_typed(
    client, incident
):
    client.force_login(incident.opened_by)

    answer = say(client, incident, owner="", due_on="", text="Kept <b>words</b>")

    assert answer.status_code == 422
    assert "Say who of the agency sees to it." in answer.text
    assert "Say by which day it is to be done." in answer.text
    assert escape("Kept <b>words</b>") in answer.text
    assert not incident.critique_notes.exists()


@pytest.mark.parametrize("number", ["9" * 5000, "9" * 12, "no", "-1", ""])
def test_a_new_note_of_no_entry_is_of_the_incident(get, number):
    answer = get("look-back-note-new", entry=number)

    assert answer.status_code == 200
    assert answer.context["form"]["entry"].value() is None


def test_a_new_note_begins_at_the_entry_that_the_address_names(client, incident):
    client.force_login(incident.opened_by)
    address = reverse("incidents:look-back-note-new", args=(incident.pk,))

    paper = incident.entries.filter(kind="ph_paper").first()

    assert f'value="{paper.seq}"' in client.get(address, {"entry": paper.seq}).text
    assert "2026-03-04 13:03:00" in client.get(address, {"entry": paper.seq}).text
    assert client.get(address, {"entry": "9" * 30}).status_code == 200


def test_a_note_is_said_anew_and_both_wordings_are_to_be_read(client, incident):
    client.force_login(incident.opened_by)
    say(client, incident, kind="strength", owner="", due_on="")
    note = incident.critique_notes.get()
    address = reverse("incidents:look-back-note", args=(incident.pk, note.pk))
    given = {
        "client_uuid": str(uuid.uuid4()),
        "seen": str(note.steps.get().pk),
        "state": "open",
        "text": "The paper was wet in time.",
    }

    assert client.post(address, given).status_code == 302
    again = client.post(address, given | {"client_uuid": str(uuid.uuid4())})

    text = client.get(address).text
    assert "Wet the paper before the door." in text
    assert "The paper was wet in time." in text
    assert again.status_code == 422
    assert "changed this meanwhile" in again.text


def test_the_three_records_stand_apart(client, incident):
    client.force_login(incident.opened_by)
    for record in ("critique", "debrief"):
        say(client, incident, kind="note", record=record)

    page = client.get(reverse("incidents:look-back", args=(incident.pk,)))

    assert [
        (name, [row.note.record for row in rows])
        for name, rows in page.context["records"]
    ] == [("Debriefing", ["debrief"]), ("Critique", ["critique"])]


def test_a_note_of_another_incident_is_not_found_here(client, incident):
    client.force_login(incident.opened_by)
    say(client, incident)
    other = open_incident(person=incident.opened_by)
    number = incident.critique_notes.get().pk

    address = reverse("incidents:look-back-note", args=(other.pk, number))

    assert client.get(address).status_code == 404


def test_the_days_due_are_a_calendar_with_one_event_an_open_improvement(
    client, incident
):
    reviewer = PersonFactory.create(agency=incident.agency, may_review=True)
    drill = open_incident(person=incident.opened_by, is_drill=True)
    for where, text in ((incident, "Wet; the paper, first"), (drill, "Of a drill")):
        services.pin_note(
            incident_id=where.pk, person=reviewer, client_uuid=uuid.uuid4(),
            record="debrief", kind="improvement", moment=minutes(1), at=minutes(2),
            says=Says(text=text, owner=reviewer, due_on=minutes(60 * 24).date()),
        )  # fmt: skip
    client.force_login(reviewer)

    file = client.get(reverse("incidents:follow-up-days"))

    assert file["Content-Type"].startswith("text/calendar")
    assert file.text.count("BEGIN:VEVENT") == 1
    assert "DTSTART;VALUE=DATE:20260305" in file.text
    assert "SUMMARY:Wet\\; the paper\\, first" in file.text
    assert (
        "Of a drill" in client.get(reverse("incidents:follow-up"), {"drills": 1}).text
    )


def test_the_way_there_stands_on_a_closed_sheet_the_record_and_the_list(
    client, incident
):
    client.force_login(incident.opened_by)
    there = reverse("incidents:look-back", args=(incident.pk,))

    for name in ("sheet", "record"):
        assert (
            there in client.get(reverse(f"incidents:{name}", args=(incident.pk,))).text
        )
    assert reverse("incidents:follow-up") in client.get("/").text
