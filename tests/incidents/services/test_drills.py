"""A drill from its beginning to its score: what is stored, when, and what is refused."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, transaction

from incidents import engine, services
from incidents.documents import loads
from incidents.models import (
    APP_KINDS,
    DrillAnswer,
    DrillMember,
    DrillScript,
    Incident,
    InstrumentRecord,
)
from incidents.selectors import drills as read
from incidents.services import chain, demo, devices, drill_scripts, drills
from incidents.services.errors import (
    AlreadyDoneError,
    DrillError,
    EntryRefusedError,
    NotAllowedError,
)
from review.scoring import Outcome
from screening.verdicts import Action, Hazard
from tests.drills import SCRIPT, after, file_of, officer, script_with, started, step
from tests.factories import START, PersonFactory, acid, log, register_meter

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def given(drill):
    """The kinds of what the script has given so far."""
    rows = drill.incident.entries.exclude(kind__in=APP_KINDS).order_by("seq")
    return list(rows.values_list("kind", flat=True))


def decide(drill, person, seq, action, at=START, look=""):
    return drills.answer(
        incident_id=drill.pk, person=person, seq=seq, action=action, look=look, at=at
    )


def last_seq(drill):
    return drill.incident.entries.order_by("-seq").first().seq


def test_a_drill_is_an_incident_that_says_so_and_its_chain_holds():
    drill, _ = started()
    step(drill)

    incident = Incident.objects.get(pk=drill.pk)

    assert incident.is_drill
    assert loads(incident.entries.get(seq=1).body)["drill"] is True
    assert chain.verify(incident) is None
    assert incident.name == "Etching shop drill"
    assert incident.location == "Marrow Ford"


def test_only_a_training_officer_of_the_agency_begins_one():
    leader = officer()
    script = drill_scripts.add_script(person=leader, file=file_of(), at=START)
    crew = {PersonFactory.create(agency=leader.agency): "technician"}
    pace = {"speed": 1, "answer_seconds": 60, "at": START}

    for person in (PersonFactory.create(agency=leader.agency), officer()):
        with pytest.raises(NotAllowedError):
            drills.start_drill(person=person, script=script, crew=crew, **pace)
    assert not Incident.objects.exists()


def test_the_crew_is_of_the_agency_and_without_its_leader():
    leader = officer()
    script = drill_scripts.add_script(person=leader, file=file_of(), at=START)
    pace = {"speed": 1, "answer_seconds": 60, "at": START}

    for crew in ({PersonFactory.create(): "technician"}, {leader: "technician"}):
        with pytest.raises(NotAllowedError):
            drills.start_drill(person=leader, script=script, crew=crew, **pace)
    for crew in ({}, {PersonFactory.create(agency=leader.agency): "viewer"}):
        with pytest.raises(EntryRefusedError):
            drills.start_drill(person=leader, script=script, crew=crew, **pace)


# --- What comes when --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("speed", "seconds", "count"),
    [
        (1, 0, 1),
        (1, 59, 1),
        (1, 60, 2),
        (1, 180, 5),
        (2, 59, 3),  # 118 s of the script: its entries at 0, 60 and 90 s
        (10, 5, 1),
        (10, 6, 2),
        (10, 18, 5),
        (5, 3600, 5),
    ],
)
def test_what_is_due_follows_from_the_clock(speed, seconds, count):
    drill, _ = started(speed=speed)
    drills.give_due(incident_id=drill.pk, at=after(seconds))
    assert len(given(drill)) == count


def test_asking_twice_stores_nothing_twice():
    drill, _ = started(speed=1)
    first = drills.give_due(incident_id=drill.pk, at=after(100))
    again = drills.give_due(incident_id=drill.pk, at=after(100))
    assert (first, again) == (2, 0)
    assert len(given(drill)) == 3


def test_by_hand_each_step_brings_the_next_that_is_decided_on():
    drill, _ = started()
    steps = [given(drill)]
    for _ in range(4):
        step(drill)
        steps.append(given(drill))
    assert [len(each) for each in steps] == [0, 3, 4, 5, 5]
    assert steps[1] == ["bump_test", "enter", "gas_meter"]


def test_the_clock_brings_nothing_to_a_drill_that_is_stepped_by_hand():
    drill, _ = started()
    assert drills.give_due(incident_id=drill.pk, at=after(3600)) == 0
    assert given(drill) == []


def test_nobody_but_the_leader_steps():
    drill, people = started()
    other = officer(agency=drill.led_by.agency)
    for person in (*people.values(), other):
        with pytest.raises(NotAllowedError):
            drills.give_next(incident_id=drill.pk, person=person, at=START)
    assert given(drill) == []


@pytest.mark.parametrize("speed", [0, 1, 2, 5, 10])
def test_no_inject_lies_ahead_and_the_seconds_between_are_the_script_s(speed):
    drill, _ = started(speed=speed)
    end = after(180 / speed if speed else 0)
    if speed:
        drills.give_due(incident_id=drill.pk, at=end)
    else:
        for _ in range(3):
            step(drill)

    rows = list(drill.incident.entries.exclude(kind__in=APP_KINDS).order_by("seq"))

    assert all(row.observed_at <= row.recorded_at for row in rows)
    between = [(row.observed_at - rows[0].observed_at).seconds for row in rows]
    assert between == [0, 60, 90, 120, 180]
    assert rows[-1].observed_at == end


def test_an_hour_at_which_midnight_falls_into_the_drill_changes_no_verdict():
    """A bump test counts for its day: the script's day, whenever the drill is run."""
    noon, _ = started()
    late, _ = started(
        at=START.replace(hour=5, minute=1, second=0)
    )  # 00:01 of the script's
    said = []
    for drill in (noon, late):
        for _ in range(3):
            step(drill, drill.started_at)
        fresh = read.drill_for(drill.led_by, drill.pk).drill
        said.append(
            [
                (verdict.action, verdict.open)
                for verdict in read.verdicts(fresh).values()
            ]
        )
    assert said[0] == said[1]


