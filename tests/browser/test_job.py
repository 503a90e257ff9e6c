"""The job itself: a reading goes in on one screen, its verdict is seen on another."""

import re
from datetime import timedelta

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from tests.factories import PASSWORD, acid, entry, log, meter


def verdict(page, team="entry-1"):
    return page.locator(f"#team-{team} .verdict .word")


def choose(page, name, value):
    page.locator(f'input[name="{name}"][value="{value}"]').click()


def test_a_reading_on_the_phone_changes_the_verdict_on_the_sheet(
    phone, tablet, incident
):
    sheet = tablet("sheet")
    assert verdict(sheet).inner_text() == "Continue"
    page = phone("log-choose")

    page.get_by_role("link", name="pH paper").click()
    choose(page, "team", "entry-1")
    page.get_by_label("Place").fill("tank room")
    choose(page, "reading", "2")
    page.get_by_role("button", name="Save pH 2, wet").click()

    page.wait_for_selector("#answer .verdict.stop")
    assert "pH 2 on wet paper in the air, tank room" in page.inner_text("#answer")
    sheet.wait_for_selector("#team-entry-1 .verdict.stop")
    assert "pH 2 on wet paper held in the air" in sheet.inner_text("#team-entry-1")
    assert sheet.locator(".log li").first.get_attribute("class") == "new"


def test_the_same_reading_again_takes_two_taps(phone, incident):
    page = phone("log-kind", "ph_paper")
    choose(page, "team", "entry-1")
    choose(page, "reading", "6")
    page.locator("#save-wet").click()
    page.wait_for_selector("#answer")

    choose(page, "reading", "5")
    page.locator("#save-wet").click()

    page.wait_for_function(
        "() => document.querySelector('#answer').textContent.includes('pH 5')"
    )
    assert incident.entries.filter(kind="ph_paper").count() == 2


def test_a_paper_takes_at_most_four_taps_from_the_kinds(phone, incident):
    log(incident, meter(timezone.now()), person=incident.opened_by)
    page = phone("log-choose")
    page.goto(page.url + "?team=entry-1")
    taps = [
        page.get_by_role("link", name="Fluoride paper"),
        page.locator('input[name="reading"][value="changed"]'),
        page.locator('input[name="sample"][value="liquid"]'),
        page.locator("#save-liquid"),
    ]

    for one in taps:
        one.click()

    page.wait_for_selector("#answer")
    assert incident.entries.filter(kind="fluoride_paper").count() == 1


def test_a_meter_is_read_in_with_the_pad(phone, incident):
    page = phone("log-kind", "gas_meter")
    choose(page, "team", "entry-1")
    page.locator("#id_lel_percent").tap()
    taps = ["0", "Next", "2", "0", ".", "9", "Next", "0", "Next", "0"]

    for key in taps:
        page.locator(f'[data-key="{key}"]').tap()
    page.locator("#save").tap()

    page.wait_for_selector("#answer .verdict")
    said = page.inner_text(".say-back")
    assert "LEL 0 %, O2 20.9 %, CO 0 ppm, H2S 0 ppm" in said
    # The field and Save come to these: ux.md, goal G3.
    assert len(taps) + 2 <= 14


def test_two_quick_taps_store_one_row(phone, incident):
    page = phone("log-kind", "ph_paper")
    choose(page, "team", "entry-1")
    choose(page, "reading", "2")

    page.locator("#save-wet").dblclick()

    page.wait_for_selector("#answer")
    page.wait_for_timeout(500)
    assert incident.entries.filter(kind="ph_paper").count() == 1


def test_a_reading_can_be_logged_by_keyboard_alone(tablet, incident):
    page = tablet("log-kind", "ki_starch_paper")

    def reach(selector):
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.locator(f"{selector}:focus").count():
                return
        pytest.fail(f"the keyboard does not reach {selector}")

    reach('input[name="team"]')
    page.keyboard.press("Space")
    reach('input[name="reading"]')
    page.keyboard.press("ArrowDown")
    reach("#save-wet")
    page.keyboard.press("Enter")

    page.wait_for_selector("#answer")
    assert "blue-black" in page.inner_text(".say-back")
    assert page.evaluate("() => document.activeElement.id") == "answer"


def test_enter_in_a_field_never_takes_a_strip_to_be_wet_or_dry(tablet, incident):
    page = tablet("log-kind", "ph_paper")
    page.locator('input[name="team"]').first.check()
    page.locator('input[name="reading"][value="2"]').check()

    page.get_by_label("Place").press("Enter")

    page.wait_for_timeout(400)
    assert not incident.entries.filter(kind="ph_paper").exists()


