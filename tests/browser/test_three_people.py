"""The demo's incident by three people at once: commander, technician, safety officer.

The commander has the sheet on a tablet, the technician a phone that joined by a code, the
safety officer writes down what comes by radio. Each step is looked at on all three.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.models import Incident, Report
from incidents.services import chain, demo
from incidents.views import field_link
from reports.data import ChainHead
from reports.verifying import verify_pdf
from tests.browser.conftest import PHONE, TABLET
from tests.browser.phones import log_acid, wait_stored
from tests.browser.test_alarms import LISTEN, sounds, turn_on, wait_for_sound

TEAM = "Entry team 1"
CREW = ("M. Alder", "J. Birch")
DESK = {"viewport": {"width": 1366, "height": 768}}


@dataclass
class Three:
    incident: Incident
    sheet: Any  # the commander's
    phone: Any  # the technician's
    radio: Any  # the safety officer's: reads the sheet, writes by radio

    def of(self, name, *args):
        return reverse(f"incidents:{name}", args=(self.incident.pk, *args))

    def kinds(self):
        return list(
            self.incident.entries.order_by("seq").values_list("kind", flat=True)
        )

    def all_see(self, word):
        """The team's verdict, on the sheet, on the phone and on the other sheet."""
        for page in (self.sheet, self.radio):
            page.wait_for_selector(f"#team-entry-1 .verdict.{word}")
        self.phone.wait_for_selector(f"#standing.{word}")


@pytest.fixture
def unsigned(transactional_db):
    """Ready to go in, but for the commander's signature under the plan."""
    play = demo.scenario()
    play = replace(
        play,
        about=play.about | {"served_until": "e03"},
        plan=[said for said in play.plan if said.get("item") != "command"],
    )
    crew = demo.set_up(play, now=timezone.now())
    return demo.play_served(play, crew, now=timezone.now()), crew


@pytest.fixture
def three(browser, live_server, open_as, unsigned):
    incident, crew = unsigned
    # What the phone warns by takes the engine a while, and follows from the set-up alone.
    field_link._table(incident.setup, "entry-1")
    sheet = open_as(crew.by_role["commander"], "/health/", **TABLET)
    sheet.context.add_init_script(f"({LISTEN})()")
    handheld = browser.new_context(base_url=live_server.url, **PHONE)
    people = Three(
        incident=incident,
        sheet=sheet,
        phone=handheld.new_page(),
        radio=open_as(crew.by_role["safety_officer"], "/health/", **DESK),
    )
    for page in (people.sheet, people.radio):
        page.goto(people.of("sheet"))
    yield people
    handheld.close()


def test_the_incident_of_the_demo_is_played_by_three_people(three):
    a_phone_is_let_in(three)
    the_team_is_kept_out_until_the_plan_is_signed(three)
    a_quiet_reading_by_phone_and_one_by_radio(three)
    acid_is_read_on_the_phone_and_the_alarm_is_heard(three)
    the_team_is_ordered_out_and_reports_out_by_name(three)
    nobody_closes_while_two_are_in_decon(three)
    both_go_through_the_line(three)
    the_incident_is_closed_for_all(three)
    the_report_must_verify(three)


def a_phone_is_let_in(three):
    sheet = three.sheet
    sheet.get_by_role("link", name="Phones").click()
    sheet.get_by_label(TEAM, exact=True).check()
    sheet.get_by_label("Whose phone").fill("M. Alder's phone")
    sheet.get_by_role("button", name="Show a code").click()
    sheet.locator(".scan summary").click()
    address = sheet.locator(".scan .hash").inner_text().strip()

    three.phone.goto(address)
    three.phone.wait_for_selector("button[data-kind='ph_paper']")
    sheet.goto(three.of("devices"))

    assert TEAM in three.phone.inner_text("#team")
    assert "Joined" in sheet.locator("li.device").inner_text()
    # Phones are the commander's to let in: the safety officer is not even shown where.
    assert three.radio.get_by_role("link", name="Phones").count() == 0


