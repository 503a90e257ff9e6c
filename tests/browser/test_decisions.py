"""Each decision at most three taps from the sheet, each with its undo; and two at once."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import loads
from tests.browser.conftest import TABLET
from tests.factories import acid, entry, join, log, open_incident

MOST_TAPS = 3


@pytest.fixture
def incident(transactional_db):
    """Both teams are inside, a Stop stands and a later reading has lifted its cause."""
    now = timezone.now()
    incident = open_incident(at=now - timedelta(minutes=30))
    for body in (
        entry("enter", now - timedelta(minutes=9), team="entry-1", place="tank room"),
        entry("enter", now - timedelta(minutes=8), team="backup-1", place="yard"),
        acid(now - timedelta(minutes=4)),
        acid(now - timedelta(minutes=1), ph="7"),
    ):
        log(incident, body)
    return incident


def button(name):
    return lambda page: page.locator("#decide").get_by_role("button", name=name)


def link(name):
    return lambda page: page.locator("#decide").get_by_role("link", name=name)


def at(selector):
    return lambda page: page.locator(selector)


def choice(name, value):
    return at(f'#decide input[name="{name}"][value="{value}"]')


TAPS = {
    "acknowledge": [at(".heard")],
    "par": [at("#do-par"), link("Entry team 1"), button("All answered")],
    "order": [at("#do-order"), button("Withdraw Entry team 1")],
    "exit": [at("#do-exit"), link("Entry team 1"), button("All are out")],
    "ventilate": [
        at("#do-ventilate"),
        choice("known_place", "tank room"),
        button("Fan blowing in"),
    ],
    "clear": [at("#do-clear"), button("Read again, nothing found")],
    "change_ensemble": [
        at("#open-entry-1"),
        link("Change ensemble"),
        button("Level A"),
    ],
    "mayday": [at("#do-mayday")],
}


@pytest.mark.parametrize("kind", TAPS)
@pytest.mark.parametrize("device", ["tablet", "phone"])
def test_a_decision_takes_at_most_three_taps_and_is_undone_with_one(
    open_as, incident, kind, device
):
    size = {"width": 1024, "height": 768} if device == "tablet" else None
    page = open_as(
        incident.opened_by,
        reverse("incidents:sheet", args=(incident.pk,)),
        viewport=size or {"width": 360, "height": 740},
        has_touch=True,
        is_mobile=device == "phone",
    )
    taps = TAPS[kind]

    for tap in taps:
        tap(page).first.click()
    page.wait_for_selector("#decide .said")

    assert len(taps) <= MOST_TAPS
    saved = incident.entries.get(kind=kind)
    if kind == "mayday":
        assert page.locator("#undo").count() == 0
        return
    page.locator("#undo").click()
    page.wait_for_selector("#decide-title:has-text('Taken back')")
    last = incident.entries.order_by("seq").last()
    assert last.kind in ("strike", "undone")
    assert loads(last.body)["entry"] == saved.key


def test_a_note_takes_three_taps_and_what_is_typed(tablet, incident):
    page = tablet("sheet", has_touch=True)

    page.locator("#do-note").click()
    page.locator("#id_text").click()
    page.keyboard.type("Plant manager is at the gate")
    button("Save note")(page).click()

    page.wait_for_selector(".log li:has-text('Plant manager is at the gate')")
    assert incident.entries.filter(kind="note").count() == 1


def test_going_in_takes_three_taps(tablet, incident):
    log(incident, entry("exit", timezone.now(), team="backup-1"))
    page = tablet("sheet", has_touch=True)

    for tap in (at("#do-enter"), link("Backup"), button("Save: team in")):
        tap(page).click()

    page.wait_for_selector("#decide .said")
    assert incident.entries.filter(kind="enter").count() == 3


def test_one_unticked_name_stays_open_and_stops_the_team_at_once(tablet, incident):
    page = tablet("sheet", has_touch=True)

    for tap in (at("#do-par"), link("Entry team 1"), choice("names", "a")):
        tap(page).click()
    button("Only those ticked")(page).click()

    page.wait_for_selector(".alarm:has-text('Not heard or seen')")
    assert page.locator(".who b:has-text('Not heard or seen: Birch')").count() == 1
    assert loads(incident.entries.get(kind="par").body)["unanswered"] == ["b"]


def test_an_order_to_leave_shows_until_each_has_reported_out(tablet, phone, incident):
    page = tablet("sheet", has_touch=True)
    for tap in TAPS["order"]:
        tap(page).click()

    page.wait_for_selector("#team-entry-1 .verdict.withdraw")
    assert "Ordered out by" in page.inner_text("#team-entry-1 .why")
    for tap in TAPS["exit"]:
        tap(page).first.click()

    page.wait_for_selector("#team-entry-1 .verdict:not(.withdraw)")
    assert "out" in page.inner_text("#team-entry-1 .clocks")


def test_enter_in_a_field_of_a_decision_saves_nothing(tablet, incident):
    page = tablet("sheet")
    page.locator("#do-par").click()
    link("Entry team 1")(page).click()
    page.locator("#decide summary").click()

    page.locator("#id_other_time").press("Enter")

    page.wait_for_timeout(500)
    assert not incident.entries.filter(kind="par").exists()


def test_errors_of_a_decision_keep_the_focus_while_the_sheet_goes_on(tablet, incident):
    page = tablet("sheet")
    page.locator("#do-note").click()
    button("Save note")(page).click()
    page.wait_for_function("() => document.activeElement.id === 'error-summary'")
    page.locator("#id_text").fill("Half a no")

    log(incident, acid(timezone.now()))
    page.wait_for_selector(".alarm .of:has-text('2 times')")

    assert page.evaluate("() => document.activeElement.id") == "id_text"
    assert page.locator("#id_text").input_value() == "Half a no"


class TestTwoCommanders:
    @pytest.fixture
    def both(self, open_as, incident):
        """The sheet on two tablets, each of a browser and a commander of its own."""
        other = join(incident, "commander", display_name="B. Stone")
        url = reverse("incidents:sheet", args=(incident.pk,))
        return (
            open_as(incident.opened_by, url, **TABLET),
            open_as(other, url, **TABLET),
        )

    def test_the_second_heard_is_told_who_was_first_and_when(self, both, incident):
        first, second = both
        second.route("**/live/", lambda route: route.abort())  # it has not polled yet
        button_of = "#alarms .heard:not([data-fresh])"
        first.locator(button_of).first.click()
        first.wait_for_selector("#decide .said")

        second.locator(button_of).first.click()

        second.wait_for_selector("#decide .said:has-text('Already heard by')")
        said = second.inner_text("#decide .said")
        assert incident.opened_by.shown_name in said
        assert incident.entries.filter(kind="acknowledge").count() == 1

    def test_each_sees_what_the_other_did(self, both, incident):
        first, second = both

        second.locator("#alarms .heard:not([data-fresh])").first.click()

        words = ".answered li:has-text('B. Stone')"
        assert first.wait_for_selector(words)
        assert second.wait_for_selector(words)

    def test_an_open_decision_says_what_another_logged_and_overwrites_nothing(
        self, both, incident
    ):
        first, second = both
        for page in both:
            page.locator("#do-par").click()
            link("Entry team 1")(page).click()
            button("All answered")(page).wait_for()

        button("All answered")(second).click()
        second.wait_for_selector("#decide .said")
        first.wait_for_selector("#meanwhile li:has-text('B. Stone')")
        shown = first.inner_text("#meanwhile")
        button("All answered")(first).click()

        first.wait_for_selector("#error-summary")
        assert "PAR: all accounted for, Entry team 1" in shown
        assert "B. Stone saved the same since you opened this" in first.inner_text(
            "#error-summary"
        )
        assert incident.entries.filter(kind="par").count() == 1
        button("All answered")(first).click()
        first.wait_for_selector("#decide .said")
        assert incident.entries.filter(kind="par").count() == 2

    def test_two_who_order_the_same_team_out_make_one_order(self, both, incident):
        first, second = both
        for page in both:
            page.locator("#do-order").click()
            button("Withdraw Entry team 1")(page).wait_for()

        button("Withdraw Entry team 1")(first).click()
        first.wait_for_selector("#decide .said")
        button("Withdraw Entry team 1")(second).click()

        second.wait_for_selector("#decide :is(.said, #error-summary)")
        assert incident.opened_by.shown_name in second.inner_text("#decide")
        assert incident.entries.filter(kind="order").count() == 1
