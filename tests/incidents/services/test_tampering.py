"""The log tampered with by plain SQL, triggers dropped: each attack is found and named.

The attacks are those of an owner of the database; the heads that were kept are what they
did not think of. Against someone who rewrites those too only a head outside helps.
"""

import hashlib
import json
from io import StringIO

import pytest
import rfc8785
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from incidents import services
from incidents.models import Incident, RecordAnchor, Report
from incidents.services import anchors, chain
from incidents.services.medical import verify_medical
from tests.conftest import changes_allowed
from tests.factories import START, acid, join, log, minutes, open_incident
from tests.incidents.services.test_chain import run
from tests.incidents.services.test_medical import checked
from tests.incidents.services.test_plan import make_ready, planned

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

LAST = 9


@pytest.fixture
def incident():
    """An opening and eight readings; a head was kept after the sixth entry."""
    incident = open_incident()
    for count in range(8):
        log(incident, acid(minutes(count), ph=str(count + 1)))
        if count == 4:
            anchors.keep_head(incident_id=incident.pk, at=minutes(5))
    incident.refresh_from_db()
    return incident


def sql(statement, *values):
    with changes_allowed(), connection.cursor() as cursor:
        cursor.execute(statement, values)


def one(statement, *values):
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return cursor.fetchone()


def key(incident):
    return incident.pk.hex if connection.vendor == "sqlite" else incident.pk


def forget_findings(incident, first):
    """What points to the rows of a log, so that they can go."""
    of_rows = "SELECT id FROM incidents_logentry WHERE incident_id = %s AND seq >= %s"
    sql(
        "DELETE FROM incidents_findingevent WHERE finding_id IN (SELECT id FROM "
        f"incidents_storedfinding WHERE entry_id IN ({of_rows})) OR entry_id IN ({of_rows})",
        *(key(incident), first) * 2,
    )
    sql(
        f"DELETE FROM incidents_storedfinding WHERE entry_id IN ({of_rows})",
        key(incident),
        first,
    )


def cut(incident, first, last=LAST):
    forget_findings(incident, first)
    sql(
        "DELETE FROM incidents_logentry WHERE incident_id = %s AND seq BETWEEN %s AND %s",
        key(incident),
        first,
        last,
    )


def repair_head(incident):
    seq, digest = one(
        "SELECT seq, hash FROM incidents_logentry WHERE incident_id = %s "
        "ORDER BY seq DESC LIMIT 1",
        key(incident),
    )
    sql(
        "UPDATE incidents_incident SET head_seq = %s, head_hash = %s WHERE id = %s",
        seq,
        digest,
        key(incident),
    )


def rewrite_from(incident, first, old, new):
    """The bodies from `first` on changed, and every hash made anew so that all fits."""
    rows = list(incident.entries.filter(seq__gte=first).order_by("seq"))
    prev = incident.entries.get(seq=first - 1).hash
    for row in rows:
        row.body, row.prev_hash = row.body.replace(old, new), prev
        canonical = chain.canonical_bytes(row)
        prev = hashlib.sha256(canonical).hexdigest()
        # A hash that stands twice for a moment would be refused.
        sql(
            "UPDATE incidents_logentry SET body = %s, prev_hash = %s, hash = %s, "
            "canonical = %s WHERE id = %s",
            row.body,
            row.prev_hash,
            prev,
            canonical,
            row.pk,
        )


def insert_after(incident, seq, **changes):
    """One more row, a copy of the one before with changes and a hash that fits."""
    row = incident.entries.get(seq=seq)
    row.pk, row.seq, row.prev_hash = None, seq + 1, row.hash
    row.client_uuid = "00000000-0000-4000-8000-000000000001"
    for name, value in changes.items():
        setattr(row, name, value)
    row.canonical = chain.canonical_bytes(row)
    row.hash = hashlib.sha256(bytes(row.canonical)).hexdigest()
    with changes_allowed():
        row.save(force_insert=True)


def named(incident):
    """What the command says, and what the verifier found."""
    code, said = run(str(incident.pk))
    problem = chain.verify(Incident.objects.get(pk=incident.pk))
    assert code == (0 if problem is None else 1)
    assert problem is None or f"entry {problem.seq}: {problem.what}" in said
    return problem and (problem.what, problem.seq)


def test_an_untouched_log_holds_against_what_was_kept(incident):
    assert named(incident) is None


