"""A worksheet goes out and comes in again, byte for byte, as an incident to be read."""

import json
import re
import uuid
from decimal import Decimal
from io import BytesIO, StringIO, TextIOWrapper

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from incidents import engine, judging, services
from incidents.models import (
    Agency,
    ImportedWorksheet,
    Incident,
    LogEntry,
    MedicalCheck,
    Person,
    StoredFinding,
)
from incidents.services import anchors, chain, devices
from incidents.services.errors import ImportedError
from incidents.services.importing import import_worksheet, uuids_of
from incidents.worksheet import worksheet_file
from screening.result import screen
from screening.worksheet import load_json
from tests.factories import (
    START,
    PersonFactory,
    acid,
    entry,
    log,
    meter,
    minutes,
    open_incident,
)
from tests.incidents.services.test_medical import WELL

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

# Spaces, an escape, the order of the keys, a line end and 7.50: all is to come back.
FOREIGN = """{
 "version": 1, "format": "hazmat-incident-worksheet",
 "incident": {"name": "Canal Road \\u00e9cluse", "mission": "other",
   "weather": {"relative_humidity_percent": 45.0}},
 "teams": [{"id": "E1", "role": "entry", "ensemble": "turnout_scba",
            "members": [{"id": "a"}]}],
 "log": [
  {"id": "o2", "at": "2026-03-04T14:06:00-05:00", "team": "E1", "place": "dock",
   "kind": "ph_paper", "sample": "vapour", "moistened": true, "ph": 7.50},
  {"id": "o1", "at": "2026-03-04T14:02:00-05:00", "team": "E1", "place": "dock",
   "kind": "ph_paper", "sample": "vapour", "moistened": true, "ph": 2},
  {"id": "o3", "at": "2026-03-04T14:07:00-05:00", "kind": "acknowledge",
   "by": "A. Alder",
   "entry": "o1"},
  {"id": "o4", "at": "2026-03-04T14:08:00-05:00", "kind": "strike",
   "by": "A. Alder",
   "entry": "o2", "reason": "wrong strip"}
 ]
}
"""


def bring_in(file, person=None):
    person = person or PersonFactory.create()
    content = file.encode() if isinstance(file, str) else file
    return import_worksheet(
        file=content, person=person, agency=person.agency, at=minutes(60)
    )


def export(incident):
    """What the command writes to a pipe."""
    pipe = TextIOWrapper(BytesIO(), "ascii")  # a terminal that knows few characters
    call_command("export_worksheet", str(incident.pk), stdout=pipe)
    return pipe.buffer.getvalue()


def test_a_foreign_file_comes_out_as_it_came_in():
    incident = bring_in(FOREIGN)

    assert export(incident) == FOREIGN.encode()


def full_incident():
    incident = open_incident()
    reading = log(
        incident, acid(minutes(1), ph="2.50", note="\u05e9\u05dc\u05d5\u05dd")
    )
    log(incident, entry("acknowledge", minutes(2), entry=reading.entry.key))
    log(incident, meter(minutes(4), lel_percent=Decimal("0.0"), note="<b>\U0001f600"))
    log(incident, acid(minutes(3), ph="7"), recorded_at=minutes(6))
    log(incident, entry("strike", minutes(7), entry=reading.entry.key, reason="x"))
    return incident


def test_json_to_import_to_export_is_the_same_file_again_and_again():
    first = export(full_incident())
    once = export(bring_in(first))
    twice = export(bring_in(once))

    assert first == once == twice
    assert b'"ph":2.50' in first


def test_the_bytes_keep_a_mark_at_their_beginning():
    file = b"\xef\xbb\xbf" + FOREIGN.encode()

    assert export(bring_in(file)) == file


@pytest.mark.parametrize("made", ["foreign", "own"])
def test_the_engine_says_of_the_file_what_the_app_says(made):
    incident = bring_in(FOREIGN if made == "foreign" else export(full_incident()))

    outside = screen(load_json(export(incident)))  # at the last entry of the file
    now = engine.live(incident)
    inside = judging.judge(incident, now, minutes(60 * 24 * 266))

    assert [(t["id"], t["action"]) for t in outside["teams"]] == [
        (team.id, team.action.word) for team in inside.teams
    ]
    assert {
        (team["id"], found["rule"], found["because"])
        for team in outside["teams"]
        for found in team["findings"]
    } == {
        (team.id, found.rule, found.because)
        for team in inside.teams
        for found in team.findings
    }
    assert not now.not_judged


