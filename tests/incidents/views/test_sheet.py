"""The sheet: what it says, and what its poll costs."""

import re
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from tests.factories import acid, entry, join, log, meter, open_incident

NOON = datetime(2026, 3, 4, 18, 0, tzinfo=UTC)


def sheet(incident):
    return reverse("incidents:sheet", args=(incident.pk,))


def live(incident):
    return reverse("incidents:sheet-live", args=(incident.pk,))


def card(page, team="entry-1"):
    """The text of one team's card."""
    found = re.search(
        rf'<article class="card"\s+id="team-{team}".*?</article>', page, re.S
    )
    return " ".join(re.sub(r"<[^>]+>", " ", found[0]).split())


def test_a_team_nobody_has_looked_for_continues_with_all_that_is_not_looked_at(
    client, commander, incident
):
    text = card(client.get(sheet(incident)).text)

    assert "Continue" in text
    assert "Not looked at: acid vapour, base vapour" in text
    assert "gamma radiation" in text
    assert "Look next:" in text


def test_the_verdict_stands_with_its_reason_and_what_to_do(client, commander, incident):
    log(incident, acid(timezone.now()))

    page = client.get(sheet(incident)).text
    text = card(page)

    assert 'class="verdict stop unheard"' in page
    assert "pH 2 on wet paper held in the air" in text
    assert "Found acid vapour" in text
    assert 'value="' in page.split("heard-entry-1")[0]


def test_heard_is_logged_once_and_the_button_gives_way(client, commander, incident):
    reading = log(incident, acid(timezone.now())).entry
    url = reverse("incidents:decision", args=(incident.pk, "acknowledge"))

    for _ in range(2):
        response = client.post(
            url, {"entry": reading.key}, headers={"HX-Request": "true"}
        )

    assert response.status_code == 200
    assert "entry-saved" in response["HX-Trigger"]
    assert incident.entries.filter(kind="acknowledge").count() == 1
    page = client.get(sheet(incident)).text
    assert 'class="verdict stop"' in page
    assert 'id="heard-entry-1"' not in page
    assert "heard" in card(page)


def test_heard_works_without_script(client, commander, incident):
    reading = log(incident, acid(timezone.now())).entry

    response = client.post(
        reverse("incidents:decision", args=(incident.pk, "acknowledge")),
        {"entry": reading.key},
    )

    assert response.url == sheet(incident)
    assert incident.entries.filter(kind="acknowledge").count() == 1


def test_those_who_only_watch_get_no_button(client, incident):
    log(incident, acid(timezone.now()))
    client.force_login(join(incident, "viewer"))

    page = client.get(sheet(incident)).text

    assert 'class="verdict stop unheard"' in page
    assert "not heard yet" in page
    assert "<button" not in page
    assert 'class="bar"' not in page


def test_the_log_is_newest_first_and_says_what_came_late(client, commander, incident):
    now = timezone.now()
    log(incident, meter(now), recorded_at=now)
    log(
        incident,
        acid(now + timedelta(seconds=1)),
        recorded_at=now + timedelta(minutes=4),
    )

    page = client.get(sheet(incident)).text

    first, second = re.findall(r'<li data-seq="(\d+)"', page)[:2]
    assert int(first) > int(second)
    assert "<b>logged " in page
    assert "no finding" in page


def test_clocks_carry_the_moments_they_count_from(client, commander, incident):
    now = timezone.now()
    log(incident, entry("enter", now, team="entry-1"))

    page = client.get(sheet(incident)).text

    assert re.search(r'data-since="[-0-9]+T[0-9:.]+', page)
    assert "due " in card(page)


