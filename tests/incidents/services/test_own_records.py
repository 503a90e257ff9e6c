"""Notes, orders and Maydays: the application's own records, which the engine never sees."""

import uuid
from datetime import timedelta

import pytest

from incidents import commands, engine, judging, services
from incidents.documents import loads
from incidents.selectors import worksheet_document
from incidents.services import chain
from screening.verdicts import Action
from tests.factories import START, entry, join, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def teams_now(incident, at):
    incident.refresh_from_db()
    return judging.judge(incident, engine.live(incident), at).by_team()


@pytest.fixture
def incident():
    """Entry team 1 is inside since the first minute."""
    incident = open_incident()
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(incident, meter(minutes(2)))
    incident.refresh_from_db()
    return incident


def given(incident, person=None, at=None, **changes):
    return {
        "incident_id": incident.pk,
        "person": person or incident.opened_by,
        "client_uuid": uuid.uuid4(),
        "at": at or minutes(3),
        "recorded_at": at or minutes(3),
    } | changes


class TestNote:
    def test_it_is_chained_with_its_text_and_the_engine_never_sees_it(self, incident):
        before = engine.live(incident)

        note = services.write_note(
            **given(incident), text="Plant manager is at the gate", place="gate"
        ).entry

        incident.refresh_from_db()
        assert note.kind == "note"
        assert loads(note.body) == {
            "text": "Plant manager is at the gate",
            "place": "gate",
            "by": incident.opened_by.shown_name,
        }
        assert chain.verify(incident) is None
        assert engine.live(incident).state is before.state
        kinds = [row["kind"] for row in worksheet_document(incident)["log"]]
        assert kinds == ["enter", "gas_meter"]

    def test_a_technician_may_write_one_and_a_viewer_not(self, incident):
        services.write_note(
            **given(incident, join(incident, "technician")), text="Hose is down"
        )

        with pytest.raises(services.NotAllowedError):
            services.write_note(
                **given(incident, join(incident, "viewer")), text="Hose is down"
            )
        assert incident.entries.filter(kind="note").count() == 1

    def test_sent_twice_it_is_stored_once(self, incident):
        same = given(incident)

        first = services.write_note(**same, text="Hose is down")
        again = services.write_note(**same, text="Hose is down")

        assert again.entry == first.entry
        assert again.duplicate
        with pytest.raises(services.DuplicateConflictError):
            services.write_note(**same, text="Hose is up")

    @pytest.mark.parametrize(
        ("wrong", "pointer"),
        [
            ({"text": "  "}, "/text"),
            ({"text": "x" * 10_001}, "/text"),
            ({"text": "x", "team": "entry-9"}, "/team"),
            ({"text": "x", "at": minutes(30), "recorded_at": minutes(3)}, "/at"),
        ],
    )
    def test_what_cannot_be_kept_is_refused_by_its_pointer(
        self, incident, wrong, pointer
    ):
        with pytest.raises(services.EntryRefusedError) as refusal:
            services.write_note(**(given(incident) | wrong))

        assert [error.pointer for error in refusal.value.errors] == [pointer]

    def test_a_closed_incident_takes_none(self, incident):
        services.close_incident(
            incident_id=incident.pk,
            person=incident.opened_by,
            at=minutes(3),
            reason="over",
        )

        with pytest.raises(services.IncidentClosedError):
            services.write_note(**given(incident), text="Hose is down")


