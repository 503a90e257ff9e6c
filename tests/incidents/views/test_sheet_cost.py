"""What a sheet costs: the same queries for ten entries and for five hundred; its weight."""

import gzip
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import time_machine
from django.contrib.staticfiles import finders
from django.urls import reverse

from incidents import engine
from incidents.models import Incident
from incidents.views import sheet as sheet_view
from tests.browser.scenes import teams
from tests.conftest import kept_for_module
from tests.factories import acid, entry, log, meter, open_incident

NOON = datetime(2026, 3, 4, 18, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def bodies():
    """Five hundred entries of four teams: readings over and under limits, decisions."""
    start = NOON - HOUR
    made = [
        entry("enter", start, team=f"t{place}", place=f"room {place}")
        for place in range(4)
    ]
    for number in range(496):
        at = start + timedelta(seconds=6 * (number + 1))
        team, place = f"t{number % 4}", f"room {number % 4}"
        made.append(
            (
                acid(at, team=team, place=place, ph="2" if number % 3 else "7"),
                meter(at, team=team, place=place),
                entry("par", at, team=team),
                meter(at, team=team, place=place),
            )[number // 4 % 4]
        )
    return made


@pytest.fixture(scope="module")
def _logged(django_db_setup, django_db_blocker, bodies):
    """Two incidents, by their number of entries: made once, as 500 take a while."""
    with kept_for_module(django_db_blocker), time_machine.travel(NOON, tick=False):
        yield {size: _incident_of(bodies[:size]) for size in (10, 500)}


def _incident_of(bodies):
    incident = open_incident(at=NOON - 2 * HOUR, teams=teams(4))
    for body in bodies:
        log(incident, body)
    return incident.pk


@pytest.fixture
def filled(_logged, client, db, request):
    incident = Incident.objects.get(pk=_logged[request.param])
    client.force_login(incident.opened_by)
    return incident


@pytest.fixture(autouse=True)
def _at_noon(_logged, db):
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.mark.parametrize("filled", [10, 500], indirect=True)
def test_a_poll_with_news_takes_as_many_queries_for_500_entries_as_for_10(
    client, filled, django_assert_num_queries
):
    url = reverse("incidents:sheet-live", args=(filled.pk,))
    client.get(url)
    sheet_view._fragments.clear()

    # Session, person, tag, incident; orders; teams and members; alarms with what was
    # heard; the log's rows with findings, events and what points at them.
    with django_assert_num_queries(16):
        response = client.get(url)

    assert response.status_code == 200
    assert response.text.count('<article class="card"') == 4


@pytest.mark.parametrize("filled", [10, 500], indirect=True)
def test_a_poll_in_a_fresh_process_takes_one_query_more(
    client, filled, django_assert_num_queries
):
    url = reverse("incidents:sheet-live", args=(filled.pk,))
    client.get(url)
    sheet_view._fragments.clear()
    engine.forget()

    with django_assert_num_queries(17):
        client.get(url)


@pytest.mark.parametrize("filled", [10, 500], indirect=True)
def test_a_poll_without_news_takes_three_queries(
    client, filled, django_assert_num_queries
):
    url = reverse("incidents:sheet-live", args=(filled.pk,))
    tag = client.get(url)["ETag"]

    with django_assert_num_queries(3):
        response = client.get(url, headers={"If-None-Match": tag})

    assert response.status_code == 304


@pytest.mark.parametrize("filled", [500], indirect=True)
def test_the_first_page_of_500_entries_is_under_100_kb_as_it_is_sent(client, filled):
    response = client.get(
        reverse("incidents:sheet", args=(filled.pk,)),
        headers={"Accept-Encoding": "gzip"},
    )

    assert response["Content-Encoding"] == "gzip"
    page = gzip.decompress(response.content).decode()
    files = re.findall(r'(?:src|href)="/static/([^"]+)"', page)
    # As whitenoise compresses them for production.
    sizes = {
        name: len(gzip.compress(Path(finders.find(name)).read_bytes(), 9))
        for name in files
    }
    assert {"css/sheet.css", "js/sound.js"} <= set(sizes)
    assert page.count("data-seq=") == sheet_view.LINES_SHOWN
    assert len(response.content) + sum(sizes.values()) < 100_000


@pytest.mark.parametrize("filled", [10], indirect=True)
def test_a_tag_that_was_weakened_on_the_way_is_known_all_the_same(client, filled):
    url = reverse("incidents:sheet-live", args=(filled.pk,))
    zipped = client.get(url, headers={"Accept-Encoding": "gzip"})["ETag"]

    response = client.get(url, headers={"If-None-Match": zipped})

    assert zipped.startswith('W/"')
    assert response.status_code == 304
