"""The plan in a browser: it fits, can be hit and read; a team is kept out and goes anyway."""

import pytest
from django.urls import reverse
from django.utils import timezone

from command.parts import PARTS
from incidents.models import Incident
from incidents.plans import plan_of
from incidents.services import record_part
from tests.browser.looking import BOXES, HELD, STANDING, problems_at, too_wide
from tests.factories import PersonFactory, open_incident
from tests.incidents.services.test_plan import TEAMS, make_ready

# No page may count on names being short; this one has no place to break well.
LONG_NAME = "Bartholomew Featherstonehaugh-Cholmondeley"


@pytest.fixture
def incident(transactional_db):
    """A plan with something of each kind in it, and something missing."""
    incident = open_incident(
        person=PersonFactory.create(display_name=LONG_NAME),
        at=timezone.now(),
        teams=TEAMS,
        first_parts=[("size_up", "", {"place": "Quarry Lane pump house"})],
    )
    make_ready(incident, at=timezone.now())
    record_part(
        incident_id=incident.pk,
        person=incident.opened_by,
        part="substances",
        item="s1",
        says={"name": "ammonia", "certainty": "label"},
        at=timezone.now(),
    )
    return incident


def addresses(incident):
    args = (incident.pk,)
    named = {
        "plan": reverse("incidents:plan", args=args),
        "enter": reverse("incidents:decision", args=(incident.pk, "enter")),
        "site safety plan": reverse("incidents:site-safety-plan", args=args),
        "blank plan": reverse("incidents:site-safety-plan", args=args) + "?blank=1",
        "activity log": reverse("incidents:activity-log", args=args),
        "briefing": reverse("incidents:incident-briefing", args=args),
        "blank briefing": reverse("incidents:incident-briefing", args=args)
        + "?blank=1",
        "an item": reverse("incidents:plan-part", args=(incident.pk, "substances"))
        + "?item=s1",
    }
    return named | {
        f"part {key}": reverse("incidents:plan-part", args=(incident.pk, key))
        for key, part in PARTS.items()
        if part.offered
    }


@pytest.mark.parametrize("sizes", [HELD, STANDING], ids=["held", "standing"])
def test_no_page_of_the_plan_scrolls_sideways(open_as, incident, sizes):
    width, height = sizes[0]
    page = open_as(
        incident.opened_by,
        viewport={"width": width, "height": height},
        is_mobile=sizes is HELD,
    )

    wide = {}
    for name, url in addresses(incident).items():
        page.goto(url)
        wide[name] = too_wide(page, sizes)

    assert {name: found for name, found in wide.items() if found} == {}


@pytest.mark.parametrize("size", [(360, 740), (1024, 768)])
def test_every_target_is_high_enough_and_what_saves_is_higher(open_as, incident, size):
    page = open_as(incident.opened_by, viewport={"width": size[0], "height": size[1]})

    low, saves = {}, {}
    for name, url in addresses(incident).items():
        page.goto(url)
        boxes = page.evaluate(BOXES)
        found = [(b["what"], round(b["height"])) for b in boxes if b["height"] < 47.5]
        if found:
            low[name] = found
        for box in boxes:
            if box["what"] == "BUTTON save-part":
                saves[name] = box["height"]

    assert low == {}
    # The parts of the decon line have pages of their own (`test_kit`).
    assert len(saves) >= 20
    assert min(saves.values()) >= 96


def test_axe_finds_nothing_on_the_pages_of_the_plan(open_as, incident):
    page = open_as(incident.opened_by, reduced_motion="reduce")
    found = {}

    for name, url in addresses(incident).items():
        page.goto(url)
        found[name] = problems_at(page)

    assert {name: seen for name, seen in found.items() if seen} == {}


def test_from_three_fields_to_a_team_that_goes_in_anyway(open_as, transactional_db):
    page = open_as(PersonFactory.create(), "/incidents/new/")
    page.fill("[name=name]", "Mill Race paint store")
    page.fill("[name=location]", "Mill Race 4")
    page.locator("button.main").first.click()
    page.wait_for_selector("#live")
    incident = Incident.objects.get()

    page.goto(reverse("incidents:team-new", args=(incident.pk,)))
    page.fill("[name=name]", "Entry 1")
    page.select_option("[name=ensemble]", "level_b")
    page.fill("[name=members]", "Alder\nBirch")
    page.locator("main button.main").click()
    page.wait_for_selector("#live")
    page.locator("#do-enter").click()
    page.wait_for_selector("#decide form")
    page.locator("#decide button.main").click()
    page.wait_for_selector("#keeps-out")
    kept_out = page.locator("#keeps-out").inner_text()
    page.locator("#keeps-out .choice").first.click()
    page.locator("#decide button.main").click()
    page.wait_for_selector("#decide .said")

    assert "No backup team outside" in kept_out
    assert "29 CFR 1910.120(q)(3)(vi)" in kept_out
    (override,) = plan_of(incident).overrides("entry-1", None)
    assert override.why == "Rescue before the full team has assembled"
    page.wait_for_function(
        "() => document.querySelector('#live').textContent.includes('Went in without')"
    )


def test_what_was_typed_against_another_commander_stays_on_the_page(open_as, incident):
    url = reverse("incidents:plan-part", args=(incident.pk, "communications"))
    page = open_as(incident.opened_by, url)
    page.fill("[name=command]", "Channel 3")
    record_part(
        incident_id=incident.pk,
        person=incident.opened_by,
        part="communications",
        says={"command": "Channel 9"},
        at=timezone.now(),
    )

    page.locator("#save-part").click()
    page.wait_for_selector("#theirs")

    assert "Channel 9" in page.locator("section.notice").inner_text()
    assert page.input_value("[name=command]") == "Channel 3"
    page.locator("#save-part").click()
    page.wait_for_selector("#part-communications")
    assert plan_of(incident).communications.command == "Channel 3"


def test_the_page_of_a_decision_sends_when_opened_by_its_address(open_as, incident):
    """With script the form asks for a place to answer in: the page has to have one."""
    url = reverse("incidents:decision", args=(incident.pk, "enter"))
    page = open_as(incident.opened_by, f"{url}?team=entry-1")

    page.get_by_role("button", name="Save: team in").click()
    page.wait_for_selector("#decide .said")

    assert incident.entries.filter(kind="enter").count() == 1