class TestOrder:
    def test_a_team_that_is_ordered_out_is_at_withdraw_until_it_is_out(self, incident):
        assert teams_now(incident, minutes(3))["entry-1"].action is Action.CONTINUE

        order = services.order_out(**given(incident), team="entry-1").entry

        assert order.kind == "order"
        now = teams_now(incident, minutes(4))
        assert now["entry-1"].action is Action.WITHDRAW
        assert now["backup-1"].action < Action.WITHDRAW
        first = now["entry-1"].findings[0]
        assert first.because == f"Ordered out by {incident.opened_by.shown_name}"
        assert first.at == order.observed_at
        log(incident, entry("exit", minutes(5), team="entry-1"))
        assert teams_now(incident, minutes(6))["entry-1"].action < Action.WITHDRAW

    def test_an_old_order_does_not_bind_a_team_that_went_in_again(self, incident):
        services.order_out(**given(incident), team="entry-1")
        log(incident, entry("exit", minutes(5), team="entry-1"))

        log(incident, entry("enter", minutes(7), team="entry-1", place="tank room"))

        assert teams_now(incident, minutes(8))["entry-1"].action < Action.WITHDRAW

    def test_only_the_commander_orders_and_only_a_team_that_is_inside(self, incident):
        with pytest.raises(services.NotAllowedError):
            services.order_out(
                **given(incident, join(incident, "technician")), team="entry-1"
            )
        with pytest.raises(services.EntryRefusedError):
            services.order_out(**given(incident), team="backup-1")

        assert not incident.entries.filter(kind="order").exists()

    def test_the_second_commander_is_told_who_was_first(self, incident):
        services.order_out(**given(incident), team="entry-1")

        with pytest.raises(services.AlreadyDoneError) as told:
            services.order_out(
                **given(incident, join(incident, "commander")), team="entry-1"
            )

        assert told.value.by == incident.opened_by.shown_name
        assert incident.entries.filter(kind="order").count() == 1

    def test_an_undone_order_binds_nobody(self, incident):
        order = services.order_out(**given(incident), team="entry-1").entry

        services.undo(
            incident_id=incident.pk,
            person=incident.opened_by,
            seq=order.seq,
            recorded_at=minutes(4),
        )

        assert teams_now(incident, minutes(5))["entry-1"].action is Action.CONTINUE


class TestMayday:
    def call(self, incident, **changes):
        return services.call_mayday(**given(incident, **changes))

    def end(self, incident, second="B. Stone", **changes):
        return services.end_mayday(
            **given(incident, at=changes.pop("at", minutes(9)), **changes),
            second=second,
        )

    def par(self, incident, at=None, **fields):
        log(incident, entry("par", at or minutes(5), team="entry-1", **fields))

    def test_it_stops_every_team_inside_at_once_and_counts_all_as_unanswered(
        self, incident
    ):
        called = self.call(incident)

        now = teams_now(incident, minutes(3))
        assert called.entry.kind == "mayday"
        assert now["entry-1"].action is Action.STOP
        assert now["entry-1"].clocks.unanswered == ("a", "b")
        assert now["backup-1"].action is Action.CAUTION
        assert chain.verify(incident) is None

    def test_a_technician_may_call_it(self, incident):
        self.call(incident, person=join(incident, "technician"))

        assert incident.entries.filter(kind="mayday").count() == 1

    def test_called_again_while_it_stands_it_is_one(self, incident):
        self.call(incident)

        with pytest.raises(services.AlreadyDoneError):
            self.call(incident, at=minutes(4))

        assert incident.entries.filter(kind="mayday").count() == 1

    def test_a_par_that_all_answer_does_not_end_it_alone(self, incident):
        self.call(incident)

        self.par(incident)

        assert teams_now(incident, minutes(6))["entry-1"].action is Action.STOP

    @pytest.mark.parametrize(
        ("par", "second", "why"),
        [
            (None, "B. Stone", "Entry team 1"),
            ({"unanswered": ["b"]}, "B. Stone", "Entry team 1"),
            ({}, "", "second"),
            ({}, " person-1 ", "second"),
        ],
        ids=["no PAR", "one unanswered", "no second name", "their own name"],
    )
    def test_it_ends_only_with_a_par_of_all_and_a_second_name(
        self, incident, par, second, why
    ):
        self.call(incident)
        if par is not None:
            self.par(incident, **par)
        if second.strip():
            second = second.replace("person-1", incident.opened_by.shown_name.upper())

        with pytest.raises(services.EntryRefusedError) as refusal:
            self.end(incident, second)

        assert why in str(refusal.value)
        assert teams_now(incident, minutes(10))["entry-1"].action is Action.STOP

    def test_with_both_it_ends_and_the_record_has_both_names(self, incident):
        self.call(incident)
        self.par(incident)

        over = self.end(incident).entry

        assert loads(over.body) == {
            "by": incident.opened_by.shown_name,
            "second": "B. Stone",
        }
        assert teams_now(incident, minutes(10))["entry-1"].action < Action.STOP
        self.call(incident, at=minutes(11))
        assert incident.entries.filter(kind="mayday").count() == 2

    def test_a_team_that_came_out_since_needs_no_par(self, incident):
        self.call(incident)
        log(incident, entry("exit", minutes(5), team="entry-1"))

        self.end(incident)

        incident.refresh_from_db()
        assert commands.standing(incident).mayday is None

    def test_it_cannot_be_undone(self, incident):
        called = self.call(incident).entry

        with pytest.raises(services.NotAllowedError):
            services.undo(
                incident_id=incident.pk,
                person=incident.opened_by,
                seq=called.seq,
                recorded_at=minutes(4),
            )

    def test_it_holds_when_the_engine_fails(self, incident, monkeypatch):
        self.call(incident)
        monkeypatch.setattr(judging, "assess", None)

        assert teams_now(incident, minutes(4))["entry-1"].action is Action.STOP


