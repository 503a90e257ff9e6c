"""ICS 201 from log and plan. Blocks and their order from memory of the FEMA form, 2010."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.factories import acid, entry, log, minutes, open_incident
from tests.incidents.services.test_plan import planned, say

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

BLOCKS = [
    "1. Incident name",
    "2. Incident number",
    "3. Date and time initiated",
    "4. Map or sketch",
    "5. Situation summary and health and safety briefing",
    "6. Prepared by",
    "7. Current and planned objectives",
    "8. Current and planned actions, strategies and tactics",
    "9. Current organization",
    "10. Resource summary",
]


@pytest.fixture
def incident(client):
    incident = planned()
    client.force_login(incident.opened_by)
    return incident


def fetched(client, incident, query=""):
    url = reverse("incidents:incident-briefing", args=(incident.pk,))
    return client.get(url + query).text


def blocks(text):
    return re.findall(r"<h3>\s*(\d+\. [^<]+?)\s*</h3>", text)


def test_the_briefing_is_filled_from_log_and_plan_in_the_order_of_the_form(
    client, incident
):
    say(incident, "objectives", {"objective": "Find the valve"}, item="o1")
    say(incident, "mode", {"mode": "offensive", "why": "Valve can be reached"})
    say(
        incident,
        "positions",
        {"position": "safety_officer", "name": "S. Larch"},
        item="p1",
    )
    say(incident, "check_in", {"name": "Engine 4", "agency": "Creek Town"}, item="c1")
    log(incident, acid(minutes(3)))
    log(incident, entry("par", minutes(4), team="entry-1"))

    text = fetched(client, incident)

    assert blocks(text) == BLOCKS
    places = [
        text.index(words)
        for words in (
            incident.name,
            str(incident.pk),
            "pH 2",  # why the team is stopped
            "Find the valve",
            "Valve can be reached",
            "S. Larch",
            "Engine 4",
        )
    ]
    assert "STOP" in text.upper()
    assert places[-5:] == sorted(places[-5:])
    assert "not recorded" in text  # the map


def test_the_blank_form_has_every_block_and_nothing_in_it(client, incident):
    log(incident, acid(minutes(3)))

    text = fetched(client, incident, "?blank=1")

    assert blocks(text) == BLOCKS
    assert "pH 2" not in text
    assert "not recorded" not in text
    form = text[text.index('class="blocks"') : text.index("</main>")]
    assert str(incident.pk) not in form
    assert incident.name not in form


def test_an_incident_without_a_plan_has_a_briefing_too(client):
    incident = open_incident()
    client.force_login(incident.opened_by)

    assert blocks(fetched(client, incident)) == BLOCKS


def test_a_longer_log_costs_no_more_queries(client, incident):
    def cost():
        with CaptureQueriesContext(connection) as queries:
            fetched(client, incident)
        return len(queries)

    log(incident, acid(minutes(3)))
    cost()
    first = cost()
    for number in range(19):
        log(incident, acid(minutes(4 + number)))
    cost()

    assert cost() == first
