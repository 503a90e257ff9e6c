"""The decon line, who is where, and exposure records on their pages."""

import re
import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.medical import code_of
from tests.factories import entry, join, log, meter, open_incident
from tests.incidents.views.test_medical import stands

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

CODE = code_of("Alder")


def ago(minutes):
    return timezone.now() - timedelta(minutes=minutes)


@pytest.fixture
def incident(client, db):
    """Entry 1, Alder and Birch, went in and came out again."""
    incident = open_incident(at=ago(60))
    log(incident, entry("enter", ago(50), team="entry-1", place="tank room"))
    log(incident, meter(ago(45), place="tank room"))
    log(incident, entry("exit", ago(20), team="entry-1"))
    client.force_login(incident.opened_by)
    incident.refresh_from_db()
    return incident


def url(name, incident, *args):
    return reverse(f"incidents:{name}", args=(incident.pk, *args))


def sent(client, incident, part, **said):
    data = {"client_uuid": str(uuid.uuid4()), **said}
    return client.post(url("line-part", incident, part), data)


def page_of(client, incident):
    return client.get(url("line", incident)).text


def test_everyone_stands_under_their_zone_with_what_is_to_come(client, incident):
    page = page_of(client, incident)

    assert "Decon: 2" in page
    assert "Cold zone: 1" in page
    assert "2 people not through the line" in page
    assert page.count("Decon to come") == 2


def test_through_decon_then_checked_then_moved(client, incident):
    sent(
        client, incident, "decon_line",
        who=["Alder", "Birch"], method="technical", agent="Soap and water",
    )  # fmt: skip
    assert page_of(client, incident).count("Through decon, not checked") == 2
    for name in ("Alder", "Birch"):
        sent(
            client, incident, "decon_check",
            who=name, outcome="nothing_found", means="paper", showed="pH 7",
        )  # fmt: skip
    assert "not through the line" not in page_of(client, incident)

    response = sent(
        client, incident, "whereabouts", who=["Alder", "Birch"], where="cold"
    )

    assert response.url == url("line", incident)
    assert "Cold zone: 3" in page_of(client, incident)


def test_moving_somebody_unchecked_is_refused_at_the_field(client, incident):
    before = incident.entries.count()

    response = sent(client, incident, "whereabouts", who=["Alder"], where="cold")

    assert response.status_code == 422
    assert "a check of Alder after decon, or why there is none" in response.text
    assert re.search(r'value="Alder"[^>]*checked', response.text, re.S)
    assert incident.entries.count() == before


@pytest.mark.parametrize(
    ("part", "said", "words"),
    [
        ("whereabouts", {"where": "cold"}, "expected at least one"),
        ("whereabouts", {"who": ["Alder"]}, "Where: choose one."),
        ("decon_line", {"who": ["Alder"]}, "Method: choose one."),
        ("decon_check", {"who": "Alder"}, "Outcome: choose one."),
        (
            "decon_check",
            {"who": "Alder", "outcome": "nothing_found"},
            "with what was checked",
        ),
        ("decon_check", {"who": "Alder", "outcome": "waived"}, "why there is no check"),
        ("notice", {"who": ["Alder"], "told": "Acid"}, "Told by: say it."),
    ],
)
def test_what_is_not_whole_is_refused_and_nothing_is_stored(
    client, incident, part, said, words
):
    before = incident.entries.count()

    response = sent(client, incident, part, **said)

    assert response.status_code == 422
    assert words in response.text
    assert incident.entries.count() == before


def test_a_link_from_the_line_brings_the_person_along(client, incident):
    page = client.get(url("line-part", incident, "decon_check"), {"who": "Birch"}).text

    assert re.search(r'name="who"[^>]*value="Birch"', page, re.S)


def test_somebody_of_no_team_is_written_down_by_name(client, incident):
    sent(
        client, incident, "whereabouts",
        who_more="Driver Fennel", where="cold", post="North gate",
    )  # fmt: skip

    page = page_of(client, incident)
    assert re.search(r"Driver Fennel</b>\s*North gate", page)


def test_a_reader_sees_who_is_where_and_writes_nothing(client, incident):
    client.force_login(join(incident, "viewer"))

    assert "Move people" not in page_of(client, incident)
    assert sent(client, incident, "whereabouts").status_code == 403


