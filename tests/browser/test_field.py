"""The technician's phone: joins by a code, logs with and without a link."""

import json

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.services import devices
from tests.browser.phones import (
    PHONE,
    log_acid,
    logged,
    press,
    secret_for,
    wait_ready,
    wait_stored,
)


@pytest.fixture
def phone(browser, live_server, incident):
    """A phone that has joined and is ready to work without a link."""
    context = browser.new_context(base_url=live_server.url, **PHONE)
    page = context.new_page()
    page.goto(f"/field/#join={secret_for(incident)}")
    wait_ready(page)
    yield page
    context.close()


def test_a_phone_joins_by_a_code_and_no_password(phone):
    assert "Entry team 1" in phone.inner_text("#team")
    assert "join=" not in phone.url
    wait_ready(phone)


def test_a_reading_warns_at_once_and_goes_to_the_post(phone, incident):
    log_acid(phone)
    assert phone.inner_text("#answer-word") == "Stop"
    assert "Computed on the phone" in phone.inner_text(".computed")
    assert "pH 2, wet, tank room" in phone.inner_text(".say-back")
    wait_stored(phone)
    assert logged(incident)[0]["ph"] == 2
    phone.wait_for_selector("#standing.stop")


def test_without_a_link_it_warns_keeps_and_sends_later(phone, incident):
    phone.wait_for_function("() => navigator.serviceWorker.controller")
    phone.context.set_offline(True)
    log_acid(phone)
    assert phone.inner_text("#answer-word") == "Stop"
    assert "1 waiting, oldest" in phone.inner_text("#open-waiting")
    assert logged(incident) == []

    phone.reload()
    phone.wait_for_selector("button[data-kind='ph_paper']")
    assert "1 waiting" in phone.inner_text("#open-waiting")
    log_acid(phone, "9")

    phone.context.set_offline(False)
    wait_stored(phone)
    assert [body["ph"] for body in logged(incident)] == [2, 9]


def test_the_kept_page_holds_nothing_of_the_incident(phone, incident):
    log_acid(phone, place="north vault")
    wait_stored(phone)
    kept = phone.evaluate(
        """async () => {
          const texts = [];
          for (const name of await caches.keys()) {
            const cache = await caches.open(name);
            for (const request of await cache.keys()) {
              texts.push(request.url, await (await cache.match(request)).text());
            }
          }
          return texts.join("\\n");
        }"""
    )
    assert "Log a reading" in kept
    for secret in (incident.name, "Alder", "Entry team 1", "north vault", "csrf"):
        assert secret not in kept


def test_one_that_the_post_refuses_stays_and_can_be_mended(phone, incident):
    phone.locator("button[data-kind='gas_meter']").tap()
    phone.locator("#id_lel_percent").fill("104")
    press(phone, "Save")
    phone.wait_for_selector("#answer-word")
    phone.wait_for_function(
        "() => document.querySelector('#open-waiting').textContent.includes('1 waiting')"
    )
    phone.locator("#open-waiting").tap()
    phone.wait_for_selector("button[data-mend]")
    assert "too high" in phone.inner_text("#waiting")
    phone.locator("button[data-mend]").tap()
    phone.locator("#id_lel_percent").fill("10.4")
    press(phone, "Save")
    phone.wait_for_selector("#answer-word")
    wait_stored(phone)
    (row,) = incident.entries.filter(kind="gas_meter")
    assert json.loads(row.body)["lel_percent"] == 10.4


def test_a_revoked_phone_keeps_no_word_of_the_incident_but_its_entries(phone, incident):
    phone.context.set_offline(True)
    log_acid(phone)
    devices.revoke_device(
        incident_id=incident.pk,
        person=incident.opened_by,
        device_id=incident.devices.get().pk,
        at=timezone.now(),
    )
    phone.context.set_offline(False)
    phone.wait_for_selector("text=has revoked this phone")
    assert logged(incident) == []
    held = devices.DeviceEntry.objects.get()
    assert "revoked" in held.held_because
    assert phone.evaluate("indexedDB.databases().then((all) => all.length)") == 1
    assert "Entry team 1" not in phone.content()


def test_a_paper_takes_three_taps_and_the_same_again_two(phone, incident):
    taps = []
    phone.expose_function("tapped", lambda: taps.append(1))
    phone.evaluate(
        "addEventListener('click', (e) => e.isTrusted && window.tapped(), true)"
    )
    phone.locator("button[data-kind='ph_paper']").tap()
    phone.locator("input[name='reading'][value='2']").tap()
    phone.locator("#save-wet").tap()
    phone.wait_for_selector("#answer-word")
    assert len(taps) == 3
    press(phone, "Same again")
    taps.clear()
    phone.locator("input[name='reading'][value='3']").tap()
    phone.locator("#save-wet").tap()
    phone.wait_for_selector("#answer-word")
    assert len(taps) == 2


def test_saved_before_the_form_is_emptied_and_never_twice(phone, incident):
    """The answer of the post is lost; the entry is sent again and stored once."""
    lost = []

    def lose_once(route):
        if not lost:
            route.fetch()
            lost.append(1)
            route.abort()
        else:
            route.continue_()

    phone.context.route(f"**{reverse('incidents:field-entries')}", lose_once)
    log_acid(phone)
    wait_stored(phone)
    assert lost
    assert len(logged(incident)) == 1


def test_a_phone_joins_though_its_table_does_not_come_and_says_so(
    browser, live_server, incident
):
    """The code works once: what fails after it must not undo the joining."""
    context = browser.new_context(base_url=live_server.url, **PHONE)
    context.route(f"**{reverse('incidents:field-table')}", lambda route: route.abort())
    page = context.new_page()
    page.goto(f"/field/#join={secret_for(incident)}")

    page.wait_for_selector("text=cannot judge yet")
    log_acid(page)
    assert "no table yet. Ask by radio" in page.inner_text(".computed")
    wait_stored(page)
    assert logged(incident)[0]["ph"] == 2

    context.unroute_all()
    press(page, "Other kind")
    wait_ready(page)
    context.close()


def test_what_the_team_wears_is_said_in_words_and_the_value_is_large(phone):
    log_acid(phone)

    assert "in Level " in phone.inner_text(".computed") or "Turnout gear" in (
        phone.inner_text(".computed")
    )
    assert "_" not in phone.inner_text(".computed")
    size = phone.evaluate(
        "() => parseFloat(getComputedStyle(document.querySelector('.say-back b')).fontSize)"
    )
    assert size >= 28  # look.md: as large as a verdict
