"""The page of sources, and the page of what the readings fit."""

import pytest
from django.urls import reverse

from incidents.models import Incident
from incidents.services import demo
from screening.rules import RULES

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def commander_of_the_demo(client):
    from django.utils import timezone

    play = demo.scenario()
    crew = demo.set_up(play, now=timezone.now())
    demo.play_served(play, crew, now=timezone.now())
    client.force_login(Incident.objects.get().opened_by)
    return client


def test_the_page_of_sources_has_every_rule(commander_of_the_demo):
    text = commander_of_the_demo.get(reverse("incidents:sources")).content.decode()

    for rule in RULES:
        assert rule.title.replace("'", "&#x27;") in text


def test_the_readings_speak_against_substances_and_never_name_one(
    commander_of_the_demo,
):
    url = reverse("incidents:fits", args=[Incident.objects.get().pk])
    text = commander_of_the_demo.get(url).content.decode()

    assert "Contradicted by a reading" in text
    assert "Could not have been seen" in text
    assert "never prove one" in text
    assert "A suspect is a guess until it is identified" in text
    assert "Carbon monoxide" in text


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
