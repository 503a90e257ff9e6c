"""Medical checks: recorded by medical alone, kept apart, never changed, each look noted."""

import hashlib
import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from incidents import selectors, services
from incidents.documents import loads
from incidents.models import InstrumentRecord, MedicalAccess, MedicalCheck
from incidents.services.medical import verify_medical
from tests.conftest import changes_allowed
from tests.factories import (
    START,
    SopProfileFactory,
    entry,
    join,
    log,
    minutes,
    open_incident,
    register_meter,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

WELL = {
    "pulse": 80,
    "systolic": 120,
    "diastolic": 80,
    "temperature": {"value": Decimal("36.8"), "unit": "degC"},
    "breaths": 16,
    "spo2": 98,
    "symptoms": "",
}


@pytest.fixture
def incident():
    return open_incident()


@pytest.fixture
def medic(incident):
    return join(incident, "medical", display_name="M. Sorrel")


def checked(incident, medic, at=START, *, name="Alder", kind="before", **changes):
    given = {
        key: changes.pop(key)
        for key in ("corrects", "client_uuid", "note")
        if key in changes
    }
    return services.record_check(
        incident_id=incident.pk,
        person=medic,
        name=name,
        kind=kind,
        values=WELL | changes,
        at=at,
        recorded_at=at,
        **{"client_uuid": uuid.uuid4()} | given,
    )


def decided(incident, medic, at, *, fit, name="Alder", reason="Seen by a physician"):
    return services.decide_fitness(
        incident_id=incident.pk,
        person=medic,
        name=name,
        fit=fit,
        reason=reason,
        at=at,
        recorded_at=at,
        client_uuid=uuid.uuid4(),
    )


def state_of(incident, at, name="Alder"):
    incident.refresh_from_db()
    return next(
        row for row in selectors.fitness(incident, at) if row.name == name
    ).standing


def unfit(incident, at):
    incident.refresh_from_db()
    return [row.name for row in selectors.unfit_members(incident, "entry-1", at)]


def test_a_check_is_kept_as_it_was_entered_with_its_outcome(incident, medic):
    row = checked(incident, medic)

    row.refresh_from_db()
    assert (row.person_name, row.kind, row.fit) == ("Alder", "before", True)
    assert (row.by, row.by_name) == (medic, "M. Sorrel")
    assert loads(row.values)["temperature"] == {
        "value": Decimal("36.8"),
        "unit": "degC",
    }
    assert loads(row.reasons)["limits"]["pulse_max"] == 100
    assert state_of(incident, START).state == "fit"


def test_nothing_of_it_is_in_the_log(incident, medic):
    before = incident.entries.count()

    checked(incident, medic, pulse=123)

    assert incident.entries.count() == before


@pytest.mark.parametrize(
    "role", ["commander", "technician", "safety_officer", "training_officer", "viewer"]
)
def test_only_medical_records_and_decides(incident, role):
    person = incident.opened_by if role == "commander" else join(incident, role)

    with pytest.raises(services.NotAllowedError):
        checked(incident, person)
    with pytest.raises(services.NotAllowedError):
        decided(incident, person, START, fit=True)

    assert not MedicalCheck.objects.exists()


def test_medical_of_another_incident_records_nothing_here(incident):
    elsewhere = open_incident()

    with pytest.raises(services.NotAllowedError):
        checked(incident, join(elsewhere, "medical"))


def test_the_limits_are_those_of_the_incidents_own_version(incident, medic):
    incident.sop = SopProfileFactory.create(
        agency=incident.agency,
        house_rules='{"pulse_max":{"value":110,"unit":"beats/min"}}',
    )
    incident.save(update_fields=["sop"])

    row = checked(incident, medic, pulse=105)

    assert row.fit
    assert loads(row.reasons)["limits"]["pulse_max"] == 110


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"pulse": 600}, "/values/pulse"),
        ({"pulse": Decimal("80.5")}, "/values/pulse"),
        ({"diastolic": 130}, "/values/diastolic"),
        (
            {"temperature": {"value": Decimal(98), "unit": "degC"}},
            "/values/temperature",
        ),
        ({"temperature": {"value": Decimal(98), "unit": "K"}}, "/values/temperature"),
        ({"oxygen": 98}, "/values/oxygen"),
        ({"symptoms": None}, "/values/symptoms"),
        ({"weight": {"value": Decimal(5), "unit": "kg"}}, "/values/weight"),
    ],
)
def test_what_cannot_be_is_refused_at_its_place_and_nothing_is_stored(
    incident, medic, changes, pointer
):
    with pytest.raises(services.EntryRefusedError) as refusal:
        checked(incident, medic, **changes)

    assert [error.pointer for error in refusal.value.errors] == [pointer]
    assert not MedicalCheck.objects.exists()


