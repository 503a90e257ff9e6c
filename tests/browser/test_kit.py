"""Instruments, medical, the decon line and exposure records as they are seen and hit."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.kit import worksheet_object
from incidents.medical import code_of
from incidents.models import Instrument
from tests.browser.looking import BOXES, problems_at
from tests.factories import (
    PersonFactory,
    entry,
    join,
    log,
    meter,
    open_incident,
    register_meter,
    register_paper,
)

SIZES = [(320, 568), (360, 740), (1024, 768)]
ALDER = code_of("Alder")


def ago(minutes):
    return timezone.now() - timedelta(minutes=minutes)


@pytest.fixture
def incident(transactional_db):
    """Instruments in and out of date, a team in decon, one checked, one measured."""
    person = PersonFactory.create()
    good = register_meter(person, serial="GM-0042", calibration_due="2030-01-31")
    register_meter(person, label="Chlorine meter 2", calibration_due="2026-01-31")
    register_paper(person, expires="2026-01-31")
    services.record_test(
        instrument_id=good.pk,
        person=person,
        kind="bump_test",
        passed=True,
        at=ago(90),
        recorded_at=ago(90),
        gas="50 % LEL methane, 18 % O2",
        note="Response in 20 s",
    )
    rows = Instrument.objects.with_tests().filter(agency=person.agency)
    incident = open_incident(
        person=person, at=ago(60), instruments=[worksheet_object(row) for row in rows]
    )
    log(incident, entry("enter", ago(50), team="entry-1", place="tank room"))
    log(incident, meter(ago(45), instrument=good.key, lel_percent=4))
    log(incident, meter(ago(44)))
    log(incident, entry("exit", ago(30), team="entry-1"))
    log(
        incident,
        entry("bump_test", ago(20), instrument=good.key, passed=False),
    )
    for part, says in (
        ("decon_line", {"who": ["Alder", "Birch"], "method": "technical"}),
        (
            "decon_check",
            {"who": "Birch", "outcome": "found", "means": "paper", "showed": "pH 3"},
        ),
        ("whereabouts", {"who": ["Driver Fennel"], "where": "cold", "post": "Gate 2"}),
        ("notice", {"who": ["Alder"], "told": "Acid mist", "by": "Dana Holt"}),
    ):
        services.record_part(
            incident_id=incident.pk, person=person, part=part, says=says, at=ago(10)
        )
    medic = join(incident, "medical")
    services.record_check(
        incident_id=incident.pk,
        person=medic,
        name="Alder",
        kind="after",
        values={"pulse": 128, "systolic": 150, "diastolic": 88, "symptoms": "dizzy"},
        at=ago(9),
        recorded_at=ago(9),
        client_uuid=uuid.uuid4(),
    )
    incident.refresh_from_db()
    return incident


def of_command(incident):
    args = (incident.pk,)
    parts = ("whereabouts", "decon_line", "decon_check", "exposure_note", "notice")
    return {
        "register": reverse("incidents:instruments"),
        "new": reverse("incidents:instrument-new", args=("gas_meter",)),
        "instrument": reverse("incidents:instrument", args=("four-gas-meter-1",)),
        "test": reverse("incidents:instrument-test", args=("four-gas-meter-1",)),
        "change": reverse("incidents:instrument-change", args=("four-gas-meter-1",)),
        "service": reverse("incidents:instrument-service", args=("four-gas-meter-1",)),
        "along": reverse("incidents:incident-instruments", args=args),
        "sheet": reverse("incidents:sheet", args=args),
        "line": reverse("incidents:line", args=args),
        "fit": reverse("incidents:medical", args=args),
        "exposures": reverse("incidents:exposures", args=args),
        "exposure": reverse("incidents:exposure", args=(incident.pk, ALDER)),
        "close": reverse("incidents:close", args=args),
    } | {
        part: reverse("incidents:line-part", args=(incident.pk, part))
        for part in (*parts, "volunteer")
    }


def of_medical(incident):
    args = (incident.pk,)
    person = (incident.pk, ALDER)
    return {
        "fit": reverse("incidents:medical", args=args),
        "measured": reverse("incidents:medical-person", args=person),
        "check": reverse("incidents:medical-check", args=person),
        "decide": reverse("incidents:medical-decide", args=person),
        "new check": reverse("incidents:medical-new", args=args),
        "looks": reverse("incidents:medical-looks", args=args),
    }


def everything(incident):
    medic = incident.roles.get(role="medical").person
    return [
        (incident.opened_by, of_command(incident)),
        (medic, of_medical(incident)),
    ]


@pytest.mark.parametrize("size", SIZES, ids=lambda size: "{}x{}".format(*size))
def test_no_page_scrolls_sideways_and_every_target_can_be_hit(open_as, incident, size):
    wide, low = {}, {}
    for person, pages in everything(incident):
        page = open_as(
            person,
            viewport={"width": size[0], "height": size[1]},
            is_mobile=size[0] < 800,
        )
        for name, url in pages.items():
            page.goto(url)
            needed = page.evaluate("() => document.documentElement.scrollWidth")
            if needed > size[0]:
                wide[name] = needed
            boxes = [] if name == "sheet" else page.evaluate(BOXES)
            short = [
                (b["what"], round(b["height"])) for b in boxes if b["height"] < 47.5
            ]
            if short:
                low[name] = short

    assert wide == {}
    assert low == {}


def test_what_is_written_at_the_line_has_targets_for_gloves(open_as, incident):
    page = open_as(incident.opened_by, viewport={"width": 360, "height": 740})

    low = {}
    for name in ("line", "whereabouts", "decon_line", "decon_check", "test", "along"):
        page.goto(of_command(incident)[name])
        boxes = page.evaluate(BOXES)
        short = [
            (b["what"], round(b["height"]))
            for b in boxes
            if b["height"] < 71.5 and not b["what"].startswith("A ")
        ]
        if short:
            low[name] = short

    assert low == {}


@pytest.mark.parametrize("size", [(360, 740), (1024, 768)])
def test_a_bump_test_that_failed_after_use_is_seen_before_the_teams(
    open_as, incident, size
):
    page = open_as(incident.opened_by, viewport={"width": size[0], "height": size[1]})
    page.goto(of_command(incident)["sheet"])

    banner = page.locator(".banner").bounding_box()
    first = page.locator(".ledger > *").first.bounding_box()

    assert banner["y"] + banner["height"] <= first["y"]
    assert banner["y"] + banner["height"] <= size[1]


@pytest.mark.parametrize("size", [(320, 568), (360, 740)])
def test_a_record_keeps_its_figures_whole_on_a_phone(open_as, incident, size):
    page = open_as(incident.opened_by, viewport={"width": size[0], "height": size[1]})
    page.goto(of_command(incident)["exposure"])

    narrow = page.evaluate(
        "() => [...document.querySelectorAll('.record .facts dd')]"
        ".map((node) => node.getBoundingClientRect().width)"
    )

    assert min(narrow) > size[0] / 2


def test_axe_finds_nothing(open_as, incident):
    found = {}
    for person, pages in everything(incident):
        page = open_as(person, reduced_motion="reduce")
        for name, url in pages.items():
            page.goto(url)
            found[name] = problems_at(page)

    assert {name: seen for name, seen in found.items() if seen} == {}


def test_somebody_goes_through_the_line_by_pressing(open_as, incident):
    """Through decon again, checked, moved: three forms, each saved by one press."""
    page = open_as(incident.opened_by, viewport={"width": 1024, "height": 768})
    page.goto(of_command(incident)["line"])
    row = page.locator("li.person", has_text="Birch")

    row.get_by_role("link", name="Through decon: Birch").click()
    page.get_by_label("Technical", exact=True).check()
    page.get_by_role("button", name="Save").click()
    row.get_by_role("link", name="Check after decon: Birch").click()
    page.get_by_label("Nothing found", exact=True).check()
    page.get_by_label("Paper", exact=True).check()
    page.get_by_label("What it showed").fill("pH 7 on both gloves")
    page.get_by_role("button", name="Save").click()
    row.get_by_role("link", name="Move Birch").click()
    page.get_by_label("Where", exact=True).select_option("cold")
    page.get_by_role("button", name="Save").click()

    cold = page.locator("section", has=page.get_by_role("heading", name="Cold zone"))
    assert cold.locator("li.person", has_text="Birch").is_visible()
