"""A new incident, its people, its end, its reports and what leaves as a file."""

import json
import re
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import dumps, loads
from incidents.models import Incident, Instrument, Report
from incidents.plans import plan_of
from screening.ensembles import Ensemble
from tests.factories import (
    PersonFactory,
    SopProfileFactory,
    acid,
    entry,
    join,
    log,
    open_incident,
)

NEW = "/incidents/new/"


def whole(**changes):
    """What a browser sends for a new incident of two teams."""
    data = {
        "name": "Mill Race paint store",
        "location": "Mill Race 4",
        "mission": "rescue",
        "profile": "",
        "air_temperature": "20,5",
        "temperature_unit": "degC",
        "humidity": "45",
        "wind_speed": "3",
        "wind_unit": "m/s",
        "wind_from": "225",
        "background": "0.01",
        "background_unit": "mrem/h",
        "suspects": "ammonia, chlorine, ",
        "pressure_unit": "psi",
        "team1-name": "Entry 1",
        "team1-role": "entry",
        "team1-ensemble": "level_b",
        "team1-members": "I. Carrow, 4500, 4400\nB. Tadros\n",
        "team2-name": "Backup",
        "team2-role": "backup",
        "team2-ensemble": "turnout_scba",
        "team2-members": "",
    }
    for number in (3, 4):
        data |= {f"team{number}-name": "", f"team{number}-role": "entry"}
        data |= {f"team{number}-ensemble": "", f"team{number}-members": ""}
    return data | changes


@pytest.fixture
def opener(client, db):
    person = PersonFactory.create()
    client.force_login(person)
    return person


def test_a_new_incident_holds_what_was_typed(client, opener):
    profile = SopProfileFactory.create(agency=opener.agency)
    Instrument.objects.create(
        agency=opener.agency,
        key="meter-1",
        label="Meter 1",
        kind="gas_meter",
        document=dumps({"id": "meter-1", "kind": "gas_meter", "sensors": ["lel"]}),
    )

    response = client.post(NEW, whole(profile=str(profile.pk), instruments=["meter-1"]))

    incident = Incident.objects.get()
    assert response.url == reverse("incidents:sheet", args=(incident.pk,))
    assert (incident.name, incident.location) == (
        "Mill Race paint store",
        "Mill Race 4",
    )
    setup = loads(incident.setup)
    assert setup["profile"]["name"] == profile.name
    assert setup["incident"]["weather"] == {
        "air_temperature": {"value": Decimal("20.5"), "unit": "degC"},
        "relative_humidity_percent": Decimal(45),
        "wind_speed": {"value": Decimal(3), "unit": "m/s"},
        "wind_from_degrees": Decimal(225),
    }
    assert setup["suspects"] == ["ammonia", "chlorine"]
    assert [one["id"] for one in setup["instruments"]] == ["meter-1"]
    first, second = setup["teams"]
    assert (first["id"], first["ensemble"]) == ("entry-1", "level_b")
    assert first["members"] == [
        {
            "id": "i-carrow",
            "cylinder": {
                "rated_pressure": {"value": Decimal(4500), "unit": "psi"},
                "start_pressure": {"value": Decimal(4400), "unit": "psi"},
            },
        },
        {"id": "b-tadros"},
    ]
    assert (second["id"], second["role"]) == ("backup", "backup")
    assert [m.name for m in incident.teams.first().members.all()] == [
        "I. Carrow",
        "B. Tadros",
    ]


def test_three_fields_open_an_incident_and_begin_its_plan(client, opener):
    """ICS 201, from memory: what, where, who commands; all else may follow."""
    page = client.get(NEW)
    units = {
        "temperature_unit": "degC",
        "wind_unit": "m/s",
        "background_unit": "mrem/h",
        "pressure_unit": "psi",
    }
    untouched = units | {
        field.html_name: field.value()
        for form in (page.context["forms"].incident, *page.context["forms"].teams)
        for field in form
        if field.value()
    }

    response = client.post(
        NEW, untouched | {"name": "Mill Race paint store", "location": "Mill Race 4"}
    )

    incident = Incident.objects.get()
    assert response.status_code == 302
    assert incident.teams.count() == 0
    begun = plan_of(incident)
    assert begun.size_up.place == "Mill Race 4"
    assert begun.size_up.people == "unknown"
    assert begun.commander(timezone.now()) == opener.shown_name
    assert client.get(response.url).status_code == 200


def test_the_weather_typed_at_the_opening_is_the_first_of_the_plan(client, opener):
    client.post(NEW, whole(commander="Dana Holt"))

    incident = Incident.objects.get()
    report = plan_of(incident).weather(timezone.now()).says
    assert report.from_degrees == 225
    assert report.temperature.shown == "20.5 °C"
    assert plan_of(incident).commander(timezone.now()) == "Dana Holt"