class TestPoll:
    @pytest.fixture
    def tag(self, client, commander, incident):
        log(incident, meter(timezone.now()))
        return client.get(live(incident))["ETag"]

    @pytest.fixture(autouse=True)
    def _in_one_step_of_ten_seconds(self):
        with time_machine.travel(NOON, tick=False):
            yield

    def test_the_page_carries_the_tag_of_what_it_shows(
        self, client, commander, incident, tag
    ):
        page = client.get(sheet(incident)).text

        escaped = tag.replace('"', "&quot;")
        assert f'data-etag="{escaped}"' in page

    def test_unchanged_is_304_from_one_read_beside_the_sign_in(
        self, client, commander, incident, tag, django_assert_num_queries
    ):
        # The session, the person, and one read of the incident.
        with django_assert_num_queries(3) as captured:
            response = client.get(live(incident), headers={"If-None-Match": tag})

        assert response.status_code == 304
        assert response["ETag"] == tag
        assert not response.content
        about_incidents = [
            q["sql"] for q in captured if "incidents_incident" in q["sql"]
        ]
        assert len(about_incidents) == 1

    def test_a_new_entry_is_200(self, client, commander, incident, tag):
        log(incident, acid(NOON))

        response = client.get(live(incident), headers={"If-None-Match": tag})

        assert response.status_code == 200
        assert response["ETag"] != tag
        assert 'class="verdict stop' in response.text

    def test_the_next_step_of_time_is_304_while_it_says_the_same(
        self, client, commander, incident, tag
    ):
        # Ages are said in minutes by then.
        with time_machine.travel(NOON + timedelta(minutes=3, seconds=1), tick=False):
            tag = client.get(live(incident))["ETag"]

        with time_machine.travel(NOON + timedelta(minutes=3, seconds=11), tick=False):
            response = client.get(live(incident), headers={"If-None-Match": tag})

        assert response.status_code == 304
        assert response["ETag"] != tag

    def test_a_verdict_that_comes_by_time_alone_is_200(
        self, client, commander, incident
    ):
        log(incident, entry("enter", NOON, team="entry-1"))
        tag = client.get(live(incident))["ETag"]

        with time_machine.travel(NOON + timedelta(minutes=41), tick=False):
            response = client.get(live(incident), headers={"If-None-Match": tag})

        assert response.status_code == 200
        assert 'class="verdict stop' in response.text

    def test_the_tag_of_one_person_is_not_that_of_another(self, client, incident, tag):
        client.force_login(join(incident, "viewer"))

        response = client.get(live(incident), headers={"If-None-Match": tag})

        assert response["ETag"] != tag

    def test_a_hundred_entries_cost_no_more_queries_than_one(
        self, client, commander, incident, tag, django_assert_max_num_queries
    ):
        for second in range(100):
            log(incident, meter(NOON + timedelta(seconds=second)))

        with django_assert_max_num_queries(20):
            client.get(live(incident))


def test_an_incident_of_many_teams_is_read_with_as_many_queries(
    client, commander, django_assert_max_num_queries
):
    teams = [
        {"id": f"t{n}", "name": f"Team {n}", "role": "entry", "ensemble": "level_b"}
        for n in range(8)
    ]
    incident = open_incident(person=commander, at=timezone.now(), teams=teams)

    with django_assert_max_num_queries(20):
        page = client.get(sheet(incident)).text

    assert page.count('<article class="card"') == 8


def test_entries_have_pages_of_their_own(client, commander, incident):
    reading = log(incident, acid(timezone.now())).entry

    page = client.get(reverse("incidents:entry", args=(incident.pk, reading.seq))).text

    assert "pH 2 on wet paper in the air, tank room" in page
    assert "common practice, no source" in page
    assert reading.hash in page


def test_an_entry_shows_the_verdict_as_it_was_then(client, commander, incident):
    now = timezone.now()
    quiet = log(incident, meter(now)).entry
    log(incident, acid(now + timedelta(seconds=1)))

    page = client.get(reverse("incidents:entry", args=(incident.pk, quiet.seq))).text

    assert 'class="verdict continue"' in page
    assert 'class="verdict stop"' not in page


def test_the_log_pages_back(client, commander, incident):
    for _ in range(3):
        log(incident, meter(timezone.now()))
    url = reverse("incidents:log", args=(incident.pk,))

    page = client.get(url, {"before": 3}).text

    assert re.findall(r'<li data-seq="(\d+)"', page) == ["2", "1"]
    assert client.get(url, {"before": "<"}).status_code == 200
