"""A fault of the program never loses a reading and never makes a team look better off."""

import pytest

from incidents import engine, judging
from incidents.models import StoredFinding
from screening.verdicts import Action
from tests.factories import START, acid, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def fail(*_, **__):
    raise RuntimeError("injected")


def fresh(incident):
    incident.refresh_from_db()
    return incident


def test_a_fault_of_the_engine_never_loses_the_reading(monkeypatch):
    incident = open_incident()
    log(incident, acid(START))
    with monkeypatch.context() as patch:
        patch.setattr(engine, "step", fail)

        appended = log(incident, meter(minutes(1)))

    assert appended.entry.seq == 3
    assert {finding.rule for finding in appended.findings} == {judging.NOT_COMPUTED}
    for team in appended.assessment.teams:
        assert team.action >= Action.CAUTION
        assert any(finding.rule == judging.NOT_COMPUTED for finding in team.findings)
    # What stood before still stands.
    assert appended.assessment.by_team()["entry-1"].action is Action.STOP
    stored = StoredFinding.objects.filter(entry=appended.entry)
    assert {row.action for row in stored} == {Action.CAUTION}


def test_a_quiet_reading_that_was_not_judged_is_never_continue(monkeypatch):
    incident = open_incident()
    with monkeypatch.context() as patch:
        patch.setattr(engine, "step", fail)
        appended = log(incident, meter(START))

    assert {team.action for team in appended.assessment.teams} == {Action.CAUTION}


def test_without_an_engine_the_strictest_that_was_found_is_held(monkeypatch):
    incident = open_incident()
    log(incident, acid(START))
    monkeypatch.setattr(judging, "assess", fail)

    appended = log(incident, meter(minutes(1)))

    held = appended.assessment.by_team()
    assert held["entry-1"].action is Action.STOP
    assert held["entry-1"].findings[0].rule == judging.NOT_COMPUTED
    assert all(team.action >= Action.CAUTION for team in held.values())
    assert held["entry-1"].clocks.inside


def test_an_entry_that_was_not_judged_is_judged_once_the_fault_is_mended(monkeypatch):
    incident = open_incident()
    with monkeypatch.context() as patch:
        patch.setattr(engine, "step", fail)
        log(incident, acid(START))
    engine.forget()

    now = engine.live(fresh(incident))

    assert now.not_judged == ()
    view = judging.judge(incident, now, minutes(1))
    assert view.by_team()["entry-1"].action is Action.STOP
