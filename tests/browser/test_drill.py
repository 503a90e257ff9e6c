"""A drill run by two people to its score, stepped by hand: no step waits for a time."""

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from incidents.models import Drill
from incidents.services import drill_scripts, drills
from incidents.services.importing import import_worksheet
from tests.browser.conftest import PHONE, TABLET
from tests.browser.looking import BOXES, SIZES, problems
from tests.drills import SCRIPT, file_of, officer, started, step
from tests.factories import PersonFactory

SCRIPT_FILE = settings.BASE_DIR / "demo_fixtures/drills/acid_that_is_fluoride.json"


def url(name, *args):
    return reverse(f"incidents:{name}", args=args)


@pytest.fixture
def leader(transactional_db):
    return officer(display_name="E. Moss")


def person_of(leader, name):
    return PersonFactory.create(agency=leader.agency, may_open=False, display_name=name)


def test_two_people_run_a_drill_to_its_score(open_as, leader):
    commander, technician = person_of(leader, "A. Ash"), person_of(leader, "T. Rowan")
    lead = open_as(leader, url("drill-script-new"), **TABLET)
    lead.get_by_label("Script (JSON)").set_input_files(SCRIPT_FILE)
    lead.get_by_role("button", name="Keep the script").click()
    lead.get_by_role("link", name="Begin this drill").click()
    lead.get_by_label("A. Ash").select_option("commander")
    lead.get_by_label("T. Rowan").select_option("technician")
    lead.get_by_label("5 min", exact=True).check(force=True)
    lead.get_by_role("button", name="Begin the drill").click()
    lead.wait_for_selector("#drill-next")
    drill = Drill.objects.get()

    tablet = open_as(commander, url("sheet", drill.pk), **TABLET)
    phone = open_as(technician, url("incident-list"), **PHONE)
    phone.get_by_role("link", name="Acid in the etching shop").click()
    # Every way into the incident leads the crew to the page of the drill.
    for page in (tablet, phone):
        assert page.url.endswith(url("drill", drill.pk))
        assert "Wait for the first reading" in page.inner_text("main")

    a_reading_comes_and_both_agree(lead, tablet, phone)
    three_quiet_ones_more(lead, tablet, phone)
    one_is_laxer_and_one_stricter(lead, tablet, phone)
    the_drill_ends_for_all(lead, tablet, phone)
    each_sees_their_own_score(lead, tablet, phone)


def give(lead, pages, words):
    """The next reading; all see its value large, and no verdict."""
    lead.locator("#drill-next").click()
    for page in pages:
        page.wait_for_selector(f".inject.waits .read:has-text('{words}')")
        assert page.locator(".inject").first.locator(".verdict").count() == 0


def decide(page, word, look=""):
    waits = page.locator(".inject.waits").first
    if look:
        waits.locator("summary").click()
        waits.get_by_label(look).check(force=True)
    waits.get_by_role("button", name=word).click()


def a_reading_comes_and_both_agree(lead, tablet, phone):
    give(lead, (tablet, phone), "O2")
    lead.wait_for_selector(".inject .verdict.continue")
    decide(tablet, "Continue", look="pH paper")
    tablet.wait_for_selector("text=You decided: Continue")
    assert tablet.locator(".verdict").count() == 0
    assert phone.locator(".verdict").count() == 0

    decide(phone, "Continue")

    for page in (tablet, phone):
        page.wait_for_selector(".inject .verdict.continue")
        page.wait_for_selector("text=Agrees with the engine")


def three_quiet_ones_more(lead, tablet, phone):
    for words in ("mrem/h", "pH 7", "pH 5"):
        give(lead, (tablet, phone), words)
        for page in (tablet, phone):
            decide(page, "Caution")
        tablet.wait_for_selector(".inject:first-of-type .verdict")
    tablet.wait_for_selector(".inject .verdict.caution")


def one_is_laxer_and_one_stricter(lead, tablet, phone):
    give(lead, (tablet, phone), "luoride")
    decide(tablet, "Continue")
    decide(phone, "Withdraw", look="Fluoride paper")
    tablet.wait_for_selector("text=Less careful than the engine")
    phone.wait_for_selector("text=More careful than the engine")
    # The explanation: the rule, its source, its sentence.
    said = tablet.locator(".inject").first.inner_text()
    assert "Rule 2, Weak acid vapour" in said
    assert "common practice, no source" in said
    # One more, which nobody answers.
    give(lead, (tablet, phone), "pH 2")


