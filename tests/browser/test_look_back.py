"""Looking back with the keyboard, and on paper."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import services
from tests.factories import acid, entry, join, log, meter


@pytest.fixture
def closed(incident):
    now = timezone.now()
    log(incident, entry("enter", now, team="entry-1", place="tank room"))
    wrong = log(incident, acid(now + timedelta(seconds=1), ph="3")).entry
    log(incident, entry("strike", now + timedelta(seconds=2), entry=wrong.key,
                        by="R", reason="Misread"))  # fmt: skip
    log(incident, meter(now + timedelta(seconds=3)))
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=now + timedelta(seconds=9),
        reason="Handed over",
    )
    incident.refresh_from_db()
    return incident


def opened(open_as, incident, **options):
    address = reverse("incidents:look-back", args=(incident.pk,))
    return open_as(join(incident, "training_officer"), address, **options)


def focused(page):
    return page.evaluate(
        "() => document.activeElement.closest('tr')?.id ?? document.activeElement.tagName"
    )


def test_brackets_step_through_the_records_only_while_one_is_among_them(
    open_as, closed
):
    page = opened(open_as, closed)
    ids = page.evaluate(
        "() => [...document.querySelectorAll('tbody tr[id]')].map(r => r.id)"
    )

    page.keyboard.press("]")
    assert focused(page) == "BODY"
    page.locator("figure.chart.wide").first.focus()
    page.keyboard.press("]")
    assert focused(page) == ids[0]
    page.keyboard.press("]")
    page.keyboard.press("]")
    assert focused(page) == ids[2]
    page.keyboard.press("[")
    assert focused(page) == ids[1]
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/entries/\d+/"))


def test_a_sign_of_the_chart_leads_to_its_entry_and_the_keyboard_passes_it_by(
    open_as, closed
):
    page = opened(open_as, closed)
    seq = closed.entries.get(kind="gas_meter").seq

    assert page.locator("svg a:not([tabindex='-1'])").count() == 0
    page.locator(f".wide svg a[href$='/entries/{seq}/'] .target").first.click()
    page.wait_for_url(re.compile(rf"/entries/{seq}/"))


def test_one_of_the_two_drawings_is_shown_at_each_width(open_as, closed):
    page = opened(open_as, closed)

    shown = {}
    for width in (360, 699, 700, 1024):
        page.set_viewport_size({"width": width, "height": 740})
        shown[width] = page.evaluate(
            "() => [...document.querySelectorAll('figure.chart')]"
            ".filter((f) => f.checkVisibility()).map((f) => f.classList[1])"
        )

    halves = ["wide", "wide"]
    assert shown == {360: ["narrow"], 699: ["narrow"], 700: halves, 1024: halves}


def test_paper_says_the_name_in_its_head_and_never_over_the_page(open_as, closed):
    page = opened(open_as, closed)
    page.emulate_media(media="print")

    for name in ("look-back", "site-safety-plan", "look-back-at", "sheet", "log"):
        page.goto(reverse(f"incidents:{name}", args=(closed.pk,)))
        heads, over = page.evaluate(
            """() => [
                document.querySelectorAll('link[media=print][href*="page-head"]').length,
                [...document.querySelectorAll('body, body *')].filter((node) =>
                    node.checkVisibility()
                    && getComputedStyle(node).position === 'fixed').length]"""
        )
        assert (name, heads, over) == (name, 1, 0)


def test_paper_has_the_chart_every_record_and_no_button(open_as, closed):
    page = opened(open_as, closed)
    page.emulate_media(media="print")
    page.set_viewport_size(
        {"width": 600, "height": 900}
    )  # narrower than a phone's bound

    text = page.locator("body").inner_text()

    assert page.locator("figure.chart.wide").first.is_visible()
    assert not page.locator("figure.chart.narrow").is_visible()
    assert "Misread" in text
    assert "local SOPs and the incident commander govern" in text
    assert page.locator("tbody tr[id]").count() == closed.head_seq
    for word in ("Play back", "Clear the choice", "Closer", "Then"):
        assert word not in text
    assert page.pdf(format="A4").startswith(b"%PDF-")