def test_a_check_of_later_is_refused(incident, medic):
    with pytest.raises(services.EntryRefusedError, match="a time that has passed"):
        services.record_check(
            incident_id=incident.pk,
            person=medic,
            name="Alder",
            kind="before",
            values=WELL,
            at=START + timedelta(hours=1),
            recorded_at=START,
            client_uuid=uuid.uuid4(),
        )


def test_sent_twice_it_is_stored_once(incident, medic):
    key = uuid.uuid4()
    first = checked(incident, medic, client_uuid=key)

    second = checked(incident, medic, client_uuid=key)

    assert second == first
    assert MedicalCheck.objects.count() == 1
    with pytest.raises(services.DuplicateConflictError):
        checked(incident, medic, client_uuid=key, pulse=90)


def test_a_second_check_within_five_minutes_lets_nobody_in(incident, medic):
    checked(incident, medic, pulse=120)
    early = checked(incident, medic, minutes(4), kind="recheck")
    assert not early.fit
    assert "before a rest of 5 min" in loads(early.reasons)["reasons"][0]
    assert state_of(incident, minutes(4)).state == "not fit"

    rested = checked(incident, medic, minutes(9), kind="recheck")

    assert rested.fit
    assert state_of(incident, minutes(9)).state == "fit"


def test_medical_lets_someone_in_all_the_same_with_a_reason(incident, medic):
    checked(incident, medic, pulse=120)
    with pytest.raises(services.EntryRefusedError, match="reason"):
        decided(incident, medic, minutes(1), fit=True, reason=" ")

    decided(incident, medic, minutes(1), fit=True)

    now = state_of(incident, minutes(1))
    assert now.state == "fit"
    assert "decided by medical" in now.words


def test_a_wrong_check_is_put_right_by_another_and_both_stay(incident, medic):
    wrong = checked(incident, medic, pulse=180)

    right = checked(
        incident, medic, minutes(1), corrects=wrong, note="Misread", pulse=80
    )

    assert MedicalCheck.objects.count() == 2
    assert right.fit
    assert state_of(incident, minutes(1)).state == "fit"
    with pytest.raises(services.NotAllowedError, match="put right already"):
        checked(incident, medic, minutes(2), corrects=wrong, note="Again")


def test_a_correction_says_why_and_is_of_the_same_person(incident, medic):
    wrong = checked(incident, medic, pulse=180)

    with pytest.raises(services.EntryRefusedError, match="what was wrong"):
        checked(incident, medic, minutes(1), corrects=wrong)
    with pytest.raises(services.NotAllowedError, match="Alder"):
        checked(incident, medic, minutes(1), corrects=wrong, note="x", name="Birch")


def test_who_came_out_may_not_go_in_again_until_recovered(incident, medic):
    for name in ("Alder", "Birch"):
        checked(incident, medic, name=name)
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    assert unfit(incident, minutes(2)) == []
    log(incident, entry("exit", minutes(20), team="entry-1"))
    assert unfit(incident, minutes(21)) == ["Alder", "Birch"]

    checked(incident, medic, minutes(22), kind="after", pulse=95)
    checked(incident, medic, minutes(22), kind="after", name="Birch")
    assert unfit(incident, minutes(23)) == ["Alder"]

    checked(incident, medic, minutes(30), kind="recheck", pulse=84)

    assert unfit(incident, minutes(31)) == []


def test_the_pulse_before_entry_is_the_one_to_come_back_to(incident, medic):
    checked(incident, medic, pulse=60)
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(incident, entry("exit", minutes(20), team="entry-1"))

    assert not checked(incident, medic, minutes(25), kind="after", pulse=67).fit
    assert checked(incident, medic, minutes(35), kind="recheck", pulse=66).fit


def test_a_struck_exit_is_no_coming_out(incident, medic):
    checked(incident, medic)
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    out = log(incident, entry("exit", minutes(20), team="entry-1"))
    log(
        incident,
        entry("strike", minutes(21), entry=out.entry.key, reason="Wrong team"),
    )

    assert state_of(incident, minutes(22)).state == "fit"


def test_one_person_in_two_teams_is_one_person(incident, medic):
    services.add_team(
        incident_id=incident.pk,
        person=incident.opened_by,
        team={
            "id": "entry-2",
            "name": "Entry 2",
            "role": "entry",
            "ensemble": "level_b",
            "members": [{"id": "x", "name": " ALDER"}],
        },
        at=minutes(1),
    )
    checked(incident, medic, minutes(2), pulse=130)
    incident.refresh_from_db()

    rows = selectors.unfit_members(incident, "entry-2", minutes(3))

    assert [row.standing.state for row in rows] == ["not fit"]


