"""Entry by radio: what was understood is shown first, and only that is saved."""

import uuid

import pytest
from django.urls import reverse

from incidents.documents import loads

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]
LINE = "entry 1 tank room lel 4 o2 20.8"


def address(incident, name="radio"):
    return reverse(f"incidents:{name}", args=(incident.pk,))


def send(client, incident, line, shown="", **headers):
    sent = {"client_uuid": str(uuid.uuid4()), "line": line, "shown": shown}
    return client.post(address(incident), sent, headers=headers)


def understood(client, incident, line):
    return client.get(address(incident, "radio-understood"), {"line": line})


def readings(incident):
    return [loads(row.body) for row in incident.entries.exclude(kind__in=("opening",))]


def test_the_first_enter_shows_the_second_saves(client, incident, commander):
    first = send(client, incident, LINE)

    assert first.status_code == 200
    assert "press Enter once more" in first.content.decode()
    assert "LEL 4 %, O2 20.8 %" in first.content.decode()
    assert readings(incident) == []

    shown = first.context["heard"].digest
    second = send(client, incident, LINE, shown)

    assert second.status_code == 302
    (body,) = readings(incident)
    assert (str(body["lel_percent"]), str(body["oxygen_percent"])) == ("4", "20.8")
    assert (body["team"], body["place"]) == ("entry-1", "tank room")


def test_what_was_shown_for_another_line_saves_nothing(client, incident, commander):
    shown = send(client, incident, LINE).context["heard"].digest

    other = send(client, incident, LINE.replace("lel 4", "lel 9"), shown)

    assert "press Enter once more" in other.content.decode()
    assert readings(incident) == []


def test_a_place_taken_from_the_last_time_is_part_of_what_was_shown(
    client, incident, commander
):
    send(client, incident, LINE, send(client, incident, LINE).context["heard"].digest)
    short = "entry 1 lel 0 o2 20.9"
    shown = send(client, incident, short).context["heard"].digest
    assert (
        "tank room (as last time)"
        in understood(client, incident, short).content.decode()
    )
    moved = "entry 1 loading dock lel 0 o2 20.9"
    send(client, incident, moved, send(client, incident, moved).context["heard"].digest)

    late = send(client, incident, short, shown)

    assert "press Enter once more" in late.content.decode()


def test_an_error_points_at_the_word_and_keeps_the_line(client, incident, commander):
    answer = send(client, incident, "entry 1 tank room lel four")

    assert answer.status_code == 422
    page = answer.content.decode()
    assert "<mark>four</mark>" in page
    assert 'value="entry 1 tank room lel four"' in page


def test_the_engine_s_refusal_stands_at_its_word(client, incident, commander):
    page = understood(client, incident, "entry 1 tank room lel 104 o2 20.8")
    assert "<mark>lel 104</mark>" in page.content.decode()
    assert "a number from 0 to 100" in page.content.decode()


def test_with_script_the_answer_stands_above_an_empty_line(client, incident, commander):
    shown = understood(client, incident, LINE).context["heard"].digest

    page = send(client, incident, LINE, shown, **{"HX-Request": "true"})

    assert 'id="answer"' in page.content.decode()
    assert not page.context["form"].is_bound


def test_a_technician_logs_readings_but_no_decision(client, incident, technician):
    decision = send(client, incident, "entry 1 exit")
    assert decision.status_code == 422
    shown = understood(client, incident, LINE).context["heard"].digest
    assert send(client, incident, LINE, shown).status_code == 302


def test_nothing_goes_into_a_closed_log(client, incident, commander):
    shown = understood(client, incident, LINE).context["heard"].digest
    client.post(
        reverse("incidents:close", args=(incident.pk,)), {"reason": "over, all out"}
    )
    incident.refresh_from_db()
    assert incident.is_closed
    assert "is closed" in send(client, incident, LINE, shown).content.decode()


def test_the_same_line_sent_twice_is_stored_once(client, incident, commander):
    shown = understood(client, incident, LINE).context["heard"].digest
    sent = {"client_uuid": str(uuid.uuid4()), "line": LINE, "shown": shown}
    client.post(address(incident), sent)
    client.post(address(incident), sent)
    assert len(readings(incident)) == 1


@pytest.mark.parametrize("rows", [1, 20])
def test_a_line_is_understood_in_constant_queries(
    client, incident, commander, rows, django_assert_max_num_queries
):
    for _ in range(rows):
        digest = understood(client, incident, LINE).context["heard"].digest
        send(client, incident, LINE, digest)
    understood(client, incident, LINE)
    with django_assert_max_num_queries(6):
        understood(client, incident, LINE)