@pytest.mark.parametrize("seq", [1, 4, LAST])
def test_a_changed_entry_is_named(incident, seq):
    sql(
        "UPDATE incidents_logentry SET author_name = 'Someone Else' "
        "WHERE incident_id = %s AND seq = %s",
        key(incident),
        seq,
    )

    assert named(incident) == ("columns", seq)


@pytest.mark.parametrize("seq", [2, 5, 8])
def test_a_removed_entry_is_named(incident, seq):
    cut(incident, seq, seq)

    what, number = named(incident)

    assert (what, number) == ("gap", seq)


def test_a_removed_entry_with_the_rest_moved_up_is_named(incident):
    cut(incident, 5, 5)
    for seq in range(6, LAST + 1):
        sql(
            "UPDATE incidents_logentry SET seq = %s WHERE incident_id = %s AND seq = %s",
            seq - 1,
            key(incident),
            seq,
        )

    assert named(incident) == ("columns", 5)


def test_an_inserted_entry_at_the_end_is_named(incident):
    insert_after(incident, LAST)

    assert named(incident) == ("head", LAST + 1)


def test_an_inserted_entry_in_the_middle_is_named(incident):
    for seq in range(LAST, 5, -1):
        sql(
            "UPDATE incidents_logentry SET seq = %s WHERE incident_id = %s AND seq = %s",
            seq + 1,
            key(incident),
            seq,
        )
    # One entry cannot follow on the same one twice, so the new one names another.
    insert_after(incident, 5, prev_hash="7" * 64)

    assert named(incident) == ("link", 6)


@pytest.mark.parametrize("first", [LAST, 7, 2])
def test_a_cut_off_tail_is_named_at_its_first_entry(incident, first):
    cut(incident, first)

    assert named(incident) == ("head", first)


@pytest.mark.parametrize("first", [6, 4, 2])
def test_a_tail_cut_off_with_the_head_repaired_is_named_by_the_anchor(incident, first):
    cut(incident, first)
    repair_head(incident)

    assert named(incident) == ("anchor", first)


def test_what_was_recorded_after_the_last_anchor_can_be_cut_off_unseen(incident):
    """The limit of it: keep heads often, and outside."""
    outside = anchors.Anchor(seq=incident.head_seq, hash=incident.head_hash)
    cut(incident, 8)
    repair_head(incident)

    assert named(incident) is None
    problem = chain.verify(incident, anchor=outside)
    assert (problem.what, problem.seq) == ("anchor", 8)


def test_a_tail_written_anew_with_hashes_that_fit_is_named_by_the_anchor(incident):
    rewrite_from(incident, 4, '"ph":', '"ph": ')
    repair_head(incident)

    assert named(incident) == ("anchor", 6)


def test_a_tail_written_anew_is_named_by_the_head_that_a_report_prints(incident):
    Report.objects.create(
        incident=incident,
        created_at=minutes(20),
        created_by=incident.opened_by,
        pdf=b"%PDF-",
        sha256="0" * 64,
        head_seq=8,
        head_hash=incident.entries.get(seq=8).hash,
        certificate_fingerprint="0" * 64,
    )
    rewrite_from(incident, 7, '"ph":', '"ph": ')
    repair_head(incident)

    problem = chain.verify(Incident.objects.get(pk=incident.pk))

    assert (problem.what, problem.seq) == ("anchor", 8)
    assert "the report of 2026-03-04 19:20 UTC printed" in problem.expected


def test_all_entries_gone_is_named(incident):
    cut(incident, 1)
    sql("UPDATE incidents_incident SET head_seq = 0, head_hash = %s", "0" * 64)

    assert named(incident) == ("gap", 0)


# --- The heads that are kept ----------------------------------------------------------


def kept(incident):
    return list(incident.anchors.values_list("why", "seq"))


def test_the_first_entry_of_a_new_shift_keeps_the_head_of_the_one_before():
    incident = open_incident()
    log(incident, acid(minutes(5)))
    log(incident, acid(minutes(8 * 60 - 1)))
    assert kept(incident) == []

    log(incident, acid(minutes(8 * 60)))
    log(incident, acid(minutes(8 * 60 + 1)))

    assert kept(incident) == [("shift", 3)]
    assert incident.anchors.get().hash == incident.entries.get(seq=3).hash