def test_what_each_entry_raised_is_kept_as_the_engine_says_it():
    incident = bring_in(FOREIGN)
    ids = uuids_of(["o1", "o2", "o3", "o4"])
    outside = screen(load_json(FOREIGN))

    said = {
        (ids[entry["id"]], found["rule"], found["team"])
        for entry in outside["entries"]
        for found in entry["findings"]
    }

    rows = StoredFinding.objects.filter(incident=incident, superseded=False)
    kept = {(row.entry.key, row.rule, row.team_key) for row in rows}
    assert said
    assert kept == said


def test_entries_of_one_moment_keep_the_order_of_their_ids():
    """The engine orders by time, then by id: another order could judge otherwise."""
    ids = ["b", "a10", "a9", "\u00e9", "B"]

    found = uuids_of(ids)

    assert sorted(ids) == sorted(ids, key=found.__getitem__)
    assert len(set(found.values())) == 5
    assert found == uuids_of(list(reversed(ids)))


def test_uuids_stay_as_they_are():
    ids = [str(uuid.uuid4()), str(uuid.uuid4())]

    assert uuids_of(ids) == {text: text for text in ids}


def test_the_import_is_chained_closed_and_holds():
    incident = bring_in(FOREIGN)

    incident.refresh_from_db()
    assert chain.verify(incident) is None
    assert incident.is_closed
    assert incident.opened_at.isoformat() == "2026-03-04T19:02:00+00:00"
    kinds = list(incident.entries.order_by("seq").values_list("kind", flat=True))
    assert kinds == [
        "opening",
        "ph_paper",
        "ph_paper",
        "acknowledge",
        "strike",
        "closing",
    ]


# --- Nobody writes to it --------------------------------------------------------------


def attempts(incident, person):
    by = {"incident_id": incident.pk, "person": person}
    sent = by | {"client_uuid": uuid.uuid4(), "recorded_at": minutes(70)}
    return {
        "append_entry": lambda: services.append_entry(
            body=acid(minutes(69), team="E1"), **sent
        ),
        "write_note": lambda: services.write_note(text="x", at=minutes(70), **sent),
        "call_mayday": lambda: services.call_mayday(at=minutes(70), **sent),
        "add_addendum": lambda: services.add_addendum(text="x", at=minutes(70), **sent),
        "reopen": lambda: services.reopen_incident(at=minutes(70), reason="x", **by),
        "amend": lambda: services.amend_setup(
            changes={"mission": "rescue"}, at=minutes(70), **by
        ),
        "add_team": lambda: services.add_team(
            team={"id": "t", "role": "entry", "ensemble": "level_a"},
            at=minutes(70),
            **by,
        ),
        "record_part": lambda: services.record_part(
            part="mode", says={"mode": "offensive"}, at=minutes(70), **by
        ),
        "undo": lambda: services.undo(seq=2, recorded_at=minutes(70), **by),
        "give_role": lambda: services.give_role(
            to=person, role="technician", at=minutes(70), **by
        ),
        "make_report": lambda: services.make_report(at=minutes(70), **by),
        "offer_device": lambda: devices.offer_device(
            team="E1", name="Phone", at=minutes(70), **by
        ),
        "record_check": lambda: services.record_check(
            name="a", kind="before", values=WELL, at=minutes(70), **sent
        ),
    }


@pytest.mark.parametrize("name", list(attempts(Incident(pk=uuid.uuid4()), None)))
def test_no_service_writes_to_an_imported_incident(name):
    """Not even for someone who was made its commander past the services."""
    incident = bring_in(FOREIGN)
    person = incident.opened_by
    role = "medical" if name == "record_check" else "commander"
    incident.roles.filter(person=person).update(role=role)
    before = rows_of(incident)

    with pytest.raises(ImportedError):
        attempts(incident, person)[name]()

    assert rows_of(incident) == before


def rows_of(incident):
    incident = Incident.objects.get(pk=incident.pk)
    return (
        incident.head_hash,
        incident.revision,
        incident.setup,
        incident.entries.count(),
        incident.reports.count(),
        MedicalCheck.objects.count(),
    )


def test_its_head_can_be_kept_and_its_findings_compared():
    incident = bring_in(FOREIGN)

    kept = anchors.keep_head(incident_id=incident.pk, at=minutes(80))

    assert kept.seq == 6
    call_command("rebuild", str(incident.pk), stdout=StringIO())


# --- What does not fit ----------------------------------------------------------------

WRONG = FOREIGN.replace('"ph": 2', '"ph": 22').replace('"E1", "role"', '"E9", "role"')