def test_twenty_people_take_no_more_queries_than_two(client, django_assert_num_queries):
    counts = []
    for size in (2, 20):
        incident = open_incident(
            at=ago(60),
            teams=[
                {
                    "id": "entry-1", "name": "Entry 1", "role": "entry",
                    "ensemble": "level_b",
                    "members": [{"id": f"m{n}", "name": f"Person {n}"}
                                for n in range(size)],
                }
            ],
        )  # fmt: skip
        log(incident, entry("enter", ago(50), team="entry-1", place="dock"))
        client.force_login(incident.opened_by)
        page_of(client, incident)
        with django_assert_num_queries(4) as seen:
            page_of(client, incident)
        counts.append(len(seen))

    assert counts[0] == counts[1]


# --- the end -------------------------------------------------------------------------


def test_closing_names_who_is_not_in_and_asks_for_a_reason(client, incident):
    close = url("close", incident)

    page = client.get(close).text
    assert "Not in the cold zone, not gone" in page
    refused = client.post(close, {"reason": ""})
    assert refused.status_code == 422
    assert "Somebody is not in the cold zone and not gone" in refused.text

    client.post(close, {"reason": "Both are on the way to hospital"})

    incident.refresh_from_db()
    assert incident.is_closed
    log_page = client.get(url("log", incident)).text
    assert "with Alder (decon), Birch (decon)" in log_page


# --- exposure ------------------------------------------------------------------------


def test_everyone_who_was_inside_has_a_record_and_nobody_else(client, incident):
    page = client.get(url("exposures", incident)).text

    assert "Alder" in page
    assert "Birch" in page
    assert "Backup" not in page


def test_a_record_says_what_was_met_and_names_nobody_else(client, incident):
    log(
        incident,
        {
            "kind": "dosimeter", "team": "entry-1", "place": "tank room",
            "dose": {"value": 2, "unit": "rem"}, "member": "a",
            "at": ago(30).isoformat(),
        },
    )  # fmt: skip
    sent(
        client,
        incident,
        "exposure_note",
        who=["Alder"],
        what="breach",
        words="By Birch",
    )
    sent(client, incident, "notice", who=["Alder"], told="Acid mist", by="Dana Holt")

    response = client.get(url("exposure", incident, CODE))

    page = response.text
    for words in (
        "Exposure record of Alder",
        "2 rem, 8 % of the turn-back dose of 25 rem",
        "Breach of the clothing",
        "By another person",
        "Acid mist",
        "unverified",
        "tank room",
        "Wore:",
    ):
        assert words in page
    assert "Birch" not in page
    assert response["Cache-Control"] == "no-store"


def test_a_record_carries_nothing_that_medical_measured(client, incident):
    medic = join(incident, "medical")
    services.record_check(
        incident_id=incident.pk,
        person=medic,
        name="Alder",
        kind="after",
        values={"pulse": 137, "symptoms": "queasy"},
        at=ago(10),
        recorded_at=ago(10),
        client_uuid=uuid.uuid4(),
    )

    page = client.get(url("exposure", incident, CODE)).text

    assert not stands("137", page)
    assert "queasy" not in page


@pytest.mark.parametrize("role", ["technician", "viewer"])
def test_who_works_beside_them_does_not_read_it(client, incident, role):
    client.force_login(join(incident, role))

    assert client.get(url("exposure", incident, CODE)).status_code == 403
    assert url("exposures", incident) not in page_of(client, incident)


def test_who_was_never_inside_has_no_record(client, incident):
    assert client.get(url("exposure", incident, code_of("Nobody"))).status_code == 404


def test_a_record_costs_as_much_after_twenty_readings_as_after_one(
    client, incident, django_assert_max_num_queries
):
    place = url("exposure", incident, CODE)
    client.get(place)
    counts = []
    for number in (1, 20):
        for minute in range(number):
            log(incident, meter(ago(44) + timedelta(seconds=minute), place="tank room"))
        client.get(place)
        with django_assert_max_num_queries(14) as seen:
            client.get(place)
        counts.append(len(seen))

    assert counts[0] == counts[1]
