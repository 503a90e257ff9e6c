"""An incident that has ended is judged at its end: nothing of it counts on."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from incidents import selectors, services
from incidents.moments import ended_at
from incidents.services import reports as report_service
from tests.factories import (
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
)
from tests.incidents.services.test_importing import FOREIGN, bring_in

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

LONG_AFTER = timedelta(days=266)


def closed_over_people():
    """A team was in for ten minutes when the incident was closed over it."""
    incident = open_incident()
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(incident, meter(minutes(2)))
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(11),
        reason="Another agency took over",
    )
    incident.refresh_from_db()
    return incident


def imported():
    incident = bring_in(FOREIGN)
    incident.refresh_from_db()
    return incident


def test_an_open_incident_has_no_end():
    assert ended_at(open_incident()) is None


def test_a_closed_one_ended_when_it_was_closed():
    assert ended_at(closed_over_people()) == minutes(11)


def test_an_import_ended_with_the_last_entry_of_its_file():
    """14:08 at UTC-5; it was brought in an hour after it began."""
    assert ended_at(imported()) == minutes(8)


def test_an_import_without_a_log_ended_when_it_came():
    file = FOREIGN[: FOREIGN.index(' "log": [')] + ' "log": []\n}\n'
    incident = bring_in(file)
    incident.refresh_from_db()

    assert ended_at(incident) == minutes(60)


@pytest.mark.parametrize(
    ("made", "end"), [(closed_over_people, 11), (imported, 8)], ids=["closed", "import"]
)
def test_sheet_line_and_plan_are_those_of_the_end(made, end):
    incident = made()
    late = minutes(60) + LONG_AFTER

    sheet = selectors.sheet(incident, late)

    assert sheet.at == minutes(end)
    assert sheet.assessment == selectors.sheet(incident, late + LONG_AFTER).assessment
    assert selectors.line(incident, late).at == minutes(end)
    assert selectors.plan_view(incident, late).at == minutes(end)
    said = [found.because for row in sheet.teams for found in row.now.findings]
    assert not [words for words in said if "No PAR" in words]


def test_a_moment_of_before_the_end_is_that_moment():
    """Looking back, an incident that has ended is judged as it then stood."""
    incident = closed_over_people()

    assert selectors.sheet(incident, minutes(5)).at == minutes(5)


def test_the_hot_zone_is_counted_to_the_closing_and_no_further():
    incident = closed_over_people()
    code = selectors.exposed_people(incident, minutes(999))[0].code

    record = selectors.exposure_record(incident, code, minutes(999))

    assert record.inside == timedelta(minutes=10)
    assert record.at == minutes(11)


def test_the_page_of_the_record_counts_on_in_an_open_incident_alone(client):
    incident = closed_over_people()
    client.force_login(incident.opened_by)
    code = selectors.exposed_people(incident, minutes(999))[0].code

    page = client.get(reverse("incidents:exposure", args=(incident.pk, code))).text

    assert "\u2013now" not in page
    assert "\u2013the end Hot zone" in " ".join(page.split())
    assert "the end of the incident" in page
    people = client.get(reverse("incidents:exposures", args=(incident.pk,))).text
    assert "at the end: hot" in people
    line = client.get(reverse("incidents:line", args=(incident.pk,))).text
    assert "Who was where at the end" in line


def test_the_running_clocks_of_the_sheet_have_a_moment_to_stand_at(client):
    incident = closed_over_people()
    client.force_login(incident.opened_by)

    for wall in ("", "?wall=1"):
        url = reverse("incidents:sheet", args=(incident.pk,)) + wall
        page = client.get(url).text
        assert 'data-end="2026-03-04T13:11:00-06:00"' in page
        assert "Judged as it stood then." in page


def test_an_open_sheet_has_none(client):
    incident = open_incident()
    client.force_login(incident.opened_by)

    page = client.get(reverse("incidents:sheet", args=(incident.pk,))).text

    assert "data-end" not in page


def test_the_sheet_of_an_import_says_at_which_moment_it_is_judged(client):
    incident = imported()
    client.force_login(incident.opened_by)

    page = client.get(reverse("incidents:sheet", args=(incident.pk,))).text

    assert "Judged as it stood at its last entry, 2026-03-04 13:08:00." in page
    assert "No PAR" not in page
    assert "logged" not in " ".join(page.split('class="log"')[1].split())


def test_who_brought_a_file_in_heard_and_struck_nothing_in_it(client):
    """A. Alder heard at 14:07 and struck a reading; the importer is somebody else."""
    incident = imported()
    client.force_login(incident.opened_by)
    importer = incident.opened_by.shown_name

    page = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    words = " ".join(re.sub(r"<[^>]+>", " ", page.split('id="alarms"')[1]).split())

    assert "heard 13:07 A. Alder" in words
    assert "heard by A. Alder" in words
    assert "put right: wrong strip (A. Alder)" in words
    assert f"({importer})" not in words


def test_an_entry_of_an_import_is_judged_at_its_own_time(client):
    """When it was recorded is not known: the import is no time of it."""
    incident = imported()
    client.force_login(incident.opened_by)

    page = client.get(reverse("incidents:entry", args=(incident.pk, 3))).text

    assert "No PAR" not in page


def test_the_charts_end_where_the_incident_ended(client, monkeypatch):
    ends = []
    from reports import figures

    real = figures.span_of
    monkeypatch.setattr(figures, "span_of", lambda *a: (ends.append(a[2]), real(*a))[1])
    for incident in (closed_over_people(), imported()):
        client.force_login(incident.opened_by)
        client.get(reverse("incidents:charts", args=(incident.pk,)))

    assert ends == [minutes(11), minutes(8)]


def test_the_report_judges_the_plan_at_the_closing_too(monkeypatch):
    """Made a day later it must not hold the plan against that day."""
    judged_at = []
    real = report_service.history_of
    monkeypatch.setattr(
        report_service,
        "history_of",
        lambda rows, about, at: (judged_at.append(at), real(rows, about, at))[1],
    )
    incident = closed_over_people()

    late = minutes(11) + LONG_AFTER
    report_service.report_body(incident, incident.opened_by, late)

    assert judged_at == [minutes(11)]


def test_what_is_asked_of_an_ended_incident_costs_one_query_more(
    django_assert_num_queries,
):
    incident = closed_over_people()
    selectors.sheet(incident, minutes(20))

    with django_assert_num_queries(1):
        assert ended_at(incident) == minutes(11)


def test_somebody_who_only_reads_sees_the_same(client):
    incident = closed_over_people()
    log_page = reverse("incidents:sheet-live", args=(incident.pk,))
    client.force_login(join(incident, "viewer"))

    assert "data-end" in client.get(log_page).text
