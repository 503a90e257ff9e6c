"""The commander's decisions, each from its form to the log."""

import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import loads
from tests.factories import acid, entry, log, meter

HTMX = {"HX-Request": "true"}


def address(incident, kind):
    return reverse("incidents:decision", args=(incident.pk, kind))


def decide(client, incident, kind, **data):
    data = {"client_uuid": str(uuid.uuid4())} | data
    return client.post(address(incident, kind), data, headers=HTMX)


@pytest.mark.parametrize(
    ("kind", "data", "expected"),
    [
        ("enter", {"team": "entry-1", "place": "door"}, {"place": "door"}),
        ("exit", {"team": "entry-1"}, {}),
        ("par", {"team": "entry-1"}, {}),
        (
            "par",
            {"team": "entry-1", "unanswered": ["entry-1/b"]},
            {"unanswered": ["b"]},
        ),
        (
            "change_ensemble",
            {"team": "entry-1", "ensemble": "level_a"},
            {"ensemble": "level_a"},
        ),
    ],
)
def test_a_decision_about_a_team_is_logged(
    client, commander, incident, kind, data, expected
):
    response = decide(client, incident, kind, **data)

    assert response.status_code == 200, response.text
    assert "Saved " in response.text
    body = loads(incident.entries.get(kind=kind).body)
    assert body["team"] == "entry-1"
    assert expected.items() <= body.items()


def test_ventilation_is_logged_with_how_and_where(client, commander, incident):
    decide(client, incident, "ventilate", method="fan at the door", place="tank room")

    body = loads(incident.entries.get(kind="ventilate").body)

    assert (body["method"], body["place"]) == ("fan at the door", "tank room")


def test_a_clear_that_does_not_hold_says_why(client, commander, incident):
    log(incident, acid(timezone.now()))
    form = client.get(address(incident, "clear"))

    response = decide(
        client,
        incident,
        "clear",
        hazard_at="acid_vapour|tank room",
        reason="looks good",
    )

    assert "Acid vapour, tank room: pH 2 on wet paper" in form.text
    assert response.status_code == 200
    body = loads(incident.entries.get(kind="clear").body)
    assert body["by"] == commander.shown_name
    assert (body["hazard"], body["place"]) == ("acid_vapour", "tank room")
    sheet = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    assert 'class="verdict stop' in sheet
    assert "does not hold" in sheet


def test_a_clear_that_holds_lifts_the_stop(client, commander, incident):
    log(incident, acid(timezone.now()))
    log(incident, acid(timezone.now(), ph="7"))

    decide(
        client, incident, "clear", hazard_at="acid_vapour|tank room", reason="flushed"
    )

    sheet = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    assert 'class="verdict stop' not in sheet


def test_a_hazard_that_does_not_stand_cannot_be_chosen(client, commander, incident):
    log(incident, acid(timezone.now()))

    response = decide(
        client, incident, "clear", hazard_at="toxic_gas|tank room", reason="none"
    )

    assert response.status_code == 422
    assert not incident.entries.filter(kind="clear").exists()


def test_with_nothing_standing_there_is_nothing_to_clear_or_hear(
    client, commander, incident
):
    log(incident, meter(timezone.now()))

    assert "No hazard stands" in client.get(address(incident, "clear")).text
    assert (
        "No Stop or Withdraw stands"
        in client.get(address(incident, "acknowledge")).text
    )


def test_a_member_of_another_team_is_not_missing_from_this_one(
    client, commander, incident
):
    response = decide(
        client, incident, "par", team="backup-1", unanswered=["entry-1/b"]
    )

    assert response.status_code == 422
    assert "another team" in response.text


def test_a_technician_cannot_decide_even_by_hand(client, technician, incident):
    before = incident.entries.count()

    response = decide(client, incident, "exit", team="entry-1")

    assert response.status_code == 403
    assert "Not yours to open" in response.text
    assert incident.entries.count() == before


def test_a_team_that_is_in_is_shown_inside_and_out_when_out(
    client, commander, incident
):
    sheet = reverse("incidents:sheet", args=(incident.pk,))
    log(incident, entry("enter", timezone.now(), team="entry-1"))
    inside = client.get(sheet).text
    decide(client, incident, "exit", team="entry-1")
    outside = client.get(sheet).text

    assert "inside since" in inside
    assert "inside since" not in outside