# --- kept apart, kept whole ----------------------------------------------------------


def test_every_look_at_values_is_noted(incident, medic):
    checked(incident, medic)
    officer = join(incident, "safety_officer", display_name="S. Yarrow")

    found = services.look_at_checks(
        incident_id=incident.pk, person=officer, code=_code(incident), at=minutes(1)
    )

    assert [row.person_name for row in found] == ["Alder"]
    look = MedicalAccess.objects.get()
    assert (look.by_name, look.role, look.person_name, look.at) == (
        "S. Yarrow",
        "safety_officer",
        "Alder",
        minutes(1),
    )


def _code(incident, name="Alder"):
    rows = selectors.fitness(incident, START)
    return next(row.code for row in rows if row.name == name)


@pytest.mark.parametrize(
    "role", ["commander", "technician", "training_officer", "viewer"]
)
def test_others_do_not_look_and_nothing_is_noted(incident, medic, role):
    checked(incident, medic)
    person = incident.opened_by if role == "commander" else join(incident, role)

    with pytest.raises(services.NotAllowedError):
        services.look_at_checks(
            incident_id=incident.pk, person=person, code=_code(incident), at=START
        )

    assert not MedicalAccess.objects.exists()


def test_how_people_stand_is_found_without_reading_what_was_measured(
    incident, medic, django_assert_max_num_queries
):
    checked(incident, medic)
    selectors.fitness(incident, START)

    with django_assert_max_num_queries(4) as queries:
        selectors.fitness(incident, START)

    said = " ".join(query["sql"] for query in queries.captured_queries)
    assert "medicalcheck" in said
    assert '"values"' not in said
    assert '"reasons"' not in said


def test_twenty_checks_cost_as_much_as_one(incident, medic, django_assert_num_queries):
    checked(incident, medic)
    selectors.fitness(incident, START)
    with django_assert_num_queries(3):
        selectors.fitness(incident, START)
    for number in range(20):
        checked(incident, medic, minutes(number), name=f"Person {number}")

    with django_assert_num_queries(3):
        assert len(selectors.fitness(incident, minutes(30))) == 22


@pytest.mark.parametrize("model", [MedicalCheck, MedicalAccess, InstrumentRecord])
@pytest.mark.parametrize("statement", ["UPDATE {0} SET at = at", "DELETE FROM {0}"])
def test_no_statement_changes_what_was_recorded(incident, medic, model, statement):
    checked(incident, medic)
    services.look_at_checks(
        incident_id=incident.pk, person=medic, code=_code(incident), at=START
    )
    register_meter(incident.opened_by)
    before = list(model.objects.values_list())
    assert before

    with (
        pytest.raises(DatabaseError, match="takes no"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement.format(model._meta.db_table))

    assert list(model.objects.values_list()) == before


def test_the_checks_have_a_chain_of_their_own(incident, medic):
    first = checked(incident, medic)
    second = checked(incident, medic, minutes(1), name="Birch")

    assert (first.seq, second.seq) == (1, 2)
    assert second.prev_hash == first.hash
    assert hashlib.sha256(bytes(second.canonical)).hexdigest() == second.hash
    assert verify_medical(incident) == ""


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"fit": True}, "check 1: fit"),
        ({"values": "{}"}, "check 1: values"),
        ({"person_name": "Birch"}, "check 1: person_name"),
        ({"hash": "1" * 64}, "check 1: hash"),
    ],
)
def test_a_change_behind_the_triggers_shows(incident, medic, change, words):
    row = checked(incident, medic, pulse=150)
    checked(incident, medic, minutes(1), name="Birch")
    with changes_allowed():
        MedicalCheck.objects.filter(pk=row.pk).update(**change)

    assert words in verify_medical(incident)


@pytest.mark.django_db(transaction=True)
def test_the_command_names_a_changed_check(incident, medic, capsys):
    row = checked(incident, medic)
    call_command("verify_chain", str(incident.pk))
    assert "medical" not in capsys.readouterr().out
    with changes_allowed():
        MedicalCheck.objects.filter(pk=row.pk).update(fit=False)

    with pytest.raises(SystemExit):
        call_command("verify_chain", str(incident.pk))

    assert "medical checks: check 1: fit" in capsys.readouterr().out


@pytest.mark.django_db(transaction=True)
def test_a_check_taken_out_shows(incident, medic):
    checked(incident, medic)
    row = checked(incident, medic, minutes(1), name="Birch")
    checked(incident, medic, minutes(2), name="Cedar")
    with changes_allowed():
        MedicalCheck.objects.filter(pk=row.pk).delete()

    assert "check 3" in verify_medical(incident)