# --- Answers ------------------------------------------------------------------------------


def test_two_people_and_their_score():
    drill, people = started()
    commander, technician = people["commander"], people["technician"]
    step(drill, after(0))  # a quiet meter: continue
    quiet = last_seq(drill)
    decide(drill, commander, quiet, Action.CONTINUE, after(4), look="ph_paper")
    decide(drill, technician, quiet, Action.CAUTION, after(8))
    step(drill, after(10))  # pH 2, level B: caution
    acid_seq = last_seq(drill)
    decide(drill, commander, acid_seq, Action.CAUTION, after(13), look="fluoride_paper")
    decide(drill, technician, acid_seq, Action.CONTINUE, after(20))
    step(drill, after(30))  # fluoride: nobody answers
    drills.end_drill(incident_id=drill.pk, person=drill.led_by, at=after(100))

    fresh = read.drill_for(drill.led_by, drill.pk).drill
    scores = {one.member.role: one.score for one in read.results(fresh)}

    said = [mark.verdict.action for mark in scores["commander"].marks]
    assert said[0] == Action.CONTINUE
    assert said[1] > Action.CONTINUE
    assert scores["commander"].counts[-1] == (Outcome.UNANSWERED, 1)
    assert scores["technician"].count(Outcome.MORE_CAREFUL) == 1
    assert scores["technician"].count(Outcome.LESS_CAREFUL) == 1
    assert [mark.delay for mark in scores["commander"].marks] == [
        timedelta(seconds=4),
        timedelta(seconds=3),
        None,
    ]
    assert Hazard.GAMMA_RADIATION in scores["commander"].unchecked
    assert Hazard.ACID_VAPOUR not in scores["commander"].unchecked


def test_the_same_drill_gives_the_same_score_twice_and_from_the_log_alone():
    drill, people = started()
    step(drill)
    decide(drill, people["commander"], last_seq(drill), Action.STOP, after(3))
    step(drill)
    drill = read.drill_for(drill.led_by, drill.pk).drill
    first = [one.score for one in read.results(drill)]

    read._verdicts.clear()
    engine.forget()

    assert [one.score for one in read.results(drill)] == first


def test_the_first_answer_counts_and_a_second_is_refused():
    drill, people = started()
    step(drill)
    decide(drill, people["commander"], last_seq(drill), Action.STOP)
    with pytest.raises(AlreadyDoneError):
        decide(drill, people["commander"], last_seq(drill), Action.CONTINUE)
    assert [one.action for one in DrillAnswer.objects.all()] == [Action.STOP]


@pytest.mark.parametrize(("seconds", "taken"), [(60, True), (60.5, False)])
def test_an_answer_counts_up_to_its_time(seconds, taken):
    drill, people = started(seconds=60)
    step(drill)
    if taken:
        decide(drill, people["commander"], last_seq(drill), Action.STOP, after(seconds))
    else:
        with pytest.raises(DrillError):
            decide(
                drill, people["commander"], last_seq(drill), Action.STOP, after(seconds)
            )
    assert DrillAnswer.objects.exists() is taken