def nothing_stored():
    return (
        Incident.objects.count(),
        LogEntry.objects.count(),
        ImportedWorksheet.objects.count(),
        StoredFinding.objects.count(),
    ) == (0, 0, 0, 0)


def test_every_error_is_named_with_its_pointer_and_nothing_is_kept():
    with pytest.raises(services.EntryRefusedError) as refusal:
        bring_in(WRONG)

    pointers = [error.pointer for error in refusal.value.errors]
    assert {"/log/0/team", "/log/1/team", "/log/1/ph"} <= set(pointers)
    assert nothing_stored()


def test_an_id_that_the_tables_have_no_place_for_is_refused_and_named():
    with pytest.raises(services.EntryRefusedError) as refusal:
        bring_in(FOREIGN.replace('"E1"', f'"{"E" * 61}"'))

    assert [error.pointer for error in refusal.value.errors] == ["/teams/0/id"]
    assert nothing_stored()


def test_a_fault_in_the_middle_leaves_nothing(monkeypatch):
    person = PersonFactory.create()
    monkeypatch.setattr(
        "incidents.services.importing.note_answers", lambda *given: 1 / 0
    )

    with pytest.raises(ZeroDivisionError):
        bring_in(FOREIGN, person)

    assert nothing_stored()


def test_another_agency_s_list_is_refused():
    person = PersonFactory.create()

    with pytest.raises(services.NotAllowedError):
        import_worksheet(
            file=FOREIGN.encode(),
            person=person,
            agency=PersonFactory.create().agency,
            at=START,
        )

    assert nothing_stored()


# --- The commands ---------------------------------------------------------------------


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "worksheet.json"
    path.write_bytes(FOREIGN.encode())
    return path


def run(file, *arguments):
    out, err = StringIO(), StringIO()
    call_command("import_worksheet", str(file), *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def test_the_command_prints_the_id_alone_on_its_last_line(file):
    out, _ = run(file, "--agency", "Example County")

    last = out.rstrip("\n").split("\n")[-1]
    assert re.fullmatch("[0-9a-f-]{36}", last)
    incident = Incident.objects.get(pk=last)
    assert incident.agency.name == "Example County"
    assert export(incident) == FOREIGN.encode()


def test_the_command_takes_the_oldest_agency_and_lets_its_people_read(file):
    boss = PersonFactory.create()
    other = PersonFactory.create(agency=boss.agency, may_open=False)
    PersonFactory.create()

    out, _ = run(file)

    incident = Incident.objects.get(pk=out.split()[-1])
    assert incident.agency == boss.agency
    roles = list(incident.roles.values_list("person", "role"))
    assert roles == [(boss.pk, "viewer")]
    assert other.roles.count() == 0
    importer = Person.objects.get(display_name="Import")
    assert not importer.is_active
    assert not importer.has_usable_password()


def test_the_command_names_each_error_and_makes_no_agency(tmp_path):
    path = tmp_path / "wrong.json"
    path.write_text(WRONG, encoding="utf-8")
    out, err = StringIO(), StringIO()

    with pytest.raises(CommandError, match="Nothing was imported: [0-9]+ errors"):
        call_command("import_worksheet", str(path), stdout=out, stderr=err)

    assert "/log/1/ph: 22, expected" in err.getvalue()
    assert out.getvalue() == ""
    assert nothing_stored()
    assert Agency.objects.count() == 0


def test_an_agency_that_is_not_there_is_refused_with_those_that_are(file):
    PersonFactory.create(agency__name="Example County")

    with pytest.raises(CommandError, match="There is: Example County"):
        run(file, "--agency", "Exemple County")


def test_the_file_is_neither_changed_nor_deleted():
    from django.db import DatabaseError, connection, transaction

    bring_in(FOREIGN)

    for statement in (
        "UPDATE incidents_importedworksheet SET sha256 = sha256",
        "DELETE FROM incidents_importedworksheet",
    ):
        with (
            pytest.raises(DatabaseError, match="takes no"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)


def test_a_long_note_with_markup_emoji_and_hebrew_comes_back():
    """10,000 characters pass the engine's reader and the log as they are."""
    document = json.loads(FOREIGN)
    note = ('<b>"=1+1"</b>\n\U0001f9ea \u05e9\u05dc\u05d5\u05dd ' * 500)[:9999] + "."
    document["log"][0]["note"] = note
    file = json.dumps(document, ensure_ascii=False).encode()

    incident = bring_in(file)

    assert export(incident) == file
    stored = incident.entries.get(seq=2)
    assert json.loads(stored.body)["note"] == note
    assert worksheet_file(incident) == file