def the_team_is_kept_out_until_the_plan_is_signed(three):
    sheet = three.sheet
    go_in(three)
    sheet.wait_for_selector("#keeps-out")
    kept_out = sheet.inner_text("#keeps-out")
    assert "commander" in kept_out.lower()
    assert "enter" not in three.kinds()
    assert "out" in three.radio.inner_text("#team-entry-1 .clocks")

    sheet.goto(three.of("plan-part", "signatures"))
    sheet.locator("[name=capacity][value=incident_commander]").check(force=True)
    sheet.locator("[name=name]").fill("Dana Holt")
    sheet.locator("[name=agrees][value=yes]").check(force=True)
    sheet.locator("#save-part").click()
    sheet.wait_for_selector("main li:has-text('Dana Holt')")
    go_in(three)
    sheet.wait_for_selector("#decide .said")

    assert three.kinds()[-1] == "enter"
    three.all_see("continue")
    for page in (sheet, three.radio):
        page.wait_for_selector("#team-entry-1 .clocks [data-since]")
        assert "Went in without" not in page.inner_text("#team-entry-1")


def go_in(three):
    three.sheet.goto(three.of("sheet"))
    three.sheet.locator("#do-enter").click()
    three.sheet.locator("#decide").get_by_role("link", name=TEAM).click()
    three.sheet.get_by_role("button", name="Save: team in").click()


def a_quiet_reading_by_phone_and_one_by_radio(three):
    by_phone(three, "6", place="store room")
    # One reading on the phone finds nothing; what that means, the post says.
    assert three.phone.inner_text("#answer-word") == "Nothing by itself"

    by_radio(three, "entry team 1 store room lel 0 o2 20.9 co 0 h2s 0")
    three.radio.wait_for_selector("#answer .verdict")
    three.radio.goto(three.of("sheet"))

    three.all_see("continue")
    for page in (three.sheet, three.radio):
        page.wait_for_selector(".log li:has-text('pH 6')")
        page.wait_for_selector(".log li:has-text('LEL 0 %')")
    # Quiet is not the same as looked at: what nobody read is still named.
    assert "Not looked at" in three.phone.inner_text("#standing")
    assert three.sheet.locator(".alarm").count() == 0


def by_phone(three, ph, *, place=""):
    log_acid(three.phone, ph, place)
    wait_stored(three.phone)


def by_radio(three, line):
    page = three.radio
    page.goto(three.of("radio"))
    page.keyboard.type(line)
    page.wait_for_selector(".understood.whole")
    page.keyboard.press("Enter")


def acid_is_read_on_the_phone_and_the_alarm_is_heard(three):
    sheet, phone = three.sheet, three.phone
    turn_on(sheet)
    assert sounds(sheet) == []

    phone.get_by_role("button", name="Same again").tap()
    phone.locator("input[name='reading'][value='2']").tap()
    phone.locator("#save-wet").tap()
    phone.wait_for_function(
        "() => document.querySelector('#answer-word')?.textContent === 'Stop'"
    )

    wait_for_sound(sheet, timeout=30_000)
    three.all_see("stop")
    assert "pH 2 on wet paper" in sheet.inner_text("#team-entry-1")
    three.radio.wait_for_selector(".alarm:has-text('Acid vapour')")
    assert three.radio.locator(".heard").count() == 0  # it is not theirs to answer
    sheet.locator("#alarms .heard:not([data-fresh])").first.click()
    sheet.wait_for_selector("#decide .said")

    for page in (sheet, three.radio):
        page.wait_for_selector(".answered li:has-text('Dana Holt')")
        page.wait_for_function("() => !document.querySelector('[data-alarm]')")
    three.all_see("stop")  # heard is not ended


def the_team_is_ordered_out_and_reports_out_by_name(three):
    sheet = three.sheet
    sheet.locator("#do-order").click()
    sheet.get_by_role("button", name=f"Withdraw {TEAM}").click()
    three.all_see("withdraw")
    assert "Ordered out by Dana Holt" in three.radio.inner_text("#team-entry-1")
    three.phone.get_by_role("button", name="Understood").tap()

    choose_exit(three)
    sheet.locator("#decide input[name='names'][value='a']").check(force=True)
    sheet.get_by_role("button", name="Only those ticked").click()
    sheet.wait_for_selector("#decide .said")
    for page in (sheet, three.radio):
        page.wait_for_selector(f".who b:has-text('Not heard or seen: {CREW[1]}')")
    three.all_see("withdraw")
    assert "exit" not in three.kinds()

    choose_exit(three)
    sheet.get_by_role("button", name="All are out").click()
    sheet.wait_for_selector("#decide .said")

    assert three.kinds()[-1] == "exit"
    # Out: the order is done, and the acid keeps them from going back.
    three.all_see("stop")
    for page in (sheet, three.radio):
        assert "out" in page.inner_text("#team-entry-1 .clocks")


