"""The pages of the SOP in real Chromium: the long form, its rows, its hands and eyes."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.models import SopProfile
from incidents.selectors import profiles as read
from incidents.services import profiles
from tests.browser.looking import BOXES, SIZES, problems_at
from tests.factories import acid, log, open_incident

PHONE = {"viewport": {"width": 360, "height": 740}, "is_mobile": True}
LOOSE = {
    "limits": {"lel_withdraw_percent": Decimal(20), "acid_stop_ph": Decimal(1)},
    "reasons": {"lel_withdraw_percent": "Read at the pump"},
}


@pytest.fixture
def versions(incident):
    """Two versions, written by the commander, who opened nothing under them yet."""
    person = incident.opened_by
    person.may_edit_sop = True
    person.save()
    first = add(person, "1")
    return first, add(person, "2", previous=first, **LOOSE)


def add(person, version, **changes):
    now = timezone.now()
    draft = profiles.Draft(
        name="Example County SOP",
        version=version,
        approved_by="Chief O. Lark",
        effective_on=read.today_of(person.agency, now),
        **changes,
    )
    return profiles.add_version(person=person, draft=draft, at=now)


@pytest.fixture
def judged(incident, versions):
    """An open incident under the first version, with a Stop on its sheet."""
    other = open_incident(person=incident.opened_by, sop=versions[0], at=timezone.now())
    log(other, acid(timezone.now(), ph="3"))
    return other


def addresses(judged, versions):
    first, second = versions
    return [
        reverse("incidents:sop-list"),
        reverse("incidents:sop-version", args=(second.pk,)),
        reverse("incidents:sop-new", args=(second.pk,)),
        f"{reverse('incidents:sop-compare')}?a={first.pk}&b={second.pk}",
        reverse("incidents:sop-import"),
        reverse("incidents:sop-withdraw", args=(first.pk,)),
        reverse("incidents:sop-change", args=(judged.pk, second.pk)),
        reverse("incidents:incident-rules", args=(judged.pk,)),
    ]


def unfold(page):
    page.evaluate(
        "() => { for (const d of document.querySelectorAll('details')) d.open = true; }"
    )


@pytest.mark.parametrize("size", SIZES, ids=lambda size: "{}x{}".format(*size))
def test_no_page_scrolls_sideways(open_as, judged, versions, size):
    width, height = size
    page = open_as(
        judged.opened_by,
        viewport={"width": width, "height": height},
        is_mobile=width < 800,
    )

    wide = {}
    for url in addresses(judged, versions):
        page.goto(url)
        unfold(page)
        needed = page.evaluate("() => document.documentElement.scrollWidth")
        if needed > width:
            wide[url] = needed

    assert wide == {}


@pytest.mark.parametrize("size", [(360, 740), (1024, 768)])
def test_every_target_has_48_px_and_what_decides_72(open_as, judged, versions, size):
    page = open_as(judged.opened_by, viewport={"width": size[0], "height": size[1]})

    small = {}
    for url in addresses(judged, versions):
        page.goto(url)
        unfold(page)
        boxes = page.evaluate(BOXES)
        least = [
            (box["what"], round(box["height"]))
            for box in boxes
            if box["height"] < (72 if box["what"].startswith("BUTTON") else 48) - 0.5
        ]
        if least:
            small[url] = least

    assert small == {}


def test_axe_finds_nothing(open_as, judged, versions):
    page = open_as(judged.opened_by)
    found = {}

    for url in addresses(judged, versions):
        page.goto(url)
        unfold(page)
        found[url] = problems_at(page)

    assert {url: seen for url, seen in found.items() if seen} == {}


def test_a_row_says_what_it_is_as_soon_as_it_is_typed_and_takes_no_focus(
    open_as, judged, versions
):
    page = open_as(
        judged.opened_by, reverse("incidents:sop-new", args=(versions[0].pk,))
    )
    page.locator("summary", has_text="Flammable gas").click()
    row = page.locator("#limit-lel_withdraw_percent")
    assert not row.locator(".why").is_visible()

    row.locator("input").first.fill("20")
    page.keyboard.press("Tab")
    page.wait_for_selector("#note-lel_withdraw_percent [data-looser]")

    assert row.locator(".why").is_visible()
    assert "Changed from 10 %" in row.inner_text()
    assert page.locator("#changed-all").inner_text() == "1 changed"
    assert page.locator("#changed-flammable-gas-and-oxygen").inner_text() == "1 changed"
    focused = page.evaluate("() => document.activeElement.name")
    assert focused == "limit_oxygen_enriched_percent"


def test_what_is_typed_in_a_row_while_another_is_checked_stays(
    open_as, judged, versions
):
    page = open_as(
        judged.opened_by, reverse("incidents:sop-new", args=(versions[0].pk,))
    )
    page.locator("summary", has_text="Flammable gas").click()
    page.route("**/sop/check/**", lambda route: later(page, route))

    page.locator("[name=limit_lel_withdraw_percent]").fill("20")
    page.keyboard.press("Tab")
    page.keyboard.type("22.5")
    page.wait_for_selector("#note-lel_withdraw_percent [data-looser]")

    assert page.locator("[name=limit_oxygen_enriched_percent]").input_value() == "22.5"


def later(page, route):
    page.wait_for_timeout(400)
    route.continue_()


@pytest.mark.parametrize("options", [PHONE, PHONE | {"java_script_enabled": False}])
def test_a_version_is_written_from_first_field_to_last(
    open_as, judged, versions, options
):
    page = open_as(
        judged.opened_by,
        reverse("incidents:sop-new", args=(versions[0].pk,)),
        **options,
    )

    page.fill("[name=approved_by]", "Chief O. Lark")
    page.locator("summary", has_text="Flammable gas").click()
    page.fill("[name=limit_lel_withdraw_percent]", "20")
    page.click("#look")
    page.wait_for_selector("#error-summary")
    page.click("text=Say why 20 % is looser than 10 %.")
    page.fill("[name=why_lel_withdraw_percent]", "Read at the pump")
    page.click("#look")
    page.wait_for_selector("#save")
    assert "Save as version 3" in page.locator("#save").inner_text()
    page.click("#save")
    page.wait_for_selector("h1:has-text('version 3')")

    kept = SopProfile.objects.get(version="3")
    assert kept.reasons_given == {"lel_withdraw_percent": "Read at the pump"}


def test_other_limits_take_three_taps_from_the_sheet(open_as, judged, versions):
    page = open_as(
        judged.opened_by, reverse("incidents:sheet", args=(judged.pk,)), **PHONE
    )

    page.get_by_role("link", name="Rules and limits").click()
    page.get_by_role("link", name="Example County SOP, version 2").click()
    assert "milder" in page.locator("main").inner_text()
    page.fill("[name=reason]", "The state team works by it")
    page.click("#change-limits")
    page.wait_for_url("**/rules/")

    judged.refresh_from_db()
    assert judged.sop == versions[1]
    assert "version 2" in page.locator("main p").first.inner_text()
