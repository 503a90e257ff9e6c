"""A drill looks like one everywhere, and is nowhere among what is real."""

import csv
import io
import json
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import selectors
from incidents.medical import code_of
from incidents.models import Incident, Report
from incidents.services import chain, drills
from incidents.services.importing import import_worksheet
from reports.cap import NAMESPACE
from reports.reading import page_texts
from reports.verifying import verify_pdf
from screening.result import screen
from screening.worksheet import WorksheetErrors, load_json, parse_worksheet
from tests.drills import SCRIPT, started, step
from tests.factories import PersonFactory, open_incident
from tests.incidents.views.test_who_may_open_what import (
    MATRIX,
    address,
    cases,
    signed_in,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]
BANNER = 'class="drill-banner"'


def url(name, *args):
    return reverse(f"incidents:{name}", args=args)


@pytest.fixture
def drill():
    """One that is over, its whole script given."""
    drill, people = started(at=timezone.now())
    for _ in range(3):
        step(drill, timezone.now())
    drills.end_drill(incident_id=drill.pk, person=drill.led_by, at=timezone.now())
    drill.incident.refresh_from_db()
    drill.people = people
    return drill


def opened(drill, name, *args):
    """As its leader, who has command of it in the record."""
    return signed_in(drill.led_by).get(url(name, drill.pk, *args))


PAGES = cases(
    (name, row)
    for name, rows in MATRIX.items()
    for row in rows
    if row.in_incident
    and row.get.get("commander") in (200, 302)
    and name not in ("sheet-live", "late", "held", "device-revoke", "radio-understood")
)


@pytest.mark.parametrize(("name", "row"), PAGES)
def test_the_banner_is_on_every_page_of_it(drill, name, row):
    answer = signed_in(drill.led_by).get(address(name, row, drill.incident))
    if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
        assert BANNER in answer.text
        assert "<title>Drill: " in answer.text
        # In print it stands at the head of each sheet of paper, too.
        assert url("page-head", drill.incident_id) in answer.text
    else:
        assert answer.status_code in (200, 302, 403, 404)


def test_the_display_on_the_wall_has_it(drill):
    answer = signed_in(drill.led_by).get(url("sheet", drill.pk), {"wall": "1"})
    assert BANNER in answer.text


def test_its_sheet_offers_nothing_that_its_script_would_not_let_be_written(drill):
    running, _ = started(leader=drill.led_by, at=timezone.now())
    step(running, timezone.now())
    text = opened(running, "sheet").text
    for name in ("log-choose", "people", "devices", "close"):
        assert url(name, running.pk) not in text
    assert url("drill", running.pk) in text


def test_no_real_incident_has_it():
    incident = open_incident(at=timezone.now())
    for name in ("sheet", "log", "record", "reports"):
        text = signed_in(incident.opened_by).get(url(name, incident.pk)).text
        assert "drill-banner" not in text
        assert "Drill:" not in text


def test_the_pages_of_a_drill_itself_have_it(drill):
    for name in ("drill", "drill-results"):
        assert BANNER in opened(drill, name).text
        for person in drill.people.values():
            assert BANNER in signed_in(person).get(url(name, drill.pk)).text


# --- Files --------------------------------------------------------------------------------


def test_the_report_says_so_across_every_page_and_holds(drill):
    signed_in(drill.led_by).post(url("report-make", drill.pk))
    report = Report.objects.get()

    pages = page_texts(bytes(report.pdf))

    assert len(pages) >= 2
    for text in pages:
        assert "report, drill" in text
        assert text.count("Drill") >= 1
    assert "Nothing in this report happened." in pages[0]
    # Its root is not given here, so nobody stands behind the key; all else holds.
    fails = {c.name for c in verify_pdf(bytes(report.pdf)).checks if c.holds is False}
    assert fails == {"trust", "container"}


@pytest.mark.parametrize(
    "form", ["site-safety-plan", "activity-log", "incident-briefing"]
)
def test_each_form_says_so_on_every_page(drill, form):
    answer = opened(drill, "form-file", form)
    assert "drill-etching" in answer["Content-Disposition"]
    for text in page_texts(answer.content):
        assert ", drill" in text


def test_the_worksheet_says_so_and_is_read_and_judged_as_one(drill):
    answer = opened(drill, "worksheet-json")
    document = load_json(answer.content)
    assert document["drill"] is True
    assert answer["Content-Disposition"].startswith('attachment; filename="drill-')
    assert screen(document)["drill"] is True


def test_a_worksheet_of_a_drill_comes_in_as_a_drill(drill):
    person = PersonFactory.create()
    incident = import_worksheet(
        file=opened(drill, "worksheet-json").content,
        person=person,
        agency=person.agency,
        at=timezone.now(),
    )
    assert incident.is_drill
    assert chain.verify(incident) is None
    assert BANNER in signed_in(person).get(url("sheet", incident.pk)).text


@pytest.mark.parametrize("said", [False, "yes", 1, None, []])
def test_a_worksheet_says_true_or_nothing(said):
    document = {key: value for key, value in SCRIPT.items() if key != "drill"}
    assert "drill" not in screen(load_json(json.dumps(document).encode()))
    with pytest.raises(WorksheetErrors) as errors:
        parse_worksheet(load_json(json.dumps(document | {"drill": said}).encode()))
    assert [error.pointer for error in errors.value.errors] == ["/drill"]


def test_readings_as_csv_say_so_in_a_column(drill):
    answer = opened(drill, "readings-file", "ph_paper")
    text = b"".join(answer.streaming_content).decode()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["drill"] for row in rows] == ["yes"]
    assert "drill-" in answer["Content-Disposition"]


def test_a_warning_of_a_drill_is_an_exercise(drill):
    alert = ElementTree.fromstring(opened(drill, "warning-file", "shelter").content)
    assert alert.findtext(f"{{{NAMESPACE}}}status") == "Exercise"
    assert alert.findtext(f"{{{NAMESPACE}}}note").startswith("Drill")
    headline = alert.find(f"{{{NAMESPACE}}}info/{{{NAMESPACE}}}headline")
    assert headline.text.startswith("Drill")


def test_zones_say_so(drill):
    assert json.loads(opened(drill, "zones-file").content)["drill"] is True


# --- Not among what is real ----------------------------------------------------------------


def test_it_stands_apart_in_the_list(drill):
    real = open_incident(
        person=PersonFactory.create(agency=drill.led_by.agency), name="Real one"
    )
    assert real.name
    text = signed_in(drill.people["commander"]).get(url("incident-list")).text
    before, after = text.split("<h2>Drills</h2>")
    assert "Etching shop drill" not in before
    assert "Etching shop drill" in after


def test_nobody_s_exposure_has_anything_of_a_drill(drill):
    incident = Incident.objects.get(pk=drill.pk)
    person = PersonFactory.create(agency=drill.led_by.agency, display_name="Carrowby")
    code, now = code_of("Carrowby"), timezone.now()

    assert selectors.exposed_people(incident, now) == []
    assert selectors.exposure_record(incident, code, now) is None
    assert selectors.personal_record(person, code, now, seeing=("commander",)) is None
    assert selectors.kept_until(incident, now).people == ()
    assert selectors.employments(person.agency) == []
    assert opened(drill, "exposure", code).status_code == 404