def test_closing_keeps_the_head_with_the_closing_in_it(incident):
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(30),
        reason="Handed over",
    )

    assert kept(incident)[-1] == ("closing", LAST + 1)
    assert incident.entries.get(seq=LAST + 1).kind == "closing"


def test_signing_the_plan_and_passing_command_on_keep_the_head():
    incident = planned()
    make_ready(incident)

    assert [why for why, _ in kept(incident)] == ["transfer", "sign_off"]
    for anchor in incident.anchors.all():
        assert incident.entries.get(seq=anchor.seq).hash == anchor.hash
        assert incident.entries.get(seq=anchor.seq).kind == "plan"


def test_a_head_is_kept_once_however_often_it_is_asked_for(incident):
    first = anchors.keep_head(incident_id=incident.pk, at=minutes(20))
    second = anchors.keep_head(incident_id=incident.pk, at=minutes(21))

    assert first == second
    assert (first.seq, first.hash) == (incident.head_seq, incident.head_hash)


@pytest.mark.parametrize("verb", ["UPDATE", "DELETE"])
def test_an_anchor_is_neither_changed_nor_deleted(incident, verb):
    statement = {
        "UPDATE": "UPDATE incidents_recordanchor SET seq = seq",
        "DELETE": "DELETE FROM incidents_recordanchor",
    }[verb]

    with (
        pytest.raises(DatabaseError, match="takes no"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)

    assert RecordAnchor.objects.count() == 1


def test_what_keep_heads_prints_is_what_verify_chain_takes(incident, tmp_path):
    out = StringIO()
    call_command("keep_heads", stdout=out)
    heads = tmp_path / "heads.txt"
    heads.write_text(out.getvalue())
    assert f"{incident.pk} {LAST}:{incident.head_hash}" in out.getvalue()
    assert run("--heads", str(heads))[0] == 0

    cut(incident, 8)
    repair_head(incident)
    sql("DELETE FROM incidents_recordanchor")

    code, said = run("--heads", str(heads))
    assert code == 1
    assert "entry 8: anchor" in said


def test_an_incident_of_which_a_head_was_kept_and_that_is_gone_is_named(
    incident, tmp_path
):
    gone = "00000000-0000-4000-8000-000000000009"
    heads = tmp_path / "heads.txt"
    heads.write_text(f"{incident.pk} 2:{incident.entries.get(seq=2).hash}\n\n")
    assert run("--heads", str(heads))[0] == 0

    with heads.open("a") as file:
        file.write(f"{gone} 3:{'1' * 64}\n")

    code, said = run("--heads", str(heads))
    assert code == 1
    assert f"incident {gone}: a head was kept, and it is not here" in said


def test_a_second_row_of_the_same_number_is_found_at_the_edge_of_what_is_read(
    incident, monkeypatch
):
    """Rows are read some at a time; none is passed over between two readings."""
    monkeypatch.setattr(chain, "AT_ONCE", 3)
    assert chain.verify(incident) is None

    sql(
        "UPDATE incidents_logentry SET author_name = 'x' "
        "WHERE incident_id = %s AND seq = %s",
        key(incident),
        7,
    )

    assert named(incident) == ("columns", 7)


# --- Medical checks -------------------------------------------------------------------


def test_medical_checks_cut_off_at_the_end_are_named():
    incident = open_incident()
    medic = join(incident, "medical")
    for number in range(3):
        checked(incident, medic, at=minutes(number))
    anchors.keep_head(incident_id=incident.pk, at=minutes(5))
    assert verify_medical(incident) == ""

    sql("DELETE FROM incidents_medicalcheck WHERE seq >= 2")

    assert verify_medical(incident) == "check 2: 3 checks were kept, and there are 1"
    assert run(str(incident.pk))[0] == 1


def test_medical_checks_written_anew_are_named():
    incident = open_incident()
    medic = join(incident, "medical")
    checked(incident, medic, at=START)
    anchors.keep_head(incident_id=incident.pk, at=minutes(5))
    row = incident.medical_checks.get()
    said = json.loads(bytes(row.canonical))
    said["fit"] = not said["fit"]
    forged = rfc8785.dumps(said)

    sql(
        "UPDATE incidents_medicalcheck SET fit = %s, canonical = %s, hash = %s",
        said["fit"],
        forged,
        hashlib.sha256(forged).hexdigest(),
    )

    assert verify_medical(incident) == "check 1: another than was kept at the time"
