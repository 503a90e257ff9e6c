"""What the chain shows, and what it does not: the table of attacks, one by one."""

import hashlib
import json
import uuid
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from incidents import services
from incidents.models import Incident, LogEntry
from incidents.services import chain
from tests.conftest import changes_allowed
from tests.factories import acid, log, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    """An opening and five readings."""
    incident = open_incident()
    for count in range(5):
        log(incident, acid(minutes(count), ph=str(count + 1)))
    incident.refresh_from_db()
    return incident


def tamper(incident, number, **columns):
    with changes_allowed():
        incident.entries.filter(seq=number).update(**columns)


def found(incident):
    incident.refresh_from_db()
    problem = chain.verify(incident)
    return problem and (problem.what, problem.seq)


def forge(entry, prev, **columns):
    """Rewrite a record with a hash that fits, as someone with the whole table could."""
    for name, value in {**columns, "prev_hash": prev}.items():
        setattr(entry, name, value)
    entry.canonical = chain.canonical_bytes(entry)
    entry.hash = hashlib.sha256(entry.canonical).hexdigest()
    entry.save()
    return entry.hash


def test_an_untouched_log_holds(incident):
    assert found(incident) is None


def test_the_hash_covers_the_record_the_one_before_and_the_incident(incident):
    entry = incident.entries.get(seq=3)
    before = incident.entries.get(seq=2)

    hashed = json.loads(bytes(entry.canonical))

    assert hashlib.sha256(bytes(entry.canonical)).hexdigest() == entry.hash
    assert hashed == {
        "v": 1,
        "incident": str(incident.pk),
        "seq": 3,
        "uuid": str(entry.client_uuid),
        "kind": "ph_paper",
        "body": entry.body,
        "observed_at": "2026-03-04T19:01:00.000000Z",
        "recorded_at": "2026-03-04T19:01:00.000000Z",
        "author": {"id": entry.author_id, "name": entry.author_name},
        "device": "",
        "prev": before.hash,
    }


@pytest.mark.parametrize(
    "columns",
    [
        {"body": "{}"},
        {"kind": "sign"},
        {"observed_at": minutes(90)},
        {"recorded_at": minutes(90)},
        {"author_name": "Someone Else"},
        {"device": "another"},
        {"client_uuid": uuid.UUID(int=7)},
    ],
)
def test_an_edited_column_is_named_with_its_entry(incident, columns):
    tamper(incident, 4, **columns)

    assert found(incident) == ("columns", 4)


def test_edited_bytes_no_longer_fit_their_hash(incident):
    entry = incident.entries.get(seq=4)

    tamper(
        incident, 4, canonical=bytes(entry.canonical).replace(b"ph_paper", b"ph_papes")
    )

    assert found(incident) == ("content", 4)


def test_an_edited_record_with_a_fresh_hash_breaks_the_link_after_it(incident):
    entry = incident.entries.get(seq=4)

    with changes_allowed():
        forge(entry, entry.prev_hash, body=entry.body.replace('"ph":3', '"ph":7'))

    assert found(incident) == ("link", 5)


def test_a_record_missing_in_the_middle_is_a_gap(incident):
    with changes_allowed():
        drop(incident, 4)

    assert found(incident) == ("gap", 4)


def drop(incident, seq):
    entry = incident.entries.get(seq=seq)
    for row in incident.findings.filter(entry=entry):
        row.events.all().delete()
        row.delete()
    for event in entry.finding_events.all():
        event.delete()
    entry.delete()


def test_two_swapped_records_show(incident):
    tamper(incident, 3, seq=99)
    tamper(incident, 4, seq=3)
    tamper(incident, 99, seq=4)

    assert found(incident) == ("columns", 3)


def test_a_cut_off_tail_no_longer_fits_the_head(incident):
    with changes_allowed():
        drop(incident, 6)

    assert found(incident) == ("head", 6)


