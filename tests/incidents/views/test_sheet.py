"""The sheet: what it says, and what its poll costs."""

import html
import re
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from incidents import services
from screening.methods import by_id
from tests.factories import acid, entry, join, log, meter, open_incident

NOON = datetime(2026, 3, 4, 18, 0, tzinfo=UTC)


def sheet(incident):
    return reverse("incidents:sheet", args=(incident.pk,))


def live(incident):
    return reverse("incidents:sheet-live", args=(incident.pk,))


def card(page, team="entry-1"):
    """The text of one team's line of the form, and of its part below."""
    found = re.findall(
        rf'<article class="card"\s+id="team-{team}".*?</article>'
        rf'|<section class="part"\s+id="full-{team}".*?</section>',
        page,
        re.S,
    )
    return " ".join(re.sub(r"<[^>]+>", " ", " ".join(found)).split())


def alarm(page):
    """The value of the first Heard button."""
    return re.search(r'name="alarm"\s+value="([^"]+)"', page)[1]


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
    assert alarm(page).endswith(":stop")


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
    assert 'class="heard"' not in page
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
    assert "not heard" in card(page)
    assert 'class="heard"' not in page
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


def test_the_sheet_says_when_to_look_at_people_for_heat(client, commander, incident):
    log(incident, entry("enter", timezone.now(), team="entry-1", place="tank room"))

    text = card(client.get(sheet(incident)).text)

    # 20 °C is 68 °F, in full sun 81 °F: 90 minutes in a suit (four-agency manual 1985)
    assert "after each 90 min of work" in text
    assert "four-agency guidance manual 1985" in text
    assert "pulse over 110 or 99.6 °F in the mouth" in text


def test_each_reason_names_the_row_and_the_source_that_it_is_from(
    client, commander, incident
):
    log(incident, acid(timezone.now()))
    log(incident, meter(timezone.now()))

    text = card(client.get(sheet(incident)).text)

    why = text.partition("Why, for each")[2]
    assert re.search(r"Acid vapour , found: .* rule 1: common practice, no source", why)
    # the reason for a quiet LEL rests on a row of methods; from memory, so it is marked
    row = by_id("C30")
    assert f"C30: {row.source} [memory]" in html.unescape(why)
    assert "C43: common practice, no source" in why


class TestLate:
    """Row 52: what nobody heard for a minute shows on every page of the incident."""

    def get(self, client, incident, **query):
        return client.get(reverse("incidents:late", args=(incident.pk,)), query)

    @pytest.fixture
    def incident(self, db):
        with time_machine.travel(NOON, tick=False):
            incident = open_incident(at=NOON)
            log(incident, acid(NOON))
        return incident

    def test_it_says_nothing_in_the_first_minute(self, client, commander, incident):
        with time_machine.travel(NOON + timedelta(seconds=60), tick=False):
            response = self.get(client, incident)

        assert "late-line" not in response.text

    def test_after_a_minute_it_names_the_alarm_until_that_is_heard(
        self, client, commander, incident
    ):
        with time_machine.travel(NOON + timedelta(seconds=61), tick=False):
            text = self.get(client, incident).text
            page = client.get(sheet(incident)).text
            client.post(
                reverse("incidents:decision", args=(incident.pk, "acknowledge")),
                {"alarm": alarm(page)},
            )
            after = self.get(client, incident).text

        assert "Stop not heard since 12:00:00: Acid vapour, tank room" in text
        assert "alarm stop late" in page
        assert "late-line" not in after

    def test_a_closed_incident_is_not_called_out_any_more(
        self, client, commander, incident
    ):
        """Nobody can hear it there; the sheet goes on saying what stood."""
        with time_machine.travel(NOON + timedelta(seconds=61), tick=False):
            services.close_incident(
                incident_id=incident.pk,
                person=incident.opened_by,
                at=NOON + timedelta(seconds=61),
                reason="Handed over",
            )
            text = self.get(client, incident).text
            page = client.get(sheet(incident)).text

        assert "late-line" not in text
        assert "Stop" in page

    def test_who_has_it_already_gets_no_content(self, client, commander, incident):
        with time_machine.travel(NOON + timedelta(seconds=61), tick=False):
            seen = re.search(r"seen=([0-9a-f]+)", self.get(client, incident).text)[1]

            assert self.get(client, incident, seen=seen).status_code == 204
            assert self.get(client, incident, seen="0").status_code == 200


