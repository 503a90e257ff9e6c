"""What if, on pages: one incident side by side, and the whole archive asked for."""

import json
import re
from datetime import timedelta
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.forms.what_if import raw_of
from incidents.models import WhatIfRun
from incidents.rescreening import job
from incidents.sop_table import ITEMS
from tests.factories import (
    PersonFactory,
    SopProfileFactory,
    acid,
    join,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

STRICT = '{"name":"Strict SOP","version":"2","limits":{"lel_withdraw_percent":5}}'


@pytest.fixture(autouse=True)
def _here(settings):
    settings.WHAT_IF_PROCESSES = 1


@pytest.fixture
def incident():
    """LEL rises from 0 over 4 and 7 to 12 % in three minutes."""
    made = open_incident()
    for number, percent in enumerate((0, 4, 7, 12)):
        log(made, meter(minutes(number), lel_percent=percent))
    return made


def words(response):
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return unescape(re.sub(r"\s+", " ", text))


def opened(person, name, *args, **query):
    client = Client()
    client.force_login(person)
    return client.get(reverse(f"incidents:{name}", args=args), query)


def asked(incident, **query):
    return opened(incident.opened_by, "what-if", incident.pk, **query)


def test_the_page_begins_with_the_question_and_says_that_nothing_changes(incident):
    page = asked(incident)

    assert "Nothing in the record changes," in words(page)
    assert "teams go by the sheet, not by this page" in words(page)
    assert 'id="result"' not in page.content.decode()
    assert words(page).count("Entry team 1") >= 1


def test_one_limit_changed_shows_what_would_have_come_earlier(incident):
    incident.refresh_from_db()
    before = incident.entries.count(), incident.head_hash

    page = asked(incident, limit="lel_withdraw_percent", value="5 %")

    said = words(page)
    assert "With Flammable gas, withdraw: 5 %" in said
    assert "It would have ended alike, but not gone alike." in said
    assert "LEL at the withdraw limit 60 s earlier" in said
    moves = said.partition("Findings: earlier, later or not at all")[2]
    assert "As it was Withdraw 13:03:00, entry 5" in moves
    assert "What if Withdraw 13:02:00, entry 4" in moves
    entries = said.partition("Entry by entry")[2]
    assert "13:02:00 Entry 4 , Entry team 1" in entries
    assert "As it was Caution What if Withdraw" in entries
    incident.refresh_from_db()
    assert (incident.entries.count(), incident.head_hash) == before


def test_a_looser_limit_says_so_and_what_would_not_have_come(incident):
    page = asked(incident, limit="lel_withdraw_percent", value="20 %")

    said = words(page)
    assert "Looser than its source:" in said
    assert "It would have ended otherwise for at least one team." in said
    assert "LEL at the withdraw limit would not have come" in said
    assert "Does not come" in said
    assert "Entry team 1 , at the end of the log As it was Withdraw What if" in said


def test_an_edition_of_the_agency(incident):
    sop = SopProfileFactory.create(
        agency=incident.agency, name="Strict SOP", version="2", document=STRICT
    )

    said = words(asked(incident, edition=sop.pk))

    assert "With Strict SOP, version 2" in said
    assert "60 s earlier" in said


def test_the_editions_of_another_agency_are_not_shown(incident):
    sop = SopProfileFactory.create(name="Strict SOP", version="2", document=STRICT)
    guest = PersonFactory.create()
    services_role = incident.roles.model.Role.VIEWER
    incident.roles.create(person=guest, role=services_role, mutual_aid=True)
    own = SopProfileFactory.create(agency=incident.agency, name="Own SOP")

    assert asked(incident, edition=sop.pk).status_code == 422
    assert "Own SOP" in words(asked(incident))
    assert own.name not in words(opened(guest, "what-if", incident.pk))


def test_another_ensemble():
    incident = open_incident()
    log(incident, acid(minutes(1)))

    said = words(asked(incident, worn_0="level_a"))

    assert "With Entry team 1 in level A, vapour-tight, SCBA" in said
    assert "Acid vapour at the stop limit at the same time, but milder" in said
    assert "As it was Stop What if Caution" in said


def test_nothing_otherwise_is_said_without_praise(incident):
    said = words(asked(incident, limit="lel_withdraw_percent", value="11 %"))

    assert "Nothing would have been otherwise in the 4 entries of this log." in said
    assert "That says nothing of what was not looked at." in said


def test_a_reading_that_came_late_says_so(incident):
    log(
        incident,
        meter(minutes(1.5), lel_percent=6, place="roof"),
        recorded_at=minutes(30),
    )

    said = words(asked(incident, limit="lel_withdraw_percent", value="5 %"))

    assert "It came late: nobody at the post had it before 13:30:00." in said


def test_entries_that_differ_alike_stand_in_one_line(incident):
    for number in range(4, 9):
        log(incident, meter(minutes(number), lel_percent=12))

    page = asked(incident, limit="lel_withdraw_percent", value="20 %")

    assert "and 5 more entries until 13:08:00" in words(page)
    assert page.content.decode().partition('id="entries"')[2].count("<li>") == 2


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"limit": "lel_withdraw_percent"}, "Say the value, with its unit."),
        ({"value": "5 %"}, "Say which limit the value is for."),
        (
            {"limit": "dose_turn_back_other", "value": "5"},
            "with its unit, such as 5 rem",
        ),
        ({"limit": "lel_withdraw_percent", "value": "much"}, "“much” is no value"),
        ({"limit": "lel_withdraw_percent", "value": "400"}, "400: expected"),
        ({"limit": "no such", "value": "4"}, "Select a valid choice"),
        ({"edition": "99999"}, "Select a valid choice"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(incident, query, said):
    page = asked(incident, **query)

    assert page.status_code == 422
    assert said in words(page)


def test_a_limit_that_contradicts_the_incident_s_own_is_said():
    sop = SopProfileFactory.create(
        document='{"name":"S","version":"1","limits":{"lel_withdraw_percent":5}}'
    )
    person = PersonFactory.create(agency=sop.agency)
    incident = open_incident(person=person, sop=sop)

    said = words(asked(incident, limit="lel_caution_percent", value="6 %"))

    assert "cannot be judged under" in said
    assert "/profile/limits/lel_" in said


@pytest.mark.parametrize(
    ("key", "text", "raw"),
    [
        ("dose_turn_back_other", "5 rem", {"value": 5, "unit": "rem"}),
        ("dose_turn_back_other", "50 mSv", {"value": 50, "unit": "mSv"}),
        ("par_interval", "20min", {"value": 20, "unit": "min"}),
        ("acid_stop_ph", "pH 3", 3),
        ("acid_stop_ph", "3", 3),
        ("voc_ceiling_ppm", "50 ppm", 50),
    ],
)
def test_a_value_is_read_with_its_unit(key, text, raw):
    assert raw_of(ITEMS[key], text) == raw


def test_the_page_reads_no_more_for_a_longer_log(incident):
    counts = []
    asked(incident)  # the names of its teams are kept from here on
    for more in (1, 20):
        for number in range(more):
            log(incident, meter(minutes(10 + more + number)))
        with CaptureQueriesContext(connection) as found:
            asked(incident, limit="lel_withdraw_percent", value="5 %")
        counts.append(len(found))

    assert counts[0] == counts[1]


# --- The archive -------------------------------------------------------------------------


@pytest.fixture
def reviewer(incident):
    return join(incident, "training_officer", may_review=True)


def ask(person, **data):
    client = Client()
    client.force_login(person)
    return client.post(reverse("incidents:what-if-new"), data)


def test_a_run_is_asked_for_followed_and_read(incident, reviewer):
    open_incident(person=incident.opened_by, name="Quiet street")
    open_incident(person=incident.opened_by, is_drill=True)

    sent = ask(reviewer, limit="lel_withdraw_percent", value="20 %")

    run = WhatIfRun.objects.get()
    assert sent.url == reverse("incidents:what-if-run", args=(run.pk,))
    waiting = opened(reviewer, "what-if-run", run.pk)
    assert "0 of 2 incidents, 0 % " in words(waiting)
    assert "It waits for a worker." in words(waiting)
    assert "every 2s" in waiting.content.decode()
    job.work(run.pk)
    done = opened(reviewer, "what-if-run", run.pk)
    assert "2 of 2 incidents, 100 %" in words(done)
    assert "every 2s" not in done.content.decode()
    assert "1 of 2 incidents would have ended otherwise" in words(done)
    otherwise = done.content.decode().partition('id="otherwise"')[2]
    link = unescape(re.search(r'href="([^"]+)"', otherwise)[1])
    client = Client()
    client.force_login(reviewer)
    assert "With Flammable gas, withdraw: 20 %" in words(client.get(link))
    listed = words(opened(reviewer, "what-if-runs"))
    assert "Flammable gas, withdraw: 20 % asked by" in listed
    assert "done, 2 of 2" in listed
    file = opened(reviewer, "what-if-document", run.pk)
    found = json.loads(b"".join(file.streaming_content))
    assert found["summary"]["ended_otherwise"] == 1
    assert found["limits"] == {"lel_withdraw_percent": 20}


def test_an_edition_with_one_limit_changed_is_asked_for_as_one_profile(
    incident, reviewer
):
    sop = SopProfileFactory.create(
        agency=incident.agency, name="Strict SOP", version="2", document=STRICT
    )

    ask(reviewer, edition=sop.pk, limit="par_interval", value="10 min")

    assert WhatIfRun.objects.get().document == {
        "name": "Strict SOP",
        "version": "2",
        "limits": {
            "lel_withdraw_percent": 5,
            "par_interval": {"value": 10, "unit": "min"},
        },
    }


def test_a_question_without_a_question_is_refused(reviewer):
    answer = ask(reviewer)

    assert answer.status_code == 422
    assert "Choose an edition, or a limit and its value." in words(answer)
    assert not WhatIfRun.objects.exists()


def test_a_run_of_another_agency_is_not_there(incident, reviewer):
    ask(reviewer, limit="lel_withdraw_percent", value="20 %")
    stranger = PersonFactory.create(may_review=True)
    run = WhatIfRun.objects.get()

    for name in ("what-if-run", "what-if-document"):
        assert opened(stranger, name, run.pk).status_code == 404


def test_a_worker_that_is_silent_is_said_and_the_run_can_go_on(incident, reviewer):
    ask(reviewer, limit="lel_withdraw_percent", value="20 %")
    run = WhatIfRun.objects.get()
    job._claim(run.pk)
    WhatIfRun.objects.update(heartbeat_at=timezone.now() - 2 * job.LEASE)
    page = opened(reviewer, "what-if-run", run.pk)
    assert "No worker gave a sign of life for 4 min." in words(page)
    assert "Go on where it stopped" in words(page)
    client = Client()
    client.force_login(reviewer)

    client.post(reverse("incidents:what-if-go-on", args=(run.pk,)))
    job.work(run.pk)

    run.refresh_from_db()
    assert run.state == "done"


def test_cancelling_from_the_page(incident, reviewer):
    ask(reviewer, limit="lel_withdraw_percent", value="20 %")
    run = WhatIfRun.objects.get()
    client = Client()
    client.force_login(reviewer)

    client.post(reverse("incidents:what-if-cancel", args=(run.pk,)))

    page = opened(reviewer, "what-if-run", run.pk)
    assert "Cancelled" in words(page)
    assert services.RunEndedError.__name__ == "RunEndedError"


def test_how_long_it_takes_is_said_by_how_fast_it_was(incident, reviewer):
    ask(reviewer, limit="lel_withdraw_percent", value="20 %")
    run = WhatIfRun.objects.get()
    now = timezone.now()
    WhatIfRun.objects.update(
        state="running", total=100, done=20, done_when_claimed=10,
        claimed_at=now - timedelta(minutes=1), heartbeat_at=now,
    )  # fmt: skip

    assert "About 8 min left" in words(opened(reviewer, "what-if-run", run.pk))
    assert "20 of 100 incidents, 20 %" in words(opened(reviewer, "what-if-run", run.pk))


def test_of_very_many_the_newest_are_listed_and_all_are_counted(
    incident, reviewer, monkeypatch
):
    from incidents.selectors import what_if

    monkeypatch.setattr(what_if, "SHOWN", 1)
    other = open_incident(person=incident.opened_by, name="Later", at=minutes(60))
    log(other, meter(minutes(61), lel_percent=12))
    ask(reviewer, limit="lel_withdraw_percent", value="20 %")
    run = WhatIfRun.objects.get()
    job.work(run.pk)

    said = words(opened(reviewer, "what-if-run", run.pk))

    assert "2 of 2 incidents would have ended otherwise" in said
    assert "Later" in said
    assert incident.name not in said
    assert "These are the newest 1. The JSON has all of them." in said


def test_three_reads_of_a_run_however_many_incidents(incident, reviewer):
    counts = []
    for more in (1, 19):
        for _ in range(more):
            made = open_incident(person=incident.opened_by)
            log(made, meter(minutes(1), lel_percent=12))
        ask(reviewer, limit="lel_withdraw_percent", value="20 %")
        run = WhatIfRun.objects.first()
        job.work(run.pk)
        with CaptureQueriesContext(connection) as found:
            page = opened(reviewer, "what-if-run", run.pk)
        counts.append(len(found))
        assert f"{run.total} of {run.total} incidents would" in words(page)

    assert counts[0] == counts[1]
