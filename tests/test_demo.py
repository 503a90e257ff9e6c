"""The invented incident: what the specification says to it, and `manage.py demo`."""

import http.cookiejar
import json
import os
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from uuid import uuid5

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from incidents import selectors
from incidents.management.serving import free_port
from incidents.models import Incident, IncidentRole, Person, Report
from incidents.plans import plan_of
from incidents.services import chain, demo
from incidents.views import board
from reports.data import ChainHead
from reports.reading import page_texts
from reports.verifying import verify_pdf
from screening.result import screen
from screening.verdicts import CAUTION

ROOT = Path(__file__).resolve().parent.parent
WORKSHEET = ROOT / "demo_fixtures" / "pool_supply_store.json"
NOW = datetime(2026, 7, 1, 17, 30, 42, 123456, tzinfo=UTC)

database = pytest.mark.django_db
both = pytest.mark.db_both


# --- What the specification gives, worked out by hand ---------------------------------

# Entry: the verdicts of entry-1 (turnout gear, from e30 on level A), entry-2 (level B),
# backup-1 (level B) and decon-1 (level C) after it, and why.
BY_HAND = {
    # Quiet meter, background dose rate, pH 6.5: nothing found.
    "e08": "continue continue continue continue",
    # Rule 1: pH 2 stops turnout gear there; elsewhere a caution for who is not tight.
    "e09": "stop caution caution caution",
    # Rule 8: no change with the edge unseen finds nothing. What stood stands.
    "e12": "stop caution caution caution",
    # Rule 7 adds a caution on the liquid, for those at that place only.
    "e13": "stop caution caution caution",
    # A team outside has the verdict of going back to its place.
    "e15": "stop caution caution caution",
    # The clear does not hold: nothing read since the pH 2.
    "e17": "stop caution caution caution",
    # 22 °C against 18 °C is 7.2 Δ°F, less than the 10 of rule 17.
    "e20": "stop caution caution caution",
    # Rule 11: LEL 2 %, a caution where entry-2 is.
    "e23": "stop caution caution caution",
    # Rule 18: 22 to 25 °C is 5.4 Δ°F, 4 or more: everyone, everywhere, whatever is worn.
    "e24": "withdraw withdraw withdraw withdraw",
    # Out, and still: one that is out must not go back.
    "e28": "withdraw withdraw withdraw withdraw",
    # In level A the acid is a caution, the drum is not.
    "e30": "withdraw withdraw withdraw withdraw",
    # 25.6, 25.5, 25.4 over 10.5 min: steady, but a reading alone lifts nothing.
    "e34": "withdraw withdraw withdraw withdraw",
    # The clear holds: all are out, the drum is steady. The acid still stands.
    "e35": "caution caution caution caution",
    # pH 3 in level A: rule 1 gives a caution. Then it is put right.
    "e38": "caution caution caution caution",
    "e39": "caution caution caution caution",
    # Rule 2: yellow is pH 5 to 6, judged by 5, at or below 5.5.
    "e40": "caution caution caution caution",
    # The clear of the acid holds: the yellow strip gives a caution, which is weak and
    # stays at its place. The bleach stays for entry-1, the warm drum for entry-2.
    "e44": "caution caution continue continue",
    "e47": "caution caution continue continue",
    # The pool is taken up, the edge shows no line, the clear holds. Entry-2 was last at
    # the drum, which is still warm, and where LEL 2 % was not read again.
    "e53": "continue caution continue continue",
}
TEAMS = ("entry-1", "entry-2", "backup-1", "decon-1")


@pytest.fixture(scope="module")
def document():
    return demo.scenario().document


@pytest.fixture(scope="module")
def result(document):
    return screen(document)


@pytest.mark.parametrize(("entry", "verdicts"), BY_HAND.items(), ids=str)
def test_the_verdicts_are_those_worked_out_by_hand(result, entry, verdicts):
    standing = {each["id"]: each["standing"] for each in result["entries"]}[entry]

    assert " ".join(standing[team] for team in TEAMS) == verdicts


@pytest.mark.parametrize(
    ("entry", "rules"),
    [
        ("e08", []),
        ("e09", [1]),
        ("e11", []),
        ("e12", []),
        ("e13", [7, 33]),  # gamma was looked for at the dock, not here
        ("e17", [0]),
        ("e20", []),
        ("e23", [11]),
        ("e24", [18]),
        ("e34", [19]),
        ("e35", []),
        ("e37", []),  # 0.02 mrem/h is less than three times the background
        ("e40", [2]),
        ("e44", []),
    ],
)
def test_the_rules_that_speak_are_those_worked_out_by_hand(result, entry, rules):
    (found,) = (each["findings"] for each in result["entries"] if each["id"] == entry)

    assert sorted({finding["number"] for finding in found}) == rules