class TestLight:
    def choose(self, client, light, back="/"):
        return client.post(reverse("incidents:light"), {"light": light, "back": back})

    def test_the_choice_is_kept_and_leads_back(self, client, commander, incident):
        response = self.choose(client, "night", sheet(incident))

        assert response.url == sheet(incident)
        assert '<html lang="en" data-light="night">' in client.get(sheet(incident)).text
        self.choose(client, "")
        assert "data-light" not in client.get(sheet(incident)).text

    @pytest.mark.parametrize("back", ["https://example.org/", "//example.org", ""])
    def test_it_leads_nowhere_else(self, client, commander, back):
        assert self.choose(client, "day", back).url == "/"

    def test_anything_else_is_no_choice(self, client, commander, incident):
        self.choose(client, '"><script>')

        assert "data-light" not in client.get(sheet(incident)).text


class TestWall:
    def test_it_is_the_same_facts_in_large_and_nothing_to_press(
        self, client, commander, incident
    ):
        log(incident, acid(timezone.now()))

        page = client.get(sheet(incident), {"wall": "1"}).text

        assert "Entry team 1" in page
        assert 'class="verdict stop unheard"' in page
        assert 'class="heard"' not in page
        assert 'class="bar"' not in page
        assert "Supports decisions" in page

    def test_its_poll_is_its_own(self, client, commander, incident):
        log(incident, meter(timezone.now()))
        plain = client.get(live(incident))

        wall = client.get(
            live(incident), {"wall": "1"}, headers={"If-None-Match": plain["ETag"]}
        )

        assert wall.status_code == 200
        assert 'data-teams="2"' in wall.text


def hot_incident(commander, at):
    """77 °F in full sun: people in a suit are looked at after each 15 min (four-agency
    manual 1985)."""
    hot = {"air_temperature": {"value": 77, "unit": "degF"}}
    incident = open_incident(person=commander, weather=hot, at=at)
    log(incident, entry("enter", at, team="entry-1", place="dock"))
    return incident


@pytest.mark.parametrize(("inside", "due"), [(14, False), (15, True), (29, True)])
def test_a_look_at_people_that_came_due_is_shown_as_due(client, commander, inside, due):
    now = timezone.now()
    incident = hot_incident(commander, now - timedelta(minutes=inside, seconds=1))

    text = card(client.get(sheet(incident)).text)

    assert ("look at people due" in text) is due
    assert ("Heat: Due now." in text) is due


def test_a_gauge_that_nobody_read_stands_beside_the_turn_around(client, commander):
    now = timezone.now()
    incident = open_incident(person=commander, at=now - timedelta(minutes=9))
    began = now - timedelta(minutes=8)
    log(incident, entry("enter", began, team="entry-1", place="dock"))
    none = card(client.get(sheet(incident)).text)
    for minute, psi in ((1, 4300), (4, 4000)):
        at = began + timedelta(minutes=minute)
        gauge = {"member": "a", "pressure": {"value": psi, "unit": "psi"}}
        log(incident, entry("air_check", at, team="entry-1", place="dock", **gauge))

    one = card(client.get(sheet(incident)).text)

    assert "2 not read" in none
    assert "Not read: Alder, Birch." in none
    assert "Alder ; 1 not read" in one or "Alder; 1 not read" in one
    assert "Not read: Birch." in one


def test_outside_no_gauge_is_missing(client, commander, incident):
    assert "not read" not in card(client.get(sheet(incident)).text)
