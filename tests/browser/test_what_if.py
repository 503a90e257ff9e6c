"""What if, in a real browser: the archive asked and answered, and how its pages look."""

import os
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.models import WhatIfRun
from incidents.rescreening import job
from tests.browser.looking import LOOKED_AT, low, problems
from tests.factories import acid, join, log, meter, minutes, open_incident
from tests.incidents.services.test_what_if_runs import all_work_done

SHOTS = os.environ.get("WORKSHEET_SHOTS", "")
MEASURED = [*LOOKED_AT, (320, 568)]


@pytest.fixture(autouse=True)
def _here(settings):
    settings.WHAT_IF_PROCESSES = 1


@pytest.fixture
def reviewer(transactional_db):
    """Someone who reviews two incidents: in one the LEL rose, one was quiet."""
    rising = open_incident()
    for number, percent in enumerate((0, 4, 7, 12, 13, 12)):
        log(rising, meter(minutes(number), lel_percent=percent))
    log(rising, acid(minutes(7), ph="3"), recorded_at=minutes(20))
    services.close_incident(
        incident_id=rising.pk,
        person=rising.opened_by,
        at=minutes(30),
        reason="Long out",
    )
    open_incident(person=rising.opened_by, name="Quiet street", location="Quiet street")
    return join(rising, "training_officer", may_review=True)


def test_a_run_is_begun_goes_on_and_is_seen_to_finish(open_as, reviewer):
    page = open_as(reviewer, "/")
    page.get_by_role("link", name="What if: all incidents").click()
    page.get_by_role("link", name="Ask").click()
    page.get_by_label("With one limit changed").select_option(
        label="Flammable gas, withdraw"
    )
    page.get_by_label("To this value, with its unit").fill("20 %")
    page.get_by_role("button", name="Judge 2 incidents").click()
    page.get_by_text("It waits for a worker.").wait_for()
    assert page.locator("progress").evaluate("(bar) => bar.position") == 0

    all_work_done()

    page.get_by_text("1 of 2 incidents would have ended otherwise").wait_for()
    assert page.locator("progress").evaluate("(bar) => bar.position") == 1
    with page.expect_download() as download:
        page.get_by_role("link", name="Result as JSON").click()
    assert '"ended_otherwise":1' in Path(download.value.path()).read_text("utf-8")
    page.locator("#otherwise a").first.click()
    page.get_by_text("It would have ended otherwise").wait_for()
    assert "Nothing in the record changes" in page.locator("main").inner_text()


def addresses(person):
    """Every page, in each of its states that looks another way."""
    incident = person.agency.incidents.get(location="Quarry Lane")
    one = reverse("incidents:what-if", args=(incident.pk,))
    asked = {"name": "Flammable gas, withdraw: 20 %", "asked_by": person}
    asked |= {"limits": '{"lel_withdraw_percent":20}', "agency": person.agency}
    asked |= {"asked_by_name": person.shown_name, "asked_at": timezone.now()}
    done, going, silent, failed = (
        WhatIfRun.objects.create(total=2, query="limit=acid_stop_ph&value=1", **asked)
        for _ in range(4)
    )
    for key in person.agency.incidents.values_list("pk", flat=True):
        done.incidents.create(incident_id=key)
    job.work(done.pk)
    now = timezone.now()
    at_work = {"state": "running", "done": 1, "claimed_at": now}
    WhatIfRun.objects.filter(pk=going.pk).update(heartbeat_at=now, **at_work)
    WhatIfRun.objects.filter(pk=silent.pk).update(
        heartbeat_at=now - 2 * job.LEASE, **at_work
    )
    WhatIfRun.objects.filter(pk=failed.pk).update(
        state="failed", failure="OSError: the disk is full", ended_at=now
    )
    runs = {
        f"run-{name}": reverse("incidents:what-if-run", args=(run.pk,))
        for name, run in (
            ("done", done), ("going", going), ("silent", silent), ("failed", failed),
        )
    }  # fmt: skip
    return runs | {
        "one": one,
        "earlier": f"{one}?limit=lel_withdraw_percent&value=5+%25",
        "not-at-all": f"{one}?limit=lel_withdraw_percent&value=20+%25&worn_0=level_d",
        "nothing": f"{one}?limit=lel_withdraw_percent&value=11+%25",
        "wrong": f"{one}?limit=lel_withdraw_percent&value=much",
        "runs": reverse("incidents:what-if-runs"),
        "new": reverse("incidents:what-if-new"),
    }


def test_the_pages_fit_every_screen_by_day_and_by_night(open_as, reviewer):
    page = open_as(reviewer, reduced_motion="reduce")
    wrong = []
    for name, url in addresses(reviewer).items():
        page.goto(url)
        for width, height in MEASURED:
            page.set_viewport_size({"width": width, "height": height})
            needed = page.evaluate("() => document.documentElement.scrollWidth")
            if needed > width:
                wrong.append((name, width, "needs", needed))
            wrong += [(name, width, *box) for box in low(page)]
            if SHOTS:
                shot = Path(SHOTS) / f"{name}-{width}.png"
                page.screenshot(path=shot, full_page=True)
            if (width, height) in LOOKED_AT:
                wrong += [(name, width, *found) for found in problems(page)]
        if SHOTS:
            page.emulate_media(color_scheme="dark")
            page.screenshot(path=Path(SHOTS) / f"{name}-dark.png", full_page=True)
            page.emulate_media(color_scheme="light")

    assert wrong == []