def the_drill_ends_for_all(lead, tablet, phone):
    lead.locator("#drill-end").click()
    lead.wait_for_selector("text=This drill is over")
    for page in (tablet, phone):
        page.wait_for_selector("text=This drill is over")
        page.get_by_role("link", name="What came of it").click()
        page.wait_for_selector("h1:has-text('What came of the drill')")


def facts(page, number=0):
    words = page.locator("dl.facts").nth(number).inner_text().split("\n")
    return dict(zip(words[::2], words[1::2], strict=False))


def each_sees_their_own_score(lead, tablet, phone):
    of_commander, of_technician = facts(tablet), facts(phone)
    assert of_commander["Agrees with the engine"] == "2 of 6"
    assert of_commander["More careful than the engine"] == "2 of 6"
    assert of_commander["Less careful than the engine"] == "1 of 6"
    assert of_commander["Not answered in time"] == "1 of 6"
    assert of_technician["More careful than the engine"] == "3 of 6"
    assert of_technician["Less careful than the engine"] == "0 of 6"
    assert "T. Rowan" not in tablet.inner_text("main")
    assert "A. Ash" not in phone.inner_text("main")
    lead.get_by_role("link", name="What came of it").click()
    both = lead.inner_text("main")
    assert "A. Ash" in both
    assert "T. Rowan" in both
    # The pages of the incident are open now, and say what they are.
    phone.get_by_role("link", name="The sheet of the drill").click()
    assert phone.locator(".drill-banner b").inner_text() == "Drill"


# --- How the pages look ---------------------------------------------------------------------


@pytest.fixture
def scene(leader):
    """Each page: of one drill that runs, and one that is over, of its crew and its leader."""
    running, people = started(leader=leader, at=timezone.now(), seconds=300)
    for _ in range(2):
        step(running, timezone.now())
    over, crew = started(leader=leader, at=timezone.now())
    step(over, timezone.now())
    drills.end_drill(incident_id=over.pk, person=leader, at=timezone.now())
    past = import_worksheet(
        file=file_of({key: value for key, value in SCRIPT.items() if key != "drill"}),
        person=leader,
        agency=leader.agency,
        at=timezone.now(),
    )
    drill_scripts.plan_drill(
        person=leader,
        script=running.script,
        day=timezone.now().date().replace(year=2099),
        crew=list(crew.values()),
        at=timezone.now(),
    )
    number = running.script.pk
    technician = people["technician"]
    return {
        "drill of the crew": (technician, url("drill", running.pk)),
        "drill of the leader": (leader, url("drill", running.pk)),
        "sheet": (leader, url("sheet", running.pk)),
        "over": (crew["technician"], url("drill", over.pk)),
        "results of one": (crew["technician"], url("drill-results", over.pk)),
        "results": (leader, url("drill-results", over.pk)),
        "person": (leader, url("drill-person", crew["technician"].pk)),
        "list": (leader, url("drills")),
        "script": (leader, url("drill-script", number)),
        "new script": (leader, url("drill-script-new")),
        "script from": (leader, url("drill-script-from", past.pk)),
        "start": (leader, url("drill-start", number)),
        "plan": (leader, url("drill-plan", number)),
    }


def pages_of(open_as, scene, **options):
    for name, (person, where) in scene.items():
        yield name, open_as(person, where, **options)


def test_nothing_runs_out_of_the_screen_at_any_size(open_as, scene):
    wide = []
    for name, page in pages_of(open_as, scene):
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            over = page.evaluate(
                "() => document.documentElement.scrollWidth - innerWidth"
            )
            wide += [(name, width, over)] if over > 0 else []
    assert wide == []


def test_axe_finds_nothing(open_as, scene):
    found = {name: problems(page) for name, page in pages_of(open_as, scene, **PHONE)}
    assert {name: each for name, each in found.items() if each} == {}


def test_what_a_glove_presses_is_large(open_as, scene):
    person, where = scene["drill of the crew"]
    page = open_as(person, where, **PHONE)
    for summary in page.locator(".inject summary").all():
        summary.click()
    boxes = [
        box
        for box in page.evaluate(BOXES)
        if box["what"].startswith(("BUTTON decide", "INPUT look", "SUMMARY"))
    ]
    assert len(boxes) >= 11
    assert [box["what"] for box in boxes if box["height"] < 71.5] == []
