"""The page of sources, and the page of what the readings fit."""

import html
import re
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.models import Incident
from incidents.services import demo
from screening.methods import METHODS
from screening.rules import RULES
from screening.sources import all_sources
from tests.conftest import kept_for_module
from tests.factories import log, meter

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture(scope="module")
def _played(django_db_setup, django_db_blocker):
    with kept_for_module(django_db_blocker):
        play = demo.scenario()
        crew = demo.set_up(play, now=timezone.now())
        demo.play_served(play, crew, now=timezone.now())
        yield


@pytest.fixture
def commander_of_the_demo(_played, client):
    client.force_login(Incident.objects.get().opened_by)
    return client


def test_the_page_of_sources_has_every_rule(commander_of_the_demo):
    text = commander_of_the_demo.get(reverse("incidents:sources")).content.decode()

    for rule in RULES:
        assert rule.title.replace("'", "&#x27;") in text


def test_every_row_of_the_sources_shows_its_source_its_status_and_its_tests(
    commander_of_the_demo,
):
    text = commander_of_the_demo.get(reverse("incidents:sources")).content.decode()

    shown = re.findall(
        r'<li id="([^"]+)">(.*?)</li>\s*(?=<li id=|</ul>\s*</section>)', text, re.S
    )
    assert len(shown) == len(all_sources())
    assert len({anchor for anchor, _ in shown}) == len(shown)
    for (anchor, words), row in zip(shown, all_sources(), strict=True):
        words = html.unescape(words)
        assert row.status in words, anchor
        assert (row.source or "No source stated") in words
        if row.checks:
            assert f"{len(row.checks)} test" in words
            assert row.checks[0] in words
        else:
            assert "No test names it" in words


def test_a_method_can_be_linked_to_by_its_id(commander_of_the_demo):
    text = commander_of_the_demo.get(reverse("incidents:sources")).content.decode()

    for row in METHODS:
        assert f'<li id="{row.id}">' in text


def test_the_readings_speak_against_substances_and_never_name_one(
    commander_of_the_demo,
):
    url = reverse("incidents:fits", args=[Incident.objects.get().pk])
    text = commander_of_the_demo.get(url).content.decode()

    assert re.search(r"Contradicted: \d+ of 37", text)
    assert "Could not have been seen" in text
    assert "never prove one" in text
    assert "A suspect is a guess until it is identified" in text
    assert "Carbon monoxide" in text
    assert "The current Emergency Response Guidebook governs." in text


def test_the_times_of_readings_are_those_of_the_agency(commander_of_the_demo):
    incident = Incident.objects.get()
    strip = incident.entries.filter(kind="ph_paper").first()
    local = strip.observed_at.astimezone(ZoneInfo(incident.agency.time_zone))
    url = reverse("incidents:fits", args=[incident.pk])

    text = commander_of_the_demo.get(url).content.decode()

    assert f", {local:%H:%M}" in text


def test_the_page_of_evidence_does_not_grow_with_the_log(commander_of_the_demo):
    incident = Incident.objects.get()
    url = reverse("incidents:fits", args=[incident.pk])
    before = commander_of_the_demo.get(url).content.decode()
    team = incident.teams.first().key
    now = timezone.now()
    for second in range(12):
        at = now + timedelta(seconds=second)
        log(incident, meter(at, team=team, place="drum bay"), recorded_at=at)

    after = commander_of_the_demo.get(url).content.decode()

    assert len(after) < len(before) * 1.2


def test_a_report_that_cannot_be_sealed_says_why(commander_of_the_demo, monkeypatch):
    from incidents import services
    from reports.keys import WrongPassphraseError

    def refuse(**_):
        raise WrongPassphraseError("The passphrase does not open the key.")

    monkeypatch.setattr(services, "make_report", refuse)
    incident = Incident.objects.get()

    answer = commander_of_the_demo.post(
        reverse("incidents:report-make", args=[incident.pk])
    )

    assert answer.status_code == 503
    words = "The report was not sealed: The passphrase does not open the key."
    assert words in answer.content.decode()
    assert not incident.reports.exists()


def test_the_sheet_lists_once_what_nothing_carried_would_show(commander_of_the_demo):
    url = reverse("incidents:sheet", args=[Incident.objects.get().pk])
    text = commander_of_the_demo.get(url).content.decode()

    assert text.count("Nothing carried would show") == 1
    assert text.count("Biological agents") == 1
    assert ".. Would see it" not in text
