"""The timeline's verdicts are those that were shown, its limits those that were in force."""

from datetime import timedelta

import pytest

from incidents import judging, services
from incidents.documents import dumps
from incidents.selectors import look_back
from incidents.then import beside_of, then
from tests.factories import (
    PersonFactory,
    SopProfileFactory,
    acid,
    entry,
    log,
    meter,
    minutes,
    open_incident,
)
from tests.incidents.selectors.test_then import a_whole_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def lines_of(incident):
    rows = look_back.rows_of(incident)
    span = look_back.span_of(incident, rows, minutes(60))
    return {team.key: team for team in look_back.team_lines(incident, rows, span)}


def action_at(team, at):
    return next(b.action for b in team.bands if b.since <= at < b.until)


def test_at_each_record_the_band_is_the_verdict_that_was_shown_and_not_one_of_later():
    watched = a_whole_incident()
    lines = lines_of(watched.incident)

    for at, ((assessment, *_), _, _) in watched.shown.items():
        for team in assessment.teams:
            assert action_at(lines[team.id], at) is team.action


def test_the_verdicts_alone_are_those_of_the_whole_assessment():
    watched = a_whole_incident()

    for at in watched.shown:
        past = then(watched.incident, at)
        whole = judging.judge(past.incident, past.now, at)
        alone = judging.judge(past.incident, past.now, at, beside_of(past.rows))
        assert [
            (team.id, team.action, team.findings, team.clocks) for team in alone.teams
        ] == [
            (team.id, team.action, team.findings, team.clocks) for team in whole.teams
        ]


def test_time_alone_makes_a_band_between_two_records():
    incident = open_incident()
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(incident, meter(minutes(2)))
    incident.refresh_from_db()

    bands = lines_of(incident)["entry-1"].bands

    assert len(bands) > 1
    assert bands[-1].since > minutes(3)
    assert bands[-1].action > bands[0].action


def test_the_time_inside_goes_from_in_to_out_and_on_where_nobody_came_out():
    incident = open_incident()
    log(incident, entry("enter", minutes(1), team="entry-1"))
    log(incident, entry("exit", minutes(9), team="entry-1"))
    log(incident, entry("enter", minutes(20), team="entry-1"))
    incident.refresh_from_db()

    assert lines_of(incident)["entry-1"].inside == (
        (minutes(1), minutes(9)),
        (minutes(20), minutes(60)),
    )


def test_a_change_of_the_sop_is_an_edition_from_its_record_on():
    person = PersonFactory.create()
    first, second = (
        SopProfileFactory.create(
            agency=person.agency,
            version=version,
            document=dumps(
                {"name": "Example County SOP", "version": version, "limits": limits}
            ),
        )
        for version, limits in (("1", {}), ("2", {"lel_withdraw_percent": 5}))
    )
    incident = open_incident(person=person, sop=first)
    log(incident, acid(minutes(1)))
    services.change_sop(
        incident_id=incident.pk,
        person=person,
        sop=second,
        seen=first.pk,
        reason="A refinery",
        at=minutes(10),
    )
    incident.refresh_from_db()

    found = look_back.editions(look_back.rows_of(incident))

    assert [(one.name[-9:], one.since) for one in found] == [
        ("version 1", minutes(0)),
        ("version 2", minutes(10)),
    ]
    assert found[1].profile["lel_withdraw_percent"] == 5


def test_an_amendment_of_something_else_is_no_new_edition():
    watched = a_whole_incident()

    assert len(look_back.editions(look_back.rows_of(watched.incident))) == 1


def test_what_is_written_after_the_closing_does_not_draw_the_time_out():
    incident = open_incident()
    log(incident, acid(minutes(1)))
    services.close_incident(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(5), reason="x"
    )
    incident.refresh_from_db()
    services.add_addendum(
        incident_id=incident.pk,
        person=incident.opened_by,
        client_uuid="00000000-0000-4000-8000-000000000001",
        text="Weighed later",
        at=minutes(5) + timedelta(days=3),
        recorded_at=minutes(5) + timedelta(days=3),
    )
    incident.refresh_from_db()
    rows = look_back.rows_of(incident)

    span = look_back.span_of(incident, rows, minutes(9_999))

    assert (span.start, span.end) == (minutes(0), minutes(5))
    assert lines_of(incident)["entry-1"].bands[-1].until == minutes(5)
