"""Sentences of the engine call people by their names; the worksheet knows ids only."""

from datetime import timedelta
from decimal import Decimal

import pytest

from incidents import engine, judging, selectors, services
from incidents.models import StoredFinding
from incidents.services.rebuilding import rebuild
from reports.reading import page_texts
from tests.factories import TEAMS, entry, log, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def gauge(at, psi, member="a", team="entry-1"):
    pressure = {"value": Decimal(psi), "unit": "psi"}
    return entry("air_check", at, team=team, member=member, pressure=pressure)


@pytest.fixture
def incident():
    """Alder breathes 300 psi a minute and is at the turn-around pressure soon."""
    incident = open_incident()
    log(incident, entry("enter", minutes(0), team="entry-1"))
    log(incident, gauge(minutes(1), 4300))
    log(incident, gauge(minutes(5), 2800))
    incident.refresh_from_db()
    return incident


def test_a_forecast_of_air_names_the_person(incident):
    view = judging.judge(incident, engine.live(incident), minutes(6))

    said = [finding.because for finding in view.by_team()["entry-1"].findings]
    assert any(words.startswith("Alder: by the last gauge readings") for words in said)
    assert not any(words.startswith("a: ") for words in said)


def test_a_gauge_at_the_alarm_is_stored_under_the_name(incident):
    log(incident, gauge(minutes(6), 1400))

    kept = StoredFinding.objects.filter(hazard="low_air")
    said = set(kept.values_list("because", flat=True))
    assert "Alder at 1400 psi, at or below the low-air alarm" in said
    assert not any(words.startswith(("a ", "a:")) for words in said)


def test_who_was_not_heard_is_named(incident):
    appended = log(
        incident, entry("par", minutes(6), team="entry-1", unanswered=["a", "b"])
    )

    said = [finding.because for finding in appended.findings]
    assert "Not heard or seen at the last PAR: Alder, Birch" in said


def test_the_clocks_keep_the_ids_by_which_pages_look_up(incident):
    now = selectors.sheet(incident, minutes(6)).assessment.by_team()["entry-1"]

    assert [clock.member for clock in now.clocks.air] == ["a", "b"]


def test_a_state_built_anew_from_the_log_says_the_same(incident):
    log(incident, gauge(minutes(6), 1400))
    engine.forget()

    difference = rebuild(incident_id=incident.pk)

    assert not difference


def test_a_team_that_came_later_is_called_by_its_names(incident):
    added = {**TEAMS[0], "id": "entry-2", "name": "Entry team 2"}
    added["members"] = [{**TEAMS[0]["members"][0], "name": "Cedar"}]
    services.add_team(
        incident_id=incident.pk,
        person=incident.opened_by,
        team=added,
        at=minutes(6),
        reason="relief",
    )

    log(incident, entry("enter", minutes(7), team="entry-2"))
    log(incident, gauge(minutes(8), 1400, team="entry-2"))

    last = StoredFinding.objects.filter(team_key="entry-2", hazard="low_air").get()
    assert last.because.startswith("Cedar at 1400 psi")


def test_the_report_names_them_also_where_time_alone_speaks(incident):
    report = services.make_report(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(6) + timedelta(seconds=30),
    )

    words = " ".join("\n".join(page_texts(bytes(report.pdf))).split())
    assert "Alder: by the last gauge readings" in words
    assert " a: by the last" not in words
