"""Signing off, sealing and checking a report in a real browser, without JavaScript."""

import os
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.services.signing_keys import replace_key
from tests.browser.conftest import PHONE, TABLET
from tests.factories import PersonFactory, acid, log, open_incident

SHOTS = os.environ.get("WORKSHEET_SHOTS", "")
SEALING = 240_000  # milliseconds: the machine may be busy, and nothing is measured here
SIZES = pytest.mark.parametrize("size", [TABLET, PHONE], ids=["tablet", "phone"])


@pytest.fixture
def incident(transactional_db):
    owner = PersonFactory.create(is_agency_owner=True, display_name="Dana Whitlock")
    incident = open_incident(person=owner, at=timezone.now())
    log(incident, acid(timezone.now()))
    return incident


def picture(page, name, size):
    """Kept where somebody asks for them, to be looked at."""
    if SHOTS:
        wide = size["viewport"]["width"]
        page.screenshot(path=Path(SHOTS) / f"{name}-{wide}.png", full_page=True)


def scrolls_sideways(page, size):
    needed = page.evaluate("() => document.documentElement.scrollWidth")
    return needed > size["viewport"]["width"]


@SIZES
def test_sign_off_seal_and_check_without_javascript(open_as, incident, size, tmp_path):
    address = reverse("incidents:reports", args=(incident.pk,))
    page = open_as(incident.opened_by, address, java_script_enabled=False, **size)
    page.set_default_timeout(SEALING)
    picture(page, "reports-before", size)

    page.locator("#id_answer_0").check(force=True)
    page.locator("#sign-off").click()
    assert "Dana Whitlock" in page.locator("#sign-offs").inner_text()
    assert "Missing" not in page.locator("#sign-offs").inner_text()
    page.locator("#make-report").click()
    picture(page, "reports", size)
    with page.expect_download(timeout=SEALING) as waiting:
        page.get_by_role("link", name="Download the PDF").click()
    file = tmp_path / "report.pdf"
    waiting.value.save_as(file)

    page.goto(reverse("incidents:verify"))
    picture(page, "verify-before", size)
    page.locator("#id_file").set_input_files(file)
    page.locator("#check-report").click()
    picture(page, "verify", size)

    assert page.locator("#verdict").inner_text() == (
        "This report holds, and this server's log says the same."
    )


@SIZES
def test_the_pages_of_the_key_fit(open_as, incident, size):
    owner = incident.opened_by
    replace_key(agency=owner.agency, at=timezone.now())
    key = replace_key(agency=owner.agency, at=timezone.now())
    page = open_as(owner, **size)

    for name, url in {
        "keys": reverse("incidents:keys"),
        "key-import": reverse("incidents:key-import"),
        "key-revoke": reverse("incidents:key-revoke", args=(key.pk,)),
    }.items():
        page.goto(url)
        picture(page, name, size)
        assert not scrolls_sideways(page, size), name


def test_a_wrong_file_is_said_at_the_top_and_takes_the_focus(
    open_as, incident, tmp_path
):
    file = tmp_path / "notes.pdf"
    file.write_text("no report")
    page = open_as(incident.opened_by, reverse("incidents:verify"))

    page.locator("#id_file").set_input_files(file)
    page.locator("#check-report").click()

    assert "This is not a PDF file." in page.locator("#error-summary").inner_text()