def test_who_is_not_asked_does_not_answer():
    drill, people = started(document=script_with(sees={"d3": ["technician"]}))
    step(drill)
    seq = last_seq(drill)
    strangers = (people["commander"], drill.led_by, PersonFactory.create())
    for person in strangers:
        with pytest.raises(NotAllowedError):
            decide(drill, person, seq, Action.STOP)
    for not_asked in (1, seq - 1, 999):  # the opening, "enter", nothing
        with pytest.raises(NotAllowedError):
            decide(drill, people["technician"], not_asked, Action.STOP)
    assert not DrillAnswer.objects.exists()


def test_after_the_end_nothing_more_is_written():
    drill, people = started()
    step(drill)
    drills.end_drill(incident_id=drill.pk, person=drill.led_by, at=after(5))
    before = drill.incident.entries.count()
    with pytest.raises(DrillError):
        decide(drill, people["commander"], 5, Action.STOP)
    with pytest.raises(DrillError):
        step(drill)
    with pytest.raises(DrillError):
        services.reopen_incident(
            incident_id=drill.pk, person=drill.led_by, at=after(9), reason="Again"
        )
    assert drill.incident.entries.count() == before


# --- Nobody else writes, and nothing of it is real ---------------------------------------


def test_nobody_writes_to_a_drill_but_its_script():
    drill, people = started()
    incident = drill.incident
    with pytest.raises(DrillError):
        log(incident, acid(START), person=people["commander"])
    with pytest.raises(DrillError):
        log(incident, acid(START), person=drill.led_by)
    with pytest.raises(DrillError):
        devices.offer_device(
            incident_id=incident.pk,
            person=drill.led_by,
            team="entry-1",
            name="Phone",
            at=START,
        )
    with pytest.raises(DrillError):
        services.record_check(
            incident_id=incident.pk,
            person=drill.led_by,
            name="Carrowby",
            kind="before",
            values={"symptoms": ""},
            at=START,
            recorded_at=START,
            client_uuid=incident.pk,
        )
    assert given(drill) == []


def test_a_bump_test_of_a_drill_never_reaches_the_register():
    leader = officer()
    keeper = PersonFactory.create(agency=leader.agency)
    meter = register_meter(keeper, label="Meter 1")
    assert meter.key == "meter-1"
    drill, _ = started(leader=leader)
    step(drill)

    assert given(drill)[0] == "bump_test"
    assert not InstrumentRecord.objects.filter(kind="bump_test").exists()


def test_a_test_in_the_register_does_not_reach_a_drill():
    leader = officer()
    keeper = PersonFactory.create(agency=leader.agency)
    meter = register_meter(keeper, label="Meter 1")
    drill, _ = started(leader=leader)
    step(drill)

    tested = services.record_test(
        instrument_id=meter.pk,
        person=keeper,
        kind="bump_test",
        passed=False,
        at=START,
        recorded_at=START,
    )

    assert (tested.logged_in, tested.not_logged_in) == ((), ())
    assert len(given(drill)) == 3


# --- Scripts ------------------------------------------------------------------------------


def test_a_script_is_kept_word_for_word_and_once():
    leader = officer()
    one = drill_scripts.add_script(person=leader, file=file_of(), at=START)
    two = drill_scripts.add_script(person=leader, file=file_of(), at=START)
    assert one == two
    assert one.document.encode() == file_of()


def test_every_error_of_a_script_is_named_and_nothing_is_kept():
    broken = script_with(goals=[], sees={"d3": ["clown"]}, asks=["no-such"])
    broken["teams"][0]["ensemble"] = "pyjamas"
    with pytest.raises(EntryRefusedError) as refusal:
        drill_scripts.add_script(person=officer(), file=file_of(broken), at=START)
    pointers = {error.pointer for error in refusal.value.errors}
    assert pointers >= {"/drill/goals", "/drill/sees/d3", "/teams/0/ensemble"}
    assert not DrillScript.objects.exists()


@pytest.mark.parametrize("model", [DrillScript, DrillMember, DrillAnswer])
def test_the_database_refuses_to_change_a_script_a_crew_or_an_answer(model):
    drill, people = started()
    step(drill)
    decide(drill, people["commander"], last_seq(drill), Action.STOP)
    rows = model.objects.all()
    field = {
        DrillScript: {"name": "Another"},
        DrillMember: {"role": "viewer"},
        DrillAnswer: {"action": 0},
    }[model]
    for change in (lambda: rows.update(**field), lambda: rows._raw_delete("default")):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()
    assert rows.exists()
    assert SCRIPT["drill"]["goals"]


def test_the_demo_brings_the_five_ready_drills_once():
    crew = demo.set_up(demo.scenario(), now=START)
    for _ in range(2):
        demo.add_drills(crew, now=START)

    scripts = DrillScript.objects.filter(agency=crew.agency)

    assert scripts.count() == 5
    assert {script.made_by for script in scripts} == {crew.by_role["training_officer"]}
