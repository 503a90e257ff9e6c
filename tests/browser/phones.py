"""A technician's phone in Chromium: how it joins, and what a thumb does with it."""

import json
import time

from django.utils import timezone

from incidents.services import devices

# The post of a test may be busy: a table for warnings takes it a second or many.
PATIENCE = 90_000
# How many entries the phone keeps.
WAITING = (
    """async () => (await (await import("/static/field/store.js")).all()).length"""
)
PHONE = {
    "viewport": {"width": 360, "height": 740},
    "has_touch": True,
    "is_mobile": True,
    "device_scale_factor": 2,
}


def secret_for(incident, team="entry-1", name="Alder's phone"):
    _, secret = devices.offer_device(
        incident_id=incident.pk,
        person=incident.opened_by,
        team=team,
        name=name,
        at=timezone.now(),
    )
    return secret


def wait_ready(page):
    """Until it may lose its link: the page is kept, and the table for warnings is there."""
    # The whole text: "Getting ready for no link." is not it.
    page.wait_for_selector(
        "#offline-words:text-is('Ready for no link.')", timeout=PATIENCE
    )


def press(page, words):
    page.get_by_role("button", name=words).tap()


def log_acid(page, ph="2", place="tank room"):
    """From the kinds to the answer."""
    page.locator("button[data-kind='ph_paper']").tap()
    if place:
        page.locator(".where summary").tap()
        page.get_by_label("Place").fill(place)
    page.locator(f"input[name='reading'][value='{ph}']").tap()
    page.locator("#save-wet").tap()
    page.wait_for_selector("#answer-word")


def logged(incident):
    return [json.loads(row.body) for row in incident.entries.filter(kind="ph_paper")]


def wait_stored(page):
    page.wait_for_function("() => document.querySelector('#open-waiting').hidden")


def wait_empty(page, seconds=60):
    """Until nothing is kept on the phone any more."""
    ends = time.monotonic() + seconds
    while left := page.evaluate(WAITING):
        assert time.monotonic() < ends, f"{left} entries still wait"
        page.wait_for_timeout(200)


def send_now(page):
    page.evaluate("() => dispatchEvent(new Event('visibilitychange'))")
    page.evaluate("async () => (await import('/static/field/send.js')).flush()")
