"""What axe and a ruler find on the phone's page, on those about phones, and by radio."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.forms.readings import READING_FORMS
from incidents.services import devices
from incidents.services.devices import Sent
from incidents.views import field_link
from tests.browser.conftest import PHONE
from tests.browser.looking import BOXES, LOOKED_AT, low, problems, small
from tests.browser.phones import log_acid, press, secret_for
from tests.factories import acid

BY_RADIO = "entry 1 tank room ph 2 wet"


@pytest.fixture
def scene(incident):
    """A phone that joined, one revoked with an entry kept apart, one code not used."""
    now = timezone.now()
    joined, secret = devices.offer_device(
        incident_id=incident.pk, person=incident.opened_by, team="entry-1",
        name="Alder's phone", at=now,
    )  # fmt: skip
    devices.join_device(secret=secret, at=now)
    devices.note_seen(device=joined, at=now, sent_at=now + timedelta(minutes=3))
    gone, secret = devices.offer_device(
        incident_id=incident.pk, person=incident.opened_by, team="backup-1",
        name="Spare phone", at=now,
    )  # fmt: skip
    devices.join_device(secret=secret, at=now)
    devices.revoke_device(
        incident_id=incident.pk, person=incident.opened_by, device_id=gone.pk, at=now
    )
    sent = Sent(
        client_uuid=uuid.uuid4(),
        counter=1,
        observed_at=now,
        clock_moved=timedelta(0),
        body=acid(now),
        raw={},
    )
    gone.refresh_from_db()
    devices.take_from_device(device=gone, sent=sent, received_at=now)
    secret_for(incident, name="Third phone")
    field_link._table(incident.setup, "entry-1")  # slow on a busy machine
    return incident


def of_command(page, incident):
    """Each page about phones and by radio, in each of its states."""
    held = devices.DeviceEntry.objects.get(held_because__gt="").pk
    for name, url in {
        "phones": reverse("incidents:devices", args=(incident.pk,)),
        "file": reverse("incidents:handed-over", args=(incident.pk,)),
        "held": reverse("incidents:held", args=(incident.pk, held)),
    }.items():
        page.goto(url)
        yield name
        page.locator("main form button.main").last.click()
        page.wait_for_selector("#error-summary")
        yield f"{name}, with errors"
    page.goto(reverse("incidents:devices", args=(incident.pk,)))
    page.get_by_label("Entry team 1", exact=True).check()
    page.get_by_label("Whose phone").fill("Birch's phone")
    page.get_by_role("button", name="Show a code").click()
    page.locator(".scan summary").click()
    yield "a code"
    page.goto(reverse("incidents:radio", args=(incident.pk,)))
    yield "radio"
    page.locator("#id_line").fill("entry 1 tank room ph")
    page.wait_for_selector(".may-follow kbd")
    yield "half a line"
    page.locator("#id_line").fill(BY_RADIO)
    page.wait_for_selector(".understood.whole")
    yield "understood"
    page.locator("#id_line").press("Enter")
    page.wait_for_selector("#answer .verdict")
    yield "answered by radio"


@pytest.mark.parametrize("size", LOOKED_AT)
def test_axe_and_the_ruler_find_nothing_about_phones_and_by_radio(open_as, scene, size):
    page = open_as(
        scene.opened_by,
        viewport={"width": size[0], "height": size[1]},
        reduced_motion="reduce",
    )

    found, short, wide = {}, {}, {}
    for name in of_command(page, scene):
        found[name], short[name] = problems(page), low(page)
        wide[name] = page.evaluate("() => document.documentElement.scrollWidth")

    assert len(found) == 11
    assert {name: each for name, each in found.items() if each} == {}
    assert {name: each for name, each in short.items() if each} == {}
    assert {name: each for name, each in wide.items() if each > size[0]} == {}


def on_the_phone(page, incident):
    """The phone's page in each of its states."""
    page.goto("/field/")
    page.wait_for_selector("#join-words", state="attached")
    yield "not joined"
    page.goto(f"/field/#join={secret_for(incident, name='Birch')}")
    page.wait_for_selector("button[data-kind='ph_paper']")
    page.locator(".settings summary").tap()
    yield "kinds"
    for kind in READING_FORMS:
        page.locator(f"button[data-kind='{kind}']").tap()
        page.evaluate(
            "() => { for (const d of document.querySelectorAll('main details')) d.open = true; }"
        )
        yield f"form {kind}"
        page.locator(".back").tap()
    page.context.set_offline(True)
    log_acid(page)
    yield "answer"
    page.locator("#open-waiting").tap()
    page.wait_for_selector("#waiting-words")
    yield "waiting"
    page.context.set_offline(False)
    page.wait_for_function("() => document.querySelector('#open-waiting').hidden")
    press(page, "Kinds")


def test_axe_and_the_ruler_find_nothing_on_the_phone(browser, live_server, scene):
    context = browser.new_context(
        base_url=live_server.url, reduced_motion="reduce", **PHONE
    )
    page = context.new_page()

    found, short, narrow = {}, {}, {}
    for name in on_the_phone(page, scene):
        found[name], short[name] = problems(page), low(page)
        if name.startswith("form"):
            narrow[name] = small(page.evaluate(BOXES), 72)
    context.close()

    assert len(found) == len(READING_FORMS) + 4
    assert {name: each for name, each in found.items() if each} == {}
    assert {name: each for name, each in short.items() if each} == {}
    assert {name: each for name, each in narrow.items() if each} == {}
