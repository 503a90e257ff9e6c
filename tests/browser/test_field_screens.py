"""Every screen of the phone: seen by axe, hit with gloves, held upright or on its side."""

import pytest
from django.utils import timezone

from incidents.forms.readings import READING_FORMS
from incidents.services import devices
from tests.browser.looking import BOXES, gaps, problems, small
from tests.browser.phones import PHONE, log_acid, press

SIZES = [(360, 740), (740, 360), (320, 568)]
# The phone's head has a control, too: 48 px, as everywhere; its twin on the page is larger.
EVERY_BOX = BOXES.replace("'main a,", "'header button, #standing button, main a,", 1)


def unfold(page):
    page.evaluate(
        "() => { for (const one of document.querySelectorAll('details')) one.open = true; }"
    )


def screens(page, incident):
    """Walks the phone through all that it can show, and names each."""
    yield "kinds"
    unfold(page)
    yield "kinds, settings"
    for kind in READING_FORMS:
        page.locator(f"button[data-kind='{kind}']").tap()
        yield f"form {kind}"
        unfold(page)
        yield f"form {kind}, unfolded"
        page.locator(".back").tap()
    page.locator("button[data-kind='ph_paper']").tap()
    page.locator("#save-wet").tap()
    page.wait_for_selector("#not-saved:not([hidden])")
    yield "form, nothing chosen"
    page.locator(".back").tap()
    log_acid(page)
    page.wait_for_selector("#standing.stop")
    yield "answer"
    page.wait_for_function("() => document.querySelector('#open-waiting').hidden")
    yield from refused_screens(page)
    yield from withdraw_screens(page)
    revoke(incident)
    page.wait_for_selector("text=has revoked this phone")
    yield "signed out"


def refused_screens(page):
    """One that the post does not take, and one that waits for a link."""
    press(page, "Other kind")
    page.locator("button[data-kind='gas_meter']").tap()
    page.locator("#id_lel_percent").fill("104")
    press(page, "Save")
    page.wait_for_selector("#answer-word")
    page.wait_for_selector("#open-waiting:not([hidden])")
    press(page, "What waits")
    page.wait_for_selector("button[data-mend]")
    yield "queue"
    page.locator("button[data-mend]").tap()
    page.wait_for_selector("#not-saved:not([hidden])")
    yield "refused entry"


def withdraw_screens(page):
    """What fills the phone until somebody has understood it."""
    page.locator(".back").tap()
    page.locator("button[data-kind='gas_meter']").tap()
    page.locator("#id_lel_percent").fill("22")
    press(page, "Save")
    page.wait_for_selector("#standing.unheard")
    yield "withdraw"
    press(page, "Understood")
    page.wait_for_selector("#standing.withdraw:not(.unheard)")
    yield "withdraw, understood"


def revoke(incident):
    for device in incident.devices.all():
        devices.revoke_device(
            incident_id=incident.pk,
            person=incident.opened_by,
            device_id=device.pk,
            at=timezone.now(),
        )


def not_joined(browser, live_server, **options):
    context = browser.new_context(base_url=live_server.url, **(PHONE | options))
    page = context.new_page()
    page.goto("/field/")
    page.wait_for_selector("text=Ask the command post for a code")
    return page


def test_axe_finds_nothing_on_any_screen(browser, live_server, open_phone, incident):
    fresh = not_joined(browser, live_server)
    found = {"join": problems(fresh)}
    fresh.context.close()
    page = open_phone()
    for name in screens(page, incident):
        found[name] = problems(page)

    assert {name: seen for name, seen in found.items() if seen} == {}


def width_that_is_needed(page):
    return page.evaluate("() => document.documentElement.scrollWidth")


# Save buttons that a thumb would miss: off the screen, or with something lying over them.
OUT_OF_REACH = """() => [...document.querySelectorAll('.save-bar > .button')]
    .filter((button) => button.checkVisibility())
    .filter((button) => {
        const box = button.getBoundingClientRect();
        const x = (box.left + box.right) / 2;
        return ![box.top + 8, (box.top + box.bottom) / 2, box.bottom - 8].every(
            (y) => document.elementFromPoint(x, y) === button);
    }).map((button) => button.id)"""


def saves_out_of_reach(page):
    """Wherever the page is scrolled to."""
    found = []
    for top in (0, 300, 100_000):
        page.evaluate(f"() => scrollTo(0, {top})")
        found += page.evaluate(OUT_OF_REACH)
    return found


def covered(page):
    """Words of the post's verdict that lie under the buttons that save."""
    return page.evaluate(
        """() => {
            const why = document.querySelector('#standing .why');
            const bar = document.querySelector('.save-bar');
            if (!why?.checkVisibility() || !bar) return false;
            scrollTo(0, 0);
            const [one, other] = [why.getBoundingClientRect(), bar.getBoundingClientRect()];
            return one.right > other.left && one.left < other.right
                && one.bottom > other.top && one.top < other.bottom;
        }"""
    )


@pytest.mark.parametrize("size", SIZES, ids=lambda size: "{}x{}".format(*size))
def test_every_screen_fits_the_phone_and_the_glove(open_phone, incident, size):
    width, height = size
    page = open_phone(viewport={"width": width, "height": height})

    wide, unreachable, missed, close = {}, {}, {}, {}
    for name in screens(page, incident):
        if width_that_is_needed(page) > width:
            wide[name] = width_that_is_needed(page)
        if saves_out_of_reach(page) or covered(page):
            unreachable[name] = saves_out_of_reach(page)
        if name == "withdraw":
            assert page.locator("#understood").bounding_box()["height"] >= 96
        page.evaluate(
            "() => scrollTo(0, 0)"
        )  # the head stays, the rest passes under it
        boxes = page.evaluate(EVERY_BOX)
        assert boxes or name == "signed out", name
        inside = [box for box in boxes if box["what"] != "BUTTON open-waiting"]
        missed[name] = small(boxes, 48) + small(inside, 72 if width >= 360 else 65)
        close[name] = gaps(boxes)

    assert wide == {}
    assert unreachable == {}
    assert {name: boxes for name, boxes in missed.items() if boxes} == {}
    assert {name: boxes for name, boxes in close.items() if boxes} == {}


@pytest.mark.parametrize("size", SIZES, ids=lambda size: "{}x{}".format(*size))
def test_what_saves_is_96_px_high(open_phone, size):
    page = open_phone(viewport={"width": size[0], "height": size[1]})

    heights = {}
    for kind in READING_FORMS:
        page.locator(f"button[data-kind='{kind}']").tap()
        heights[kind] = page.evaluate(
            "() => [...document.querySelectorAll('.save-bar > .button')]"
            ".filter((one) => one.checkVisibility()).map((one) => one.offsetHeight)"
        )
        page.locator(".back").tap()

    assert all(heights.values())
    assert min(min(each) for each in heights.values()) >= 96
