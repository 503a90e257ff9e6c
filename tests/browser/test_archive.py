"""The archive as it is seen and used: fits, is readable, its searches can be sent."""

from urllib.parse import urlsplit

import pytest
from django.urls import reverse

from incidents.services import inventing
from review.inventing import invent
from tests.browser.looking import low, problems_at
from tests.factories import PersonFactory

LIST = reverse("incidents:archive")
FIGURES = reverse("incidents:archive-figures")
SIZES = [(320, 568), (360, 740), (1024, 768)]


@pytest.fixture
def reviewer(incident):
    """Who reviews an agency with an archive of a few invented incidents."""
    agency = incident.agency
    cast = inventing.cast_for(agency)
    inventing.play_archive(invent(incidents=4, entries=30, seed=5), cast)
    return PersonFactory.create(agency=agency, may_open=False, may_review=True)


def addresses():
    return {
        "all": LIST,
        "narrowed": f"{LIST}?text=e&worst=3&hazard=flammable_atmosphere",
        "nothing": f"{LIST}?text=chrysanthemum",
        "wrong": f"{LIST}?rule=999",
        "by year": FIGURES,
        "by rule": f"{FIGURES}?by=rule",
        "by place": f"{FIGURES}?by=place",
    }


@pytest.mark.parametrize("size", SIZES, ids=lambda size: "{}x{}".format(*size))
def test_nothing_scrolls_sideways_and_everything_can_be_hit(open_as, reviewer, size):
    width, height = size
    page = open_as(
        reviewer,
        viewport={"width": width, "height": height},
        is_mobile=width < 800,
    )

    wrong = {}
    for name, url in addresses().items():
        page.goto(url)
        page.evaluate(
            "() => { for (const d of document.querySelectorAll('details')) d.open = true; }"
        )
        needed = page.evaluate("() => document.documentElement.scrollWidth")
        too_low = low(page)
        if needed > width or too_low:
            wrong[name] = (needed, too_low)

    assert wrong == {}


def test_axe_finds_nothing(open_as, reviewer):
    page = open_as(reviewer)
    found = {}
    for name, url in addresses().items():
        page.goto(url)
        found[name] = problems_at(page)

    assert {name: seen for name, seen in found.items() if seen} == {}


def test_a_search_is_an_address_that_can_be_sent(open_as, reviewer):
    page = open_as(reviewer, LIST)
    page.locator("#id_text").fill("e")
    page.locator("summary").click()
    page.locator("#id_worst").select_option("3")
    page.locator("form[role=search] button").click()
    page.wait_for_url("**/archive/?*")
    count = page.locator("#found").inner_text()

    sent = urlsplit(page.url)
    other = open_as(reviewer, f"{sent.path}?{sent.query}")

    assert other.locator("#found").inner_text() == count
    assert other.locator("#id_worst").input_value() == "3"
    assert other.locator("#id_worst").is_visible()
    other.get_by_role("link", name="Clear filters").click()
    other.wait_for_url("**/archive/")
    assert other.locator("#id_text").input_value() == ""


def test_from_the_figures_back_to_the_list_and_on_to_the_incident(open_as, reviewer):
    page = open_as(reviewer, f"{FIGURES}?by=rule&text=e")
    page.get_by_role("link", name="The list of these incidents").click()
    page.wait_for_url("**/archive/?text=e")
    line = page.locator(".found a.line").first
    name = line.locator(".name").inner_text()
    line.click()
    page.wait_for_url("**/incidents/*/")
    assert name in page.locator(".head").inner_text()
    page.go_back()
    assert page.locator("#id_text").input_value() == "e"
