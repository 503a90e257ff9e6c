"""The commander's decisions, each from its form to the log."""

import re
import uuid
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import loads
from tests.factories import acid, entry, join, log, meter

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
        (
            "exit",
            {"team": "entry-1", "answer": "all"},
            {"note": "Reported out: Alder, Birch"},
        ),
        ("par", {"team": "entry-1", "answer": "all"}, {}),
        (
            "par",
            {"team": "entry-1", "names": ["a"], "answer": "ticked"},
            {"unanswered": ["b"]},
        ),
        (
            "par",
            {"team": "entry-1", "answer": "ticked"},
            {"unanswered": ["a", "b"]},
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
        client, incident, "par", team="backup-1", names=["b"], answer="ticked"
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
    decide(client, incident, "exit", team="entry-1", answer="all")
    outside = client.get(sheet).text

    assert "inside since" in inside
    assert "inside since" not in outside


def inside(incident, team="entry-1"):
    log(incident, entry("enter", timezone.now(), team=team, place="tank room"))


@pytest.mark.parametrize("kind", ["par", "exit"])
def test_a_name_is_never_taken_to_have_answered_without_saying_so(
    client, commander, incident, kind
):
    inside(incident)

    response = decide(client, incident, kind, team="entry-1")

    assert response.status_code == 422
    assert "Say whether it is all of them or those ticked." in response.text
    assert not incident.entries.filter(kind=kind).exists()


def test_with_a_name_open_the_team_is_not_out_and_the_name_stays_open(
    client, commander, incident
):
    inside(incident)

    response = decide(
        client, incident, "exit", team="entry-1", names=["a"], answer="ticked"
    )

    assert response.status_code == 200
    assert not incident.entries.filter(kind="exit").exists()
    body = loads(incident.entries.get(kind="par").body)
    assert body["unanswered"] == ["b"]
    assert body["note"] == "Reported out: Alder"
    sheet = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    assert 'class="verdict stop' in sheet
    assert "Not heard or seen: Birch" in sheet


def test_a_team_is_chosen_first_and_only_where_there_is_a_choice(
    client, commander, incident
):
    inside(incident)
    one = client.get(address(incident, "par"), headers=HTMX).text
    inside(incident, "backup-1")

    two = client.get(address(incident, "par"), headers=HTMX).text

    assert "All answered: Alder, Birch" in one
    assert "All answered" not in two
    assert "?team=entry-1" in two
    assert "?team=backup-1" in two


@pytest.mark.parametrize("kind", ["par", "exit", "order"])
def test_with_nobody_inside_there_is_nothing_to_decide(
    client, commander, incident, kind
):
    page = client.get(address(incident, kind), headers=HTMX).text

    assert "No team is inside." in page
    assert "<form" not in page


def test_what_can_be_decided_on_a_team_is_a_tap_each(client, commander, incident):
    inside(incident)
    url = reverse("incidents:team", args=(incident.pk,))

    page = client.get(url, {"team": "entry-1"}, headers=HTMX).text
    out = client.get(url, {"team": "backup-1"}, headers=HTMX).text

    for kind in ("par", "order", "exit", "change_ensemble", "ventilate", "note"):
        assert f"{address(incident, kind)}?team=entry-1" in page
    assert address(incident, "enter") not in page
    assert f"{address(incident, 'enter')}?team=backup-1" in out
    assert client.get(url, {"team": "entry-9"}).status_code == 404


def test_a_quick_reason_and_a_quick_way_save_by_themselves(client, commander, incident):
    log(incident, acid(timezone.now()))
    log(incident, acid(timezone.now(), ph="7"))

    decide(
        client,
        incident,
        "clear",
        hazard_at="acid_vapour|tank room",
        quick="Read again, nothing found",
    )
    decide(
        client, incident, "ventilate", known_place="tank room", quick="Fan blowing in"
    )

    clear = loads(incident.entries.get(kind="clear").body)
    assert clear["reason"] == "Read again, nothing found"
    air = loads(incident.entries.get(kind="ventilate").body)
    assert (air["place"], air["method"]) == ("tank room", "Fan blowing in")


def test_what_speaks_against_a_clear_is_said_before_it_is_pressed(
    client, commander, incident
):
    log(incident, acid(timezone.now()))
    before = incident.entries.count()

    refused = client.get(address(incident, "clear"), headers=HTMX).text
    log(incident, acid(timezone.now(), ph="7"))
    holds = client.get(address(incident, "clear"), headers=HTMX).text

    assert "Not now." in refused
    assert "the latest reading that can tell gives stop itself" in refused
    assert "A clear would hold." in holds
    assert incident.entries.count() == before + 1


def test_a_refused_clear_says_why_after_saving_too(client, commander, incident):
    log(incident, acid(timezone.now()))

    response = decide(
        client, incident, "clear", hazard_at="acid_vapour|tank room", reason="gone"
    )

    assert "The clear does not hold" in response.text


class TestUndo:
    def undo(self, client, incident, seq):
        url = reverse("incidents:undo", args=(incident.pk, seq))
        return client.post(url, headers=HTMX)

    @pytest.mark.parametrize(
        ("kind", "data"),
        [
            ("par", {"team": "entry-1", "answer": "all"}),
            ("exit", {"team": "entry-1", "answer": "all"}),
            ("ventilate", {"place": "door", "method": "fan"}),
            ("change_ensemble", {"team": "entry-1", "ensemble": "level_a"}),
            ("note", {"text": "Hose is down"}),
            ("order", {"team": "entry-1"}),
        ],
    )
    def test_the_answer_offers_it_and_it_strikes_with_the_name(
        self, client, commander, incident, kind, data
    ):
        inside(incident)
        answer = decide(client, incident, kind, **data)
        saved = incident.entries.get(kind=kind)
        url = reverse("incidents:undo", args=(incident.pk, saved.seq))
        assert f'hx-post="{url}"' in answer.text

        response = self.undo(client, incident, saved.seq)

        assert response.status_code == 200
        assert "Taken back" in response.text
        struck = loads(incident.entries.order_by("seq").last().body)
        assert struck["entry"] == saved.key
        assert struck["reason"] == f"undone by {commander.shown_name}"
        page = client.get(reverse("incidents:log", args=(incident.pk,))).text
        assert f"undone by {commander.shown_name}" in page

    def test_a_second_undo_is_told_who_was_first(self, client, commander, incident):
        inside(incident)
        decide(client, incident, "note", text="Hose is down")
        seq = incident.entries.get(kind="note").seq

        self.undo(client, incident, seq)
        again = self.undo(client, incident, seq)

        assert f"Already taken back by {commander.shown_name}" in again.text
        assert incident.entries.filter(kind="undone").count() == 1

    def test_a_mayday_offers_none(self, client, commander, incident):
        inside(incident)

        answer = decide(client, incident, "mayday")

        assert "Called " in answer.text
        assert "Undo" not in answer.text
        seq = incident.entries.get(kind="mayday").seq
        assert self.undo(client, incident, seq).status_code == 403

    def test_a_technician_cannot_undo_a_decision(self, client, technician, incident):
        inside(incident)
        seq = incident.entries.get(kind="enter").seq

        assert self.undo(client, incident, seq).status_code == 403
        assert not incident.entries.filter(kind="strike").exists()


class TestMayday:
    def test_it_ends_with_a_par_of_all_and_a_second_name(
        self, client, commander, incident
    ):
        inside(incident)
        decide(client, incident, "mayday")
        form = client.get(address(incident, "mayday_over"), headers=HTMX).text
        early = decide(client, incident, "mayday_over", second="B. Stone")
        decide(client, incident, "par", team="entry-1", answer="all")
        alone = decide(client, incident, "mayday_over", second=commander.shown_name)

        over = decide(client, incident, "mayday_over", second="B. Stone")

        assert "Entry team 1: PAR first" in form
        assert early.status_code == alone.status_code == 422
        assert "Entry team 1" in early.text
        assert "not your own" in alone.text
        assert "with B. Stone" in over.text

    def test_its_second_person_is_offered_from_the_incident(
        self, client, commander, incident
    ):
        other = join(incident, "technician", display_name="T. Rowan")
        inside(incident)
        decide(client, incident, "mayday")

        form = client.get(address(incident, "mayday_over"), headers=HTMX).text

        assert f'value="{other.shown_name}"' in form
        assert f'value="{commander.shown_name}"' not in form

    def test_two_who_call_it_make_one(self, client, commander, incident):
        inside(incident)
        decide(client, incident, "mayday")

        again = decide(client, incident, "mayday")

        assert f"Already called by {commander.shown_name}" in again.text
        assert incident.entries.filter(kind="mayday").count() == 1


class TestSeveralPeople:
    @pytest.fixture
    def other(self, incident):
        return join(incident, "commander", display_name="B. Stone")

    def log_as(self, incident, person, body):
        return log(incident, body, person=person)

    def test_the_second_heard_says_who_was_first_and_logs_nothing(
        self, client, commander, incident, other
    ):
        log(incident, acid(timezone.now()))
        page = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
        value = re.search(r'name="alarm"\s+value="([^"]+)"', page)[1]
        decide(client, incident, "acknowledge", alarm=value)
        client.force_login(other)

        again = decide(client, incident, "acknowledge", alarm=value)
        plain = client.post(address(incident, "acknowledge"), {"alarm": value})

        at = timezone.localtime(
            incident.entries.get(kind="acknowledge").recorded_at,
            ZoneInfo(incident.agency.time_zone),
        )
        words = f"Already heard by {commander.shown_name} at {at:%H:%M:%S}."
        assert words in again.text
        assert plain.status_code == 409
        assert words in plain.text
        assert incident.entries.filter(kind="acknowledge").count() == 1

    def test_the_same_decision_of_another_is_said_before_mine_is_kept(
        self, client, commander, incident, other
    ):
        inside(incident)
        incident.refresh_from_db()
        opened = incident.head_seq
        self.log_as(incident, other, entry("par", timezone.now(), team="entry-1"))
        mine = {"team": "entry-1", "answer": "all", "opened": opened}

        first = decide(client, incident, "par", **mine)

        assert first.status_code == 422
        assert "B. Stone saved the same since you opened this" in first.text
        assert "Since you opened this:" in first.text
        assert incident.entries.filter(kind="par").count() == 1
        shown = re.search(r'name="opened" value="(\d+)"', first.text)[1]
        second = decide(client, incident, "par", **mine | {"opened": shown})
        assert second.status_code == 200
        assert incident.entries.filter(kind="par").count() == 2

    def test_another_decision_meanwhile_is_said_with_the_answer(
        self, client, commander, incident, other
    ):
        inside(incident)
        incident.refresh_from_db()
        opened = incident.head_seq
        self.log_as(incident, other, entry("par", timezone.now(), team="entry-1"))

        answer = decide(
            client,
            incident,
            "ventilate",
            place="door",
            method="fan",
            opened=opened,
        )

        assert answer.status_code == 200
        assert "B. Stone" in answer.text
        assert "PAR: all accounted for, Entry team 1" in answer.text

    def test_readings_meanwhile_hold_nobody_up(
        self, client, commander, incident, other
    ):
        inside(incident)
        incident.refresh_from_db()
        opened = incident.head_seq
        self.log_as(incident, other, meter(timezone.now()))

        answer = decide(
            client, incident, "par", team="entry-1", answer="all", opened=opened
        )

        assert answer.status_code == 200
        assert "Since you opened this:" in answer.text.split("hidden")[1]


def test_a_note_has_a_page_of_its_own_from_which_it_can_be_undone_without_script(
    client, commander, incident
):
    decide(client, incident, "note", text="Hose is down", place="gate")
    seq = incident.entries.get(kind="note").seq
    page = client.get(reverse("incidents:entry", args=(incident.pk, seq))).text

    client.post(reverse("incidents:undo", args=(incident.pk, seq)))

    assert "Note: Hose is down" in page
    assert 'id="undo"' in page
    assert "No finding was raised" not in page
    after = client.get(reverse("incidents:entry", args=(incident.pk, seq))).text
    assert "<s>Note: Hose is down" in after
    assert 'id="undo"' not in after