def choose_exit(three):
    three.sheet.locator("#do-exit").click()  # one team is inside: nothing to choose
    three.sheet.get_by_role("button", name="All are out").wait_for()


def nobody_closes_while_two_are_in_decon(three):
    sheet = three.sheet
    sheet.goto(three.of("close"))
    out = sheet.inner_text("main")
    sheet.get_by_role("button", name="Close the incident").click()
    sheet.wait_for_selector("#error-summary")

    assert all(name in out for name in CREW)
    three.incident.refresh_from_db()
    assert not three.incident.is_closed


def both_go_through_the_line(three):
    page = three.radio
    page.goto(three.of("line"))
    assert "2 people not through the line" in page.inner_text("main .notice")
    page.get_by_role("link", name=f"Through decon: {CREW[0]}").click()
    page.get_by_label(CREW[1], exact=True).check()
    page.get_by_label("Technical", exact=True).check()
    page.get_by_role("button", name="Save").click()
    for name in CREW:
        row = page.locator("li.person", has_text=name)
        row.get_by_role("link", name=f"Check after decon: {name}").click()
        page.get_by_label("Nothing found", exact=True).check()
        page.get_by_label("Paper", exact=True).check()
        page.get_by_label("What it showed").fill("pH 7 on gloves and boots")
        page.get_by_role("button", name="Save").click()
        row.get_by_role("link", name=f"Move {name}").click()
        page.get_by_label("Where", exact=True).select_option("cold")
        page.get_by_role("button", name="Save").click()
        page.wait_for_selector("h1:has-text('Who is where')")

    assert page.locator("main .notice").count() == 0
    three.sheet.goto(three.of("line"))
    cold = three.sheet.locator("section.zone", has_text="Cold zone")
    for name in CREW:
        assert cold.locator("li.person", has_text=name).count() == 1
    assert three.phone.locator("#standing.stop").count() == 1


def the_incident_is_closed_for_all(three):
    three.radio.goto(three.of("sheet"))
    three.sheet.goto(three.of("close"))
    three.sheet.get_by_label("Reason").fill("Handed over to the store's contractor")
    three.sheet.get_by_role("button", name="Close the incident").click()
    three.sheet.wait_for_selector("text=Open it again")
    three.incident.refresh_from_db()
    assert three.incident.is_closed
    assert three.sheet.locator(".bar a").count() == 0
    three.radio.goto(three.of("radio"))
    assert "This incident is closed" in three.radio.inner_text("main")
    assert three.radio.locator("#id_line").count() == 0

    before = three.kinds()
    three.phone.get_by_role("button", name="Same again").tap()
    three.phone.locator("input[name='reading'][value='7']").tap()
    three.phone.locator("#save-wet").tap()
    three.phone.wait_for_selector("#answer-word")
    three.phone.wait_for_function(
        "() => document.querySelector('#open-waiting').hidden"
    )

    # It is lost to nobody and changes nothing: it lies apart for the commander.
    assert three.kinds() == before
    three.sheet.goto(three.of("devices"))
    assert "The incident was closed before it came" in three.sheet.inner_text("main")


def the_report_must_verify(three):
    sheet, radio = three.sheet, three.radio
    sheet.goto(three.of("reports"))
    sheet.locator("#make-report").click()
    sheet.wait_for_selector("section.notice .hash")
    radio.goto(three.of("reports"))
    with radio.expect_download() as download:
        radio.get_by_role("link", name="Download the PDF").click()
    pdf = download.value.path().read_bytes()

    kept = Report.objects.get()
    roots = [
        bytes(key.root_certificate) for key in three.incident.agency.signing_keys.all()
    ]
    altered = bytearray(pdf)
    altered[len(pdf) // 2] ^= 1
    with ThreadPoolExecutor(
        1
    ) as elsewhere:  # the browser's event loop runs in this one
        whole = elsewhere.submit(
            verify_pdf,
            pdf,
            roots,
            expected_sha256=kept.sha256,
            expected_head=ChainHead(seq=kept.head_seq, sha256=kept.head_hash),
        ).result()
        broken = elsewhere.submit(verify_pdf, bytes(altered), roots).result()
    assert whole.holds, whole.checks
    assert not broken.holds
    assert chain.verify(three.incident) is None
    assert kept.head_hash in radio.inner_text("main")