# What the team of an entry is to look at next after it, and why a hazmat officer would.
LOOK_NEXT = {
    # The dock was read at the waist: chlorine and hydrogen chloride lie lower.
    "e05": "Hold the probe at the floor",
    "e07": "Hold the probe at the floor",
    # The store room was read at the floor: an acid is suspected, so pH next.
    "e08": "Wet a fresh pH strip",
    # Acid: out of the doorway, and it may be hydrogen fluoride.
    "e09": "Back off first. From there: wet a fresh fluoride strip",
    # No fluoride. Rule 33 is about to ask for gamma, which nobody has read here.
    "e11": "Back off first. From there: hold the dosimeter ahead",
    # The strip is in the hand, its edge not looked at.
    "e12": "Back off first. From there: look at the edge between wet and dry",
    # Out, and stopped by the acid: through the door, on the hook.
    "e15": "From outside: wet a fresh pH strip",
    # Ventilated: all of it is to be read again, fluoride first.
    "e17": "From outside: wet a fresh fluoride strip",
    # The drum bay has a drum and no gas reading.
    "e20": "Read the gas meter low, at the waist and at head height",
    "e23": "Wet a fresh KI-starch strip",
    # The drum is rising: leave, and look at nothing else but at it, from afar.
    "e24": "Leave first. Then, from outside: read the container again",
    "e28": "From outside, at drum bay: read the container again",
    "e34": "From outside: read the container again",
    # Back in level A where the acid stands and the fluoride strip is old.
    "e36": "Wet a fresh fluoride strip",
    "e41": "Read the gas meter low, at the waist and at head height",
    # All of the first round is known. No sensor so far was for the suspects.
    "e43": "Measure hydrogen chloride or chlorine with a cell or a detector tube",
    # The floor was read nine minutes ago, the waist just now.
    "e50": "Hold the probe at the floor",
}


@pytest.mark.parametrize(("entry", "step"), LOOK_NEXT.items(), ids=str)
def test_what_to_look_at_next_is_what_was_worked_out_by_hand(document, entry, step):
    log = [line for line in document["log"] if line["id"] <= entry]
    by_team = {team["id"]: team for team in screen({**document, "log": log})["teams"]}
    team = log[-1].get("team", "entry-1")

    assert by_team[team]["look_next"].startswith(step)


def test_the_clear_that_is_refused_says_why(result):
    (refused,) = (each for each in result["entries"] if each["id"] == "e17")

    assert "does not hold" in refused["findings"][0]["because"]


def test_a_line_at_the_wet_edge_names_a_bleach(result):
    (bleach,) = (each for each in result["entries"] if each["id"] == "e13")

    assert "bleach" in bleach["findings"][0]["because"]


def test_the_edge_that_was_not_looked_at_is_asked_for(document):
    early = [entry for entry in document["log"] if entry["id"] <= "e12"]

    (team, *_) = screen({**document, "log": early})["teams"]

    rows = {row["hazard"]: row for row in team["coverage"]}
    assert rows["oxidiser_vapour"]["status"] == "cannot_tell"
    assert "edge" in rows["oxidiser_vapour"]["because"]


def test_the_meter_that_failed_its_first_bump_test_counts_after_it_passed(document):
    """Between the two its quiet readings could not tell; afterwards they can."""
    early = [entry for entry in document["log"] if entry["id"] <= "e23"]

    team = screen({**document, "log": early})["teams"][1]

    rows = {row["hazard"]: row["status"] for row in team["coverage"]}
    assert team["id"] == "entry-2"
    assert rows["oxygen_deficient"] == "not_found"


def test_the_air_clock_runs_from_what_the_gauges_used(document):
    """b: 4,340 to 3,880 psi in 4 min 50 s, so 95.17 psi a minute. He went in with 4,420,
    80 for the way; the alarm is at 0.33 of 4,500, so he turns at 1,565: in 24 min 19 s.
    """
    served = [entry for entry in document["log"] if entry["id"] <= "e46"]

    team = screen({**document, "log": served})["teams"][0]

    clocks = {clock["member"]: clock for clock in team["clocks"]["air"]}
    assert clocks["b"]["turn_around_psi"] == 1565
    assert clocks["b"]["seconds_to_turn_around"] == 1459


def test_the_order_of_the_log_does_not_matter(document, result):
    shuffled = sorted(document["log"], key=lambda entry: entry["id"][::-1])

    assert screen({**document, "log": shuffled}) == result