def test_an_error_takes_the_focus_and_leads_to_its_field(phone, incident):
    page = phone("log-kind", "ph_paper")
    choose(page, "team", "entry-1")

    page.locator("#save-wet").click()

    page.wait_for_function("() => document.activeElement.id === 'error-summary'")
    assert page.title().startswith("Error: ")
    page.get_by_role("link", name="Choose the colour of the strip.").click()
    assert page.evaluate("() => document.activeElement.name") == "reading"
    assert page.locator('input[name="team"]').first.is_checked()


def test_not_readable_offers_nothing_to_save(phone):
    page = phone("log-kind", "ph_paper")

    choose(page, "reading", "unreadable")

    assert not page.locator("#save-wet").is_visible()
    assert page.get_by_text("Take a fresh strip").is_visible()


def test_put_right_strikes_and_offers_the_form_again(phone, incident):
    page = phone("log-kind", "ph_paper")
    choose(page, "team", "entry-1")
    choose(page, "reading", "2")
    page.locator("#save-wet").click()
    page.get_by_role("link", name="Put right").click()

    choose(page, "common", "Wrong value")
    page.locator("#save").click()

    page.wait_for_url(re.compile(r"/log/ph_paper/\?rights=\d+$"))
    assert incident.entries.filter(kind="strike").count() == 1


def test_heard_is_one_press_on_the_sheet(tablet, incident):
    log(incident, acid(timezone.now()))
    page = tablet("sheet")

    page.get_by_role("button", name="Heard").first.click()

    page.wait_for_selector("#team-entry-1 .verdict.stop:not(.unheard)")
    assert incident.entries.filter(kind="acknowledge").count() == 1


def test_a_decision_opens_beside_the_log_and_the_sheet_follows(tablet, incident):
    page = tablet("sheet")

    page.locator("#do-enter").click()
    page.wait_for_function("() => document.activeElement.id === 'decide-title'")
    page.locator("#decide").get_by_role("link", name="Entry team 1").click()
    page.get_by_role("button", name="Save: team in").click()

    page.wait_for_selector("#decide .said")
    page.wait_for_selector("#team-entry-1 [data-since]")
    assert page.url.endswith(f"{incident.pk}/")


def test_what_is_folded_out_and_focused_survives_news(tablet, incident):
    page = tablet("sheet")
    why = page.locator("#why-entry-1 summary")
    why.click()
    page.locator("#line-1").focus()

    log(incident, acid(timezone.now()))

    page.wait_for_selector("#team-entry-1 .verdict.stop")
    assert page.locator("#why-entry-1").get_attribute("open") is not None
    assert page.evaluate("() => document.activeElement.id") == "line-1"


def test_a_poll_without_news_swaps_nothing(tablet, incident):
    log(incident, meter(timezone.now() - timedelta(minutes=3)))
    page = tablet("sheet")
    page.evaluate(
        "() => { window.swaps = 0; document.addEventListener('htmx:afterSwap',"
        " () => { window.swaps += 1; }); }"
    )

    with page.expect_response(lambda r: r.url.endswith("/live/") and r.status == 304):
        pass
    with page.expect_response(lambda r: r.url.endswith("/live/") and r.status == 304):
        pass

    assert page.evaluate("() => window.swaps") == 0


def test_without_script_a_reading_is_logged_and_heard(phone, tablet, incident):
    page = phone("log-kind", "ph_paper", java_script_enabled=False)
    page.locator('input[name="team"]').first.check()
    page.locator('input[name="reading"][value="2"]').check()
    page.locator("#save-wet").click()
    assert page.locator(".verdict.stop").count() == 1

    sheet = tablet("sheet", java_script_enabled=False)
    sheet.get_by_role("button", name="Heard").first.click()

    assert "heard" in sheet.inner_text("#team-entry-1 .verdict")
    assert sheet.locator("#link-state").inner_text().startswith("As of ")