class TestUndo:
    def undo(self, incident, seq, person=None, at=None):
        return services.undo(
            incident_id=incident.pk,
            person=person or incident.opened_by,
            seq=seq,
            recorded_at=at or minutes(6),
        )

    def test_a_decision_is_struck_with_who_undid_it(self, incident):
        out = log(incident, entry("exit", minutes(5), team="entry-1")).entry

        undone = self.undo(incident, out.seq).entry

        assert undone.kind == "strike"
        assert loads(undone.body)["reason"] == (
            f"undone by {incident.opened_by.shown_name}"
        )
        assert teams_now(incident, minutes(7))["entry-1"].clocks.inside

    def test_a_note_is_undone_by_a_record_that_names_it(self, incident):
        note = services.write_note(**given(incident), text="Hose is down").entry

        undone = self.undo(incident, note.seq).entry

        assert undone.kind == "undone"
        assert loads(undone.body)["entry"] == note.key
        incident.refresh_from_db()
        assert chain.verify(incident) is None

    def test_undone_once_is_undone(self, incident):
        out = log(incident, entry("exit", minutes(5), team="entry-1")).entry

        self.undo(incident, out.seq)

        with pytest.raises(services.AlreadyDoneError):
            self.undo(incident, out.seq)
        assert incident.entries.filter(kind="strike").count() == 1

    def test_a_technician_undoes_their_own_note_and_no_decision(self, incident):
        technician = join(incident, "technician")
        mine = services.write_note(**given(incident, technician), text="Mine").entry
        other = services.write_note(**given(incident), text="Another's").entry
        out = log(incident, entry("exit", minutes(5), team="entry-1")).entry

        self.undo(incident, mine.seq, technician)

        for row in (other, out):
            with pytest.raises(services.NotAllowedError):
                self.undo(incident, row.seq, technician)

    def test_the_opening_cannot_be_undone(self, incident):
        with pytest.raises(services.NotAllowedError):
            self.undo(incident, 1)


def test_the_report_has_the_records_in_words(incident):
    from incidents.services.reports import _record

    services.write_note(**given(incident), text="Plant manager is at the gate")
    services.order_out(**given(incident), team="entry-1")
    services.call_mayday(**given(incident))
    rows = list(incident.entries.order_by("seq").prefetch_related("findings"))
    incident.refresh_from_db()

    record = _record(incident, rows, incident.opened_by, START + timedelta(hours=1))

    words = [own.words for own in record.own]
    assert "Note: Plant manager is at the gate" in words
    assert any(line.startswith("Entry team 1 ordered out") for line in words)
    assert any(line.startswith("Mayday") for line in words)