def test_the_command_of_the_engine_reads_the_fixture():
    done = subprocess.run(
        [sys.executable, "-m", "screening", str(WORKSHEET)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["caution"] == CAUTION


# --- Played through the services -------------------------------------------------------


@pytest.fixture
def crew():
    return demo.set_up(demo.scenario(), now=NOW)


def verdicts_of(incident, at):
    return {
        row.team.key: row.now.action.word for row in selectors.sheet(incident, at).teams
    }


@database
@both
def test_the_demo_ends_now_with_one_team_inside(crew):
    incident = demo.play_served(demo.scenario(), crew, now=NOW)

    sheet = selectors.sheet(incident, NOW)
    assert incident.closed_at is None
    assert [row.team.key for row in sheet.teams if row.now.clocks.inside] == ["entry-1"]
    newest = incident.entries.order_by("-seq").first()
    assert newest.recorded_at == NOW.replace(microsecond=0)
    assert chain.verify(incident) is None


@database
@both
def test_the_services_come_to_the_verdicts_of_the_command(crew):
    play = demo.scenario()
    served = [entry for entry in play.document["log"] if entry["id"] <= "e47"]
    expected = screen({**play.document, "log": served})

    incident = demo.play_served(play, crew, now=NOW)

    assert verdicts_of(incident, NOW) == {
        team["id"]: team["action"] for team in expected["teams"]
    }
    again = selectors.worksheet_document(incident)
    assert {t["id"]: t["action"] for t in screen(again)["teams"]} == verdicts_of(
        incident, NOW
    )


@database
@both
def test_the_estimated_dose_is_shown_in_few_figures(crew):
    incident = demo.play_served(demo.scenario(), crew, now=NOW)

    cards = board.cards_of(selectors.sheet(incident, NOW))

    assert cards[0].dose == "<0.001 of 10 rem"


@database
@both
def test_the_reading_that_came_late_raises_a_late_finding(crew):
    incident = demo.play_served(demo.scenario(), crew, now=NOW)

    late = incident.entries.get(client_uuid=uuid5(incident.pk, "e23"))
    assert late.recorded_at - late.observed_at == timedelta(minutes=4, seconds=30)
    assert [found.number for found in late.findings.filter(late=True)] == [11]


@database
@both
def test_who_logs_follows_from_the_roles(crew):
    incident = demo.play_served(demo.scenario(), crew, now=NOW)

    by_author = {
        name: set(
            incident.entries.filter(author__username=name).values_list(
                "kind", flat=True
            )
        )
        for name in ("commander", "technician", "training")
    }
    assert "ph_paper" in by_author["technician"]
    assert "clear" not in by_author["technician"]
    assert {"clear", "par", "enter"} <= by_author["commander"]
    assert by_author["training"] == set()


@database
@both
def test_the_calibration_is_as_far_off_as_in_the_fixture(crew):
    incident = demo.play_served(demo.scenario(), crew, now=NOW + timedelta(days=900))

    (due, *_) = (
        item["calibration_due"]
        for item in json.loads(incident.setup)["instruments"]
        if "calibration_due" in item
    )
    assert datetime.fromisoformat(due).date() > (NOW + timedelta(days=900)).date()


# --- The command ----------------------------------------------------------------------

PARTS = {
    "commander": "commander",
    "technician": "technician",
    "safety": "safety_officer",
    "medical": "medical",
    "training": "training_officer",
}


def run_demo(**options):
    out = StringIO()
    call_command("demo", stdout=out, **options)
    return out.getvalue()


def passwords(text):
    return dict(re.findall(r"^(\w+) +((?:\w{4}-){3}\w{4}) ", text, re.M))


@database
@both
def test_a_second_run_keeps_the_data_and_the_passwords():
    first = run_demo(no_serve=True)
    incident = Incident.objects.get()

    second = run_demo(no_serve=True)

    assert set(passwords(first)) == set(PARTS)
    assert passwords(second) == {}
    assert "as printed before" in second
    assert Incident.objects.get().head_hash == incident.head_hash
    for name, password in passwords(first).items():
        assert Client().login(username=name, password=password)


@database
@both
def test_each_has_a_part_of_their_own_and_is_printed_with_it():
    said = run_demo(no_serve=True)

    roles = IncidentRole.objects.values_list("person__username", "role")
    assert dict(roles) == PARTS
    assert re.search(r"^safety +\S+ +W\. Larch, safety officer$", said, re.M)
    assert re.search(r"^medical +\S+ +Jo Hawthorn, medical$", said, re.M)


@database
@both
def test_the_safety_officer_who_signs_in_is_the_one_of_the_plan(crew):
    incident = demo.play_served(demo.scenario(), crew, now=NOW)

    (named,) = (
        each.name
        for each in plan_of(incident).positions
        if each.position == "safety_officer"
    )
    assert named == crew.by_role["safety_officer"].shown_name


@database
@both
def test_the_medical_of_the_demo_may_record_and_has_nothing_to_see_yet(crew):
    incident = demo.play_served(demo.scenario(), crew, now=NOW)
    client = Client()
    client.force_login(crew.by_role["medical"])

    page = client.get(reverse("incidents:medical", args=(incident.pk,)))

    assert page.status_code == 200
    assert reverse("incidents:medical-new", args=(incident.pk,)) in page.text


@database
@both
def test_the_training_officer_of_the_demo_runs_the_agency_and_nobody_is_held_up():
    run_demo(no_serve=True)

    people = Person.objects.all()
    assert [person.username for person in people if person.is_agency_owner] == [
        "training"
    ]
    assert not any(person.must_change_password for person in people)


@database
@both
def test_new_passwords_take_the_place_of_the_old():
    first = passwords(run_demo(no_serve=True))

    second = passwords(run_demo(no_serve=True, new_passwords=True))

    assert set(second) == set(first)
    assert set(second.values()).isdisjoint(first.values())
    assert not Client().login(username="commander", password=first["commander"])
    assert Client().login(username="commander", password=second["commander"])


@database
@both
def test_what_was_logged_in_the_demo_stays():
    run_demo(no_serve=True)
    incident = Incident.objects.get()
    demo.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=incident.entries.order_by("-seq")[0].recorded_at,
        reason="One team is still inside",
    )

    run_demo(no_serve=True)

    assert Incident.objects.get().is_closed


@database
@both
def test_the_report_is_played_to_the_end_signed_and_can_be_verified(tmp_path):
    path = tmp_path / "report.pdf"

    out = run_demo(report=path)

    incident, kept = Incident.objects.get(), Report.objects.get()
    assert incident.is_closed
    assert incident.entries.filter(client_uuid=uuid5(incident.pk, "e53")).exists()
    assert f"{incident.head_seq}:{incident.head_hash}" in out
    roots = [bytes(key.root_certificate) for key in incident.agency.signing_keys.all()]
    verified = verify_pdf(
        path.read_bytes(),
        roots,
        expected_sha256=kept.sha256,
        expected_head=ChainHead(seq=incident.head_seq, sha256=incident.head_hash),
    )
    assert verified.holds, [str(check) for check in verified.checks]
    pages = page_texts(path.read_bytes())
    assert "Larkmere Row pool supply store" in pages[0]
    assert all(CAUTION in page for page in pages)


@database
@both
def test_the_report_leaves_the_demo_to_be_loaded(tmp_path):
    run_demo(report=tmp_path / "report.pdf")

    run_demo(no_serve=True)

    assert sorted(each.is_closed for each in Incident.objects.all()) == [False, True]


@database
@both
def test_a_report_that_cannot_be_written_is_said(tmp_path):
    with pytest.raises(CommandError, match="could not be written"):
        run_demo(report=tmp_path / "missing" / "report.pdf")


@database
@both
def test_the_demo_refuses_to_run_in_production(settings):
    settings.PRODUCTION = True

    with pytest.raises(CommandError, match="production"):
        run_demo(no_serve=True)

    assert not Person.objects.exists()


def test_a_taken_port_gives_the_next_free_one():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]

        assert free_port("127.0.0.1", port) > port