def test_a_cut_off_tail_with_a_repaired_head_shows_only_against_an_anchor(incident):
    anchor = chain.Anchor(seq=incident.head_seq, hash=incident.head_hash)
    with changes_allowed():
        drop(incident, 6)
    last = incident.entries.get(seq=5)
    Incident.objects.filter(pk=incident.pk).update(head_seq=5, head_hash=last.hash)
    incident.refresh_from_db()

    assert chain.verify(incident) is None
    problem = chain.verify(incident, anchor=anchor)
    assert problem is not None
    assert (problem.what, problem.seq) == ("anchor", 6)


def test_a_rewritten_tail_shows_only_against_an_anchor(incident):
    anchor = chain.Anchor(seq=incident.head_seq, hash=incident.head_hash)
    with changes_allowed():
        prev = incident.entries.get(seq=4).hash
        entry = incident.entries.get(seq=5)
        prev = forge(entry, prev, body=entry.body.replace('"ph":4', '"ph":7'))
        prev = forge(incident.entries.get(seq=6), prev)
    Incident.objects.filter(pk=incident.pk).update(head_hash=prev)
    incident.refresh_from_db()

    assert chain.verify(incident) is None
    problem = chain.verify(incident, anchor=anchor)
    assert problem is not None
    assert problem.what == "anchor"


@pytest.mark.parametrize(
    ("columns", "what"),
    [
        ({"head_hash": "0" * 64}, "head"),
        ({"head_seq": 5}, "head"),
        ({"setup": "{}"}, "setup"),
        ({"closed_at": minutes(9)}, "closed"),
    ],
)
def test_an_incident_that_says_other_than_its_log_shows(incident, columns, what):
    Incident.objects.filter(pk=incident.pk).update(**columns)
    incident.refresh_from_db()

    problem = chain.verify(incident)

    assert problem is not None
    assert problem.what == what


def test_an_emptied_log_shows(incident):
    with changes_allowed():
        for seq in range(1, 7):
            drop(incident, seq)

    assert LogEntry.objects.filter(incident=incident).count() == 0
    assert found(incident) == ("head", 1)


def run(*arguments):
    out = StringIO()
    try:
        call_command("verify_chain", *arguments, stdout=out)
    except SystemExit as end:
        return end.code, out.getvalue()
    return 0, out.getvalue()


def test_the_command_says_that_every_log_holds(incident):
    log(open_incident(), acid(minutes(0)))

    code, said = run()

    assert code == 0
    assert f"incident {incident.pk}: 6 entries hold, head {incident.head_hash}" in said
    assert said.count("entries hold") == 2


def test_the_command_names_incident_entry_and_what_was_expected(incident):
    expected = incident.entries.get(seq=4).body
    tamper(incident, 4, body="{}")

    code, said = run(str(incident.pk))

    assert code == 1
    assert f"incident {incident.pk}, entry 4: columns" in said
    assert expected in said


def test_the_command_takes_a_head_that_a_report_prints(incident):
    held = f"{incident.head_seq}:{incident.head_hash}"
    log(incident, acid(minutes(9)))

    assert run(str(incident.pk), "--anchor", held)[0] == 0
    assert run(str(incident.pk), "--anchor", f"7:{'0' * 64}")[0] == 1
    assert run(str(incident.pk), "--anchor", f"99:{'0' * 64}")[0] == 1


@pytest.mark.parametrize(
    "arguments",
    [["nonsense"], [str(uuid.uuid4())], ["--anchor", f"1:{'0' * 64}"]],
)
def test_the_command_refuses_what_it_cannot_find(arguments):
    with pytest.raises(CommandError):
        run(*arguments)


def test_closing_and_opening_again_are_links_of_the_chain(incident):
    boss = incident.opened_by
    closing = {"incident_id": incident.pk, "person": boss, "reason": "Handed over"}
    services.close_incident(**closing, at=minutes(20))
    services.reopen_incident(
        incident_id=incident.pk, person=boss, at=minutes(21), reason="a second drum"
    )
    services.close_incident(**closing, at=minutes(22))

    assert found(incident) is None
    kinds = list(incident.entries.order_by("seq").values_list("kind", flat=True))
    assert kinds[0] == "opening"
    assert kinds[-3:] == ["closing", "reopening", "closing"]
