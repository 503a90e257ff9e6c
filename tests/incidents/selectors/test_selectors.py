"""Each read, with the queries it takes for one row and for twenty."""

import uuid
from datetime import timedelta

import pytest
from django.http import Http404

from incidents import engine, selectors
from incidents.documents import loads
from tests.factories import (
    START,
    AgencyFactory,
    PersonFactory,
    acid,
    entry,
    join,
    log,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def with_readings(count, **changes):
    incident = open_incident(**changes)
    for number in range(count):
        log(incident, acid(START + timedelta(seconds=number)))
    incident.refresh_from_db()
    return incident


@pytest.mark.parametrize("count", [1, 20])
def test_the_list_takes_one_query(django_assert_num_queries, count):
    person = PersonFactory.create()
    for number in range(count):
        open_incident(person=person, at=minutes(number))

    with django_assert_num_queries(1):
        rows = [
            (row.name, row.agency.name, row.opened_by.shown_name, row.role)
            for row in selectors.incidents_for(person)
        ]

    assert len(rows) == count
    assert rows[0][3] == "commander"


def test_the_list_is_newest_first():
    person = PersonFactory.create()
    older = open_incident(person=person, at=minutes(0))
    newer = open_incident(person=person, at=minutes(5))

    assert list(selectors.incidents_for(person)) == [newer, older]


@pytest.mark.parametrize("count", [1, 20])
def test_the_log_takes_four_queries_with_all_that_is_shown(
    django_assert_num_queries, count
):
    incident = with_readings(count)

    with django_assert_num_queries(4):
        shown = [
            (
                row.entry.author.shown_name,
                row.body,
                [
                    (
                        finding.because,
                        [event.by.shown_name for event in finding.events.all()],
                    )
                    for finding in row.findings
                ],
                row.struck_by and row.struck_by.author.shown_name,
                row.is_decision,
            )
            for row in selectors.log_rows(incident, limit=50)
        ]

    assert len(shown) == count + 1
    assert shown[0][2]


def test_the_log_is_newest_first_and_goes_on_page_by_page():
    incident = with_readings(5)

    first = selectors.log_rows(incident, limit=3)
    rest = selectors.log_rows(incident, limit=10, before_seq=first[-1].entry.seq)

    assert [row.entry.seq for row in first] == [6, 5, 4]
    assert [row.entry.seq for row in rest] == [3, 2, 1]
    assert [row.entry.seq for row in selectors.full_log(incident)] == [1, 2, 3, 4, 5, 6]


def test_a_row_says_who_put_it_right_and_who_heard_it():
    incident = with_readings(1)
    reading = incident.entries.get(seq=2)
    log(incident, entry("acknowledge", minutes(1), entry=reading.key))
    struck = log(incident, entry("strike", minutes(2), entry=reading.key, reason="wet"))

    row = selectors.log_row(incident, 2)

    assert row.struck_by == struck.entry
    assert row.strike_reason == "wet"
    assert [heard.kind for heard in row.acknowledged_by] == ["acknowledge"]
    assert selectors.log_row(incident, 99) is None


@pytest.mark.parametrize("count", [1, 20])
def test_the_sheet_takes_eight_queries_when_its_state_is_remembered(
    django_assert_num_queries, count
):
    incident = with_readings(count)

    with django_assert_num_queries(8):
        view = selectors.sheet(incident, minutes(2))
        shown = [
            (row.team.name, [member.name for member in row.team.members.all()])
            for row in view.teams
        ]

    assert shown[0] == ("Entry team 1", ["Alder", "Birch"])
    assert view.teams[0].now.action.word == "stop"


@pytest.mark.parametrize("count", [1, 20])
def test_the_sheet_takes_one_query_more_in_a_fresh_process(
    django_assert_num_queries, count
):
    incident = with_readings(count)
    remembered = selectors.sheet(incident, minutes(2))
    engine.forget()

    with django_assert_num_queries(9):
        fresh = selectors.sheet(incident, minutes(2))
        for row in fresh.teams:
            list(row.team.members.all())

    assert fresh.assessment == remembered.assessment


def test_the_tag_takes_one_query_and_changes_with_every_entry(
    django_assert_num_queries,
):
    incident = with_readings(1)
    person = incident.opened_by

    with django_assert_num_queries(1):
        before = selectors.sheet_tag(incident.pk, person=person, at=START)
    assert selectors.sheet_tag(incident.pk, at=START) == before
    assert selectors.sheet(incident, START).tag == before
    log(incident, acid(minutes(1)))

    assert selectors.sheet_tag(incident.pk, at=START) != before
    assert before.startswith('"')
    assert before.endswith('"')


def test_the_tag_changes_with_time_alone():
    incident = with_readings(1)

    assert selectors.sheet_tag(incident.pk, at=START) != selectors.sheet_tag(
        incident.pk, at=minutes(1)
    )


def test_only_who_has_a_part_in_it_finds_an_incident():
    incident = open_incident()
    viewer = join(incident, "viewer")
    stranger = PersonFactory.create(agency=incident.agency)
    foreign = PersonFactory.create(agency=AgencyFactory.create())
    foreign.roles.create(incident=incident, role="commander")

    found = selectors.get_incident_for(viewer, incident.pk)
    assert found == incident
    assert found.role == selectors.role_of(viewer, incident) == "viewer"
    for person in (stranger, foreign, PersonFactory.create(agency=None)):
        assert selectors.role_of(person, incident) == ""
        assert list(selectors.incidents_for(person)) == []
        with pytest.raises(Http404):
            selectors.get_incident_for(person, incident.pk)
        with pytest.raises(Http404):
            selectors.sheet_tag(incident.pk, person=person)
    with pytest.raises(Http404):
        selectors.get_incident_for(viewer, uuid.uuid4())
    with pytest.raises(Http404):
        selectors.sheet_tag(uuid.uuid4())


def test_the_worksheet_leaves_out_the_applications_own_records():
    incident = with_readings(2)

    document = selectors.worksheet_document(incident)

    assert document["format"] == "hazmat-incident-worksheet"
    assert [row["kind"] for row in document["log"]] == ["ph_paper", "ph_paper"]
    assert document["incident"] == loads(incident.setup)["incident"]