def test_it_serves_a_page_that_its_own_passwords_open(tmp_path):
    with subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port", "8700"],
        cwd=ROOT,
        env=_environment(tmp_path),
        stdout=subprocess.PIPE,
        text=True,
    ) as server:
        try:
            said = _read_until(server, "Ctrl-C")
            address = re.search(r"http://127\.0\.0\.1:\d+", said).group()
            page = _signed_in(address, "technician", passwords(said)["technician"])
        finally:
            server.terminate()

    assert "Larkmere Row pool supply store" in page


def _environment(tmp_path):
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    return kept | {"WORKSHEET_DATA": str(tmp_path), "PYTHONUNBUFFERED": "1"}


def _read_until(server, mark):
    said = ""
    for line in server.stdout:
        said += line
        if mark in line:
            return said
    raise AssertionError(f"the demo ended without serving: {said}")


def _signed_in(address, username, password):
    jar = http.cookiejar.CookieJar()
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))
    form = _when_it_answers(browser, address + reverse("incidents:sign-in"))
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', form).group(1)
    fields = {"username": username, "password": password, "csrfmiddlewaretoken": token}
    sent = urllib.parse.urlencode(fields).encode()
    with browser.open(address + reverse("incidents:sign-in"), sent) as answer:
        return answer.read().decode()


def _when_it_answers(browser, address):
    for _ in range(120):
        try:
            with browser.open(address) as answer:
                return answer.read().decode()
        except urllib.error.URLError:
            time.sleep(0.25)
    raise AssertionError(f"nothing answered at {address}")


def test_the_fixture_lies_where_the_settings_look_for_it():
    assert WORKSHEET.parent == settings.BASE_DIR / "demo_fixtures"