class TestLink:
    def test_a_lost_link_is_said_with_since_when_and_clocks_go_on(
        self, tablet, incident
    ):
        log(incident, entry("enter", timezone.now(), team="entry-1"))
        page = tablet("sheet")
        page.wait_for_function(
            "() => document.getElementById('link-state').textContent === 'Link good'"
        )

        page.context.route("**/*", lambda route: route.abort())

        page.wait_for_function(
            "() => /^No answer since \\d\\d:\\d\\d:\\d\\d$/.test("
            "document.getElementById('link-state').textContent)",
            timeout=15_000,
        )
        assert page.locator("body").get_attribute("data-link") == "lost"
        assert (
            page.locator("main").evaluate(
                "(node) => getComputedStyle(node).outlineStyle"
            )
            == "dashed"
        )
        before = page.locator("#team-entry-1 [data-since]").first.inner_text()
        page.wait_for_timeout(1_500)
        assert page.locator("#team-entry-1 [data-since]").first.inner_text() != before

        page.context.unroute("**/*")
        page.wait_for_function("() => document.body.dataset.link === 'good'")

    def test_what_could_not_be_sent_says_so_and_goes_on_the_next_tap(
        self, phone, incident
    ):
        page = phone("log-kind", "ph_paper")
        choose(page, "team", "entry-1")
        choose(page, "reading", "2")
        page.context.route("**/log/ph_paper/", lambda route: route.abort())
        page.locator("#save-wet").click()
        page.get_by_text("Not saved: no answer.").wait_for()

        page.context.unroute("**/log/ph_paper/")
        page.locator("#save-wet").click()

        page.wait_for_selector("#answer .verdict.stop")
        assert incident.entries.filter(kind="ph_paper").count() == 1

    def test_a_lost_reply_is_mended_by_saving_again(self, phone, incident):
        page = phone("log-kind", "ph_paper")
        choose(page, "team", "entry-1")
        choose(page, "reading", "2")

        def swallow(route):
            route.fetch()
            route.abort()

        page.context.route("**/log/ph_paper/", swallow)
        page.locator("#save-wet").click()
        page.get_by_text("Not saved: no answer.").wait_for()
        page.context.unroute("**/log/ph_paper/")
        page.locator("#save-wet").click()

        page.wait_for_selector("#answer .verdict.stop")
        assert incident.entries.filter(kind="ph_paper").count() == 1

    def test_a_slow_save_says_saving(self, phone, incident):
        page = phone("log-kind", "sign")
        choose(page, "team", "entry-1")
        choose(page, "what", "odour")
        held = []
        page.context.route("**/log/sign/", lambda route: held.append(route))

        page.locator("#save").click()

        page.wait_for_function(
            "() => document.getElementById('save').textContent === 'Saving'"
        )
        assert page.locator("#save").is_disabled()
        held[0].continue_()
        page.wait_for_selector("#answer")

    def test_whoever_was_signed_out_sees_no_sign_in_page_in_the_sheet(
        self, tablet, incident
    ):
        page = tablet("sheet")
        page.context.clear_cookies()

        page.wait_for_function("() => document.body.dataset.link === 'out'")

        assert page.locator("#team-entry-1").count() == 1
        assert "Signed out" in page.inner_text("#link-state")


def test_what_was_chosen_survives_a_new_sign_in_in_another_tab(phone, incident):
    page = phone("log-kind", "ph_paper")
    choose(page, "team", "entry-1")
    choose(page, "reading", "2")
    page.context.clear_cookies(name=settings.SESSION_COOKIE_NAME)
    page.locator("#save-wet").click()
    page.get_by_text("Not saved: signed out.").wait_for()

    other = page.context.new_page()
    other.goto(reverse("incidents:sign-in"))
    other.get_by_label("Username").fill(incident.roles.last().person.username)
    other.get_by_label("Password").fill(PASSWORD)
    other.get_by_role("button", name="Sign in").click()
    other.wait_for_url("**/")
    page.bring_to_front()
    with page.expect_response(
        lambda r: r.request.resource_type == "fetch" and "log" in r.url
    ):
        page.locator("#save-wet").click()
    page.get_by_text("Not saved: not taken.").wait_for()
    page.wait_for_timeout(300)
    page.locator("#save-wet").click()

    page.wait_for_selector("#answer .verdict.stop")
    assert incident.entries.filter(kind="ph_paper").count() == 1


def test_a_device_with_a_wrong_clock_counts_by_the_server(tablet, incident):
    log(incident, entry("enter", timezone.now(), team="entry-1"))
    person_page = tablet("sheet")
    person_page.context.add_init_script(
        "(() => { const real = Date.now; Date.now = () => real() + 600000; })()"
    )

    person_page.reload()

    person_page.wait_for_selector("#team-entry-1 [data-since]")
    shown = person_page.locator("#team-entry-1 [data-since]").first.inner_text()
    minutes = int(shown.split(":")[0])
    assert minutes < 5