def test_names_in_other_scripts_are_kept_and_get_keys_of_their_own(client, opener):
    client.post(NEW, whole(**{"team1-name": "突入班", "team2-name": "救助班"}))

    teams = list(Incident.objects.get().teams.all())

    assert [team.name for team in teams] == ["突入班", "救助班"]
    assert [team.key for team in teams] == ["team", "team-2"]


@pytest.mark.parametrize(
    ("changes", "target", "words"),
    [
        ({"name": " "}, "id_name", "Give the incident a name."),
        ({"humidity": "140"}, "id_humidity", "100 or less"),
        ({"air_temperature": "warm"}, "id_air_temperature", "“warm” is not a number"),
        (
            {"team1-members": "Carrow, 4500, 44oo"},
            "id_team1-members",
            "Line 1: “44oo” is neither a pressure nor what is worn, such as Level C.",
        ),
        (
            {"team1-members": "Carrow\n\n, 4500"},
            "id_team1-members",
            "Line 3: a name",
        ),
        ({"team1-members": "Rey\nRey"}, "id_team1-members", "“Rey” stands twice."),
        ({"team1-ensemble": ""}, "id_team1-ensemble", "Choose what Entry 1 wears."),
        ({"team2-name": "Entry 1"}, "id_team2-name", "Two teams have this name."),
        ({"team2-name": ""}, "id_team2-name", "Name the team"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_nothing_is_lost(
    client, opener, changes, target, words
):
    response = client.post(NEW, whole(**changes))

    assert response.status_code == 422
    assert not Incident.objects.exists()
    assert "<title>Error: " in response.text
    assert f'href="#{target}"' in response.text
    assert f'id="{target}"' in response.text
    assert words in response.text
    for kept in ("Mill Race 4", "ammonia, chlorine", 'value="225"'):
        assert kept in response.text


def test_a_team_that_comes_later_gets_its_card(client, commander, incident):
    data = {
        "name": "Entry team 1",
        "role": "entry",
        "ensemble": "level_a",
        "members": "C. Rey, 300, 280",
        "pressure_unit": "bar",
    }

    client.post(reverse("incidents:team-new", args=(incident.pk,)), data)

    added = incident.teams.last()
    assert (added.key, added.name) == ("entry-team-1", "Entry team 1")
    assert added.members.get().name == "C. Rey"
    sheet = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    assert 'id="team-entry-team-1"' in sheet
    form = client.get(reverse("incidents:log-kind", args=(incident.pk, "air_check")))
    assert "C. Rey, Entry team 1" in form.text


@pytest.mark.parametrize(
    ("typed", "own"),
    [
        ("C. Rey, 300, 280, Level C", "level_c"),
        ("C. Rey, level d", "level_d"),
        ("C. Rey, 300, turnout", "turnout_scba"),
        ("C. Rey, 300, Turnout gear", "turnout_scba"),
        ("C. Rey, 300, 280", None),
    ],
)
def test_whoever_wears_something_else_is_typed_with_it_and_shown(
    client, commander, incident, typed, own
):
    data = {
        "name": "Entry team 9",
        "role": "entry",
        "ensemble": "level_a",
        "members": f"{typed}\nB. Tadros",
        "pressure_unit": "bar",
    }

    client.post(reverse("incidents:team-new", args=(incident.pk,)), data)

    incident.refresh_from_db()
    first, second = loads(incident.setup)["teams"][-1]["members"]
    assert first.get("ensemble") == own
    assert "ensemble" not in second
    page = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    label = Ensemble(own).label if own else ""
    assert ("C. Rey: " in page) is bool(own)
    assert f"Level A, vapour-tight, SCBA; C. Rey: {label}" in page or not own


def test_the_commander_gives_a_part(client, commander, incident):
    other = PersonFactory.create(agency=incident.agency, display_name="K. Novak")

    client.post(
        reverse("incidents:people", args=(incident.pk,)),
        {"person": other.pk, "role": "technician"},
    )

    assert incident.roles.get(person=other).role == "technician"
    log_page = client.get(reverse("incidents:log", args=(incident.pk,))).text
    assert "K. Novak takes part as technician" in log_page


def test_a_part_cannot_be_given_to_another_agency(client, commander, incident):
    other = PersonFactory.create()

    response = client.post(
        reverse("incidents:people", args=(incident.pk,)),
        {"person": other.pk, "role": "technician"},
    )

    assert response.status_code == 422
    assert not incident.roles.filter(person=other).exists()


class TestClose:
    @pytest.fixture
    def url(self, incident):
        return reverse("incidents:close", args=(incident.pk,))

    def test_with_nothing_standing_no_reason_is_needed(
        self, client, commander, incident, url
    ):
        response = client.post(url, {"reason": ""})

        incident.refresh_from_db()
        assert incident.is_closed
        assert response.url == reverse("incidents:reports", args=(incident.pk,))

    def test_a_team_inside_asks_for_a_reason(self, client, commander, incident, url):
        log(incident, entry("enter", timezone.now(), team="entry-1"))

        page = client.get(url)
        response = client.post(url, {"reason": ""})

        assert "Entry team 1</b> inside since" in page.text
        assert response.status_code == 422
        incident.refresh_from_db()
        assert not incident.is_closed

    def test_a_standing_hazard_asks_for_a_reason_and_keeps_it(
        self, client, commander, incident, url
    ):
        log(incident, acid(timezone.now()))

        refused = client.post(url, {"reason": ""})
        client.post(url, {"reason": "handed to the owner"})

        assert refused.status_code == 422
        assert "say why" in refused.text
        closing = incident.entries.get(kind="closing")
        assert loads(closing.body)["reason"] == "handed to the owner"

    def test_a_closed_one_is_read_only_and_opens_again_with_a_reason(
        self, client, commander, incident, url
    ):
        client.post(url, {"reason": "over"})
        sheet = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
        again = reverse("incidents:reopen", args=(incident.pk,))

        refused = client.post(again, {"reason": ""})
        client.post(again, {"reason": "smoke seen"})

        assert "Nothing more is taken into the log" in sheet
        assert 'class="bar"' not in sheet
        assert refused.status_code == 422
        incident.refresh_from_db()
        assert not incident.is_closed
        assert incident.entries.filter(kind="reopening").exists()


def test_a_report_is_made_shown_with_its_hashes_and_downloaded(
    client, commander, incident
):
    log(incident, acid(timezone.now()))

    page = client.post(
        reverse("incidents:report-make", args=(incident.pk,)), follow=True
    ).text

    report = Report.objects.get()
    assert report.sha256 in page
    assert report.head_hash in page
    file = client.get(reverse("incidents:report-file", args=(incident.pk, report.pk)))
    assert file["Content-Type"] == "application/pdf"
    assert 'filename="quarry-lane-pump-house-' in file["Content-Disposition"]
    assert file.content == bytes(report.pdf)
    assert file.content.startswith(b"%PDF-")


def test_the_worksheet_leaves_as_the_engine_reads_it(client, commander, incident):
    log(incident, acid(timezone.now()))

    response = client.get(reverse("incidents:worksheet-json", args=(incident.pk,)))

    document = json.loads(response.content)
    assert document["format"] == "hazmat-incident-worksheet"
    assert [one["kind"] for one in document["log"]] == ["ph_paper"]
    assert "attachment" in response["Content-Disposition"]


def test_rules_and_limits_stand_with_their_sources(client, commander):
    from command.needs import NEEDS
    from screening.profile import LIMITS
    from screening.rules import RULES

    page = client.get(reverse("incidents:rules")).text

    for rule in RULES:
        assert re.search(rf"<td>{rule.number}</td>", page)
    assert "29 CFR 1910.146(b)" in page
    assert "common practice, no source" in page
    assert page.count('<th scope="row">') == len(RULES) + len(LIMITS) + len(NEEDS)
    assert all(need.source in page for need in NEEDS.values())


def test_a_loosened_limit_is_named_as_such(client, db):
    person = PersonFactory.create()
    client.force_login(person)
    incident = open_incident(
        person=person,
        profile={
            "name": "Loose",
            "version": "1",
            "limits": {"lel_withdraw_percent": Decimal(20)},
        },
    )

    page = client.get(reverse("incidents:incident-rules", args=(incident.pk,))).text

    assert "Looser than its source:" in page
    assert "20 %" in page


def test_charts_show_each_channel_of_a_meter(client, commander, incident):
    from tests.factories import meter

    empty = client.get(reverse("incidents:charts", args=(incident.pk,))).text
    log(incident, meter(timezone.now()))
    page = client.get(reverse("incidents:charts", args=(incident.pk,))).text

    assert "No figure of a meter was logged yet" in empty
    assert "LEL, %</title>" in page
    assert "style=" not in page


def test_the_list_shows_only_incidents_the_person_has_a_part_in(
    client, commander, incident
):
    other = open_incident(name="Not for you")
    join(other, "viewer")

    page = client.get(reverse("incidents:incident-list")).text

    assert incident.name in page
    assert "Not for you" not in page
