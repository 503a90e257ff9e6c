"""Running a drill: it begins, its script is given out, the crew decides, it ends.

Nothing runs in the background. What has come due follows from the clock, and whoever asks
for a page of the drill has it stored first: once, since each inject has an identifier that
follows from the drill and from its own, and under the incident's lock.

Times. The log has the script's own times, moved so that none of them lies ahead: the last
inject is of the moment at which it is given. At another pace than the script's the first
ones are therefore of before the drill began; when each was shown is when it was recorded.
"""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import Any, Final
from uuid import UUID, uuid4

from incidents.documents import dumps, loads
from incidents.drill_keys import keys_of, script_of
from incidents.models import (
    APP_KINDS,
    Drill,
    DrillAnswer,
    DrillMember,
    DrillScript,
    Incident,
    LogEntry,
    Person,
    PlannedDrill,
)
from incidents.models.log import DRILL
from incidents.services import chain, permissions
from incidents.services.drill_scripts import require_crew, require_own
from incidents.services.entries import append_entry
from incidents.services.errors import AlreadyDoneError, DrillError, NotAllowedError
from incidents.services.incidents import close_incident, open_incident
from incidents.services.locking import by_its_script, lock, one_transaction, save_head
from incidents.services.parts import give_role
from incidents.services.typed import refused
from review.scoring import LOOKS
from review.scripts import PARTS, Script
from screening.verdicts import Action

# Common practice, no source: what a crew can follow at all, and is not bored by.
SPEEDS: Final = (Drill.BY_HAND, 1, 2, 5, 10)
ANSWER_SECONDS: Final = (30, 60, 120, 300)
# Before the id of every instrument: no register has such a key, so that no test and no
# history of a real instrument ever meets one of a drill.
INSTRUMENT: Final = "drill: "
DEVICE: Final = "Inject of the script"
ENDED: Final = "Drill ended"


def start_drill(
    *,
    person: Person,
    script: DrillScript,
    crew: Mapping[Person, str],
    speed: int,
    answer_seconds: int,
    at: datetime,
    planned: PlannedDrill | None = None,
) -> Drill:
    """Open a drill as an incident of its own; `crew` gives each person's part.

    `speed` is one of `SPEEDS`, `answer_seconds` one of `ANSWER_SECONDS`. `planned` with
    this script is planned no longer.
    """
    agency = permissions.require_reviewer(person)
    require_own(script, agency)
    require_crew(list(crew), agency, person)
    if unknown := [role for role in crew.values() if role not in PARTS]:
        raise refused("/crew", f"a part of {', '.join(PARTS)}", unknown[0])
    if speed not in SPEEDS or answer_seconds not in ANSWER_SECONDS:
        raise refused("/speed", "a pace and an answer time that are offered")
    read = script_of(script)
    begins = at - _ahead(read.length, speed)
    with one_transaction():
        incident = _opened(person, script, read, begins)
        drill = Drill.objects.create(
            incident=incident,
            script=script,
            led_by=person,
            speed=speed,
            answer_seconds=answer_seconds,
            started_at=at,
            begins_at=begins,
        )
        _begin(incident, drill, crew, at)
        if planned is not None:
            rows = script.planned.filter(pk=planned.pk, begun_as=None)
            rows.update(begun_as=drill)
    if not drill.by_hand:
        give_due(incident_id=incident.pk, at=at)
    return drill


def _begin(
    incident: Incident, drill: Drill, crew: Mapping[Person, str], at: datetime
) -> None:
    """Let the crew in, and say in the log which script is played, and how."""
    said = {
        "script": drill.script.name,
        "sha256": drill.script.sha256,
        "speed": drill.speed,
        "answer_seconds": drill.answer_seconds,
    }
    with by_its_script(incident.pk):
        _let_in(incident, drill, crew, at)
        _say(lock(incident.pk), "begun", said, drill.led_by, at)


def _ahead(length: timedelta, speed: int) -> timedelta:
    """How long before its start a drill begins in the log, so that it ends with now."""
    return length if speed == Drill.BY_HAND else length - length / speed


def _opened(
    person: Person, script: DrillScript, read: Script, begins: datetime
) -> Incident:
    document = loads(script.document)
    about, names = document["incident"], read.names
    teams = [
        {
            **team,
            "name": names.get(team["id"], team["id"]),
            "members": [
                {**one, "name": names.get(f"{team['id']}/{one['id']}", one["id"])}
                for one in team.get("members", ())
            ],
        }
        for team in document["teams"]
    ]
    return open_incident(
        person=person,
        name=script.name,
        location=read.place,
        mission=about.get("mission", "other"),
        weather=about.get("weather"),
        weather_log=_moved_looks(about.get("weather_log"), read, begins),
        profile=document.get("profile"),
        teams=teams,
        instruments=[
            {**one, "id": f"{INSTRUMENT}{one['id']}"}
            for one in _moved_instruments(document, read, begins)
        ],
        suspects=document.get("suspects", ()),
        background_dose_rate=about.get("background_dose_rate"),
        at=begins,
        is_drill=True,
    )


def _moved_looks(
    looks: list[dict[str, Any]] | None, read: Script, begins: datetime
) -> list[dict[str, Any]] | None:
    if looks is None:
        return None
    shift = begins - read.worksheet.log[0].at
    return [
        {**one, "at": (datetime.fromisoformat(one["at"]) + shift).isoformat()}
        for one in looks
    ]


def _moved_instruments(
    document: Mapping[str, Any], read: Script, begins: datetime
) -> list[dict[str, Any]]:
    """With their days as far off as the script has them."""
    first = read.worksheet.log[0].at
    shift, days = begins - first, begins.astimezone(clock_of(read, begins)).date()
    found = []
    for one in document.get("instruments", ()):
        moved = dict(one)
        if moved.get("calibration_due"):
            due = datetime.fromisoformat(moved["calibration_due"]).date()
            moved["calibration_due"] = (due + (days - first.date())).isoformat()
        if moved.get("last_bump_test"):
            last = datetime.fromisoformat(moved["last_bump_test"]) + shift
            moved["last_bump_test"] = last.isoformat()
        found.append(moved)
    return found


def clock_of(script: Script, begins: datetime) -> tzinfo:
    """The offset of the moved times: the script's own, unless midnight would fall in
    between elsewhere than in the script. A bump test counts for its day, so the engine
    would else say something else at another hour.
    """
    first = script.worksheet.log[0].at
    own = timezone(first.utcoffset() or timedelta())
    moved = begins.astimezone(own)
    days = [
        (begins + script.offset(entry)).astimezone(own).date() - moved.date()
        for entry in script.worksheet.log
    ]
    if days == [entry.at.date() - first.date() for entry in script.worksheet.log]:
        return own
    begun = begins.astimezone(UTC)
    minutes = (first.hour - begun.hour) * 60 + first.minute - begun.minute
    half = 12 * 60
    return timezone(timedelta(minutes=(minutes + half) % (2 * half) - half))


def _let_in(
    incident: Incident, drill: Drill, crew: Mapping[Person, str], at: datetime
) -> None:
    for person, role in crew.items():
        DrillMember.objects.create(drill=drill, person=person, role=role)
        give_role(
            incident_id=incident.pk,
            person=drill.led_by,
            to=person,
            role=role,
            at=at,
        )


def give_due(*, incident_id: UUID, at: datetime) -> int:
    """Store what has come due and is not there yet; how many injects that were."""
    drill = _running(incident_id)
    if drill is None or drill.by_hand:
        return 0
    script = script_of(drill.script)
    passed = (at - drill.started_at) * drill.speed
    due = sum(script.offset(entry) <= passed for entry in script.worksheet.log)
    return _give(drill, script, up_to=due, at=at)


def give_next(*, incident_id: UUID, person: Person, at: datetime) -> int:
    """Store the injects up to the next that the crew decides on; for who leads it."""
    drill = _led(incident_id, person)
    if not drill.by_hand:
        raise DrillError("This drill goes by the clock.")
    script = script_of(drill.script)
    given = _given(incident_id)
    log = script.worksheet.log
    asked = [
        position
        for position, entry in enumerate(log, 1)
        if position > given and entry.id in script.asks
    ]
    return _give(drill, script, up_to=asked[0] if asked else len(log), at=at)


def _given(incident_id: UUID) -> int:
    rows = LogEntry.objects.filter(incident_id=incident_id)
    return rows.exclude(kind__in=APP_KINDS).count()


def _give(drill: Drill, script: Script, *, up_to: int, at: datetime) -> int:
    """Nothing is stored twice: the identifiers are the same each time."""
    if _given(drill.pk) >= up_to:
        return 0
    raw = {entry["id"]: entry for entry in loads(drill.script.document)["log"]}
    keys, clock = keys_of(drill, script), clock_of(script, drill.begins_at)
    with one_transaction(), by_its_script(drill.pk):
        lock(drill.pk)
        if _running(drill.pk) is None:
            return 0
        given = _given(drill.pk)
        for entry in script.worksheet.log[given:up_to]:
            append_entry(
                incident_id=drill.pk,
                person=drill.led_by,
                body=_body(
                    raw[entry.id],
                    drill.begins_at + script.offset(entry),
                    clock,
                    script,
                    keys,
                ),
                client_uuid=keys[entry.id],
                recorded_at=at,
                device=DEVICE,
            )
    return max(up_to - given, 0)


def _body(
    raw: Mapping[str, Any],
    moment: datetime,
    clock: tzinfo,
    script: Script,
    keys: Mapping[str, UUID],
) -> dict[str, Any]:
    moved = moment.astimezone(clock).isoformat()
    body = {**raw, "id": str(keys[raw["id"]]), "at": moved}
    if "entry" in raw:
        body["entry"] = str(keys[raw["entry"]])
    if raw.get("instrument") in script.worksheet.context.instruments:
        body["instrument"] = f"{INSTRUMENT}{raw['instrument']}"
    return body


def answer(
    *,
    incident_id: UUID,
    person: Person,
    seq: int,
    action: Action,
    look: str = "",
    at: datetime,
) -> DrillAnswer:
    """Record what one of the crew decides after an inject; the first answer counts.

    Raises `AlreadyDoneError` for a second one, `DrillError` after the time for it, and
    `NotAllowedError` for who was not asked.
    """
    if look and look not in LOOKS:
        raise refused("/look", f"one of {', '.join(LOOKS)}", look)
    with one_transaction(), by_its_script(incident_id):
        lock(incident_id)
        drill = _running(incident_id)
        if drill is None:
            raise DrillError("This drill is over.")
        inject = _asked(drill, person, seq)
        if at > inject.recorded_at + timedelta(seconds=drill.answer_seconds):
            raise DrillError("The time to answer this one has run out.")
        earlier = DrillAnswer.objects.filter(entry=inject, person=person).first()
        if earlier is not None:
            raise AlreadyDoneError(
                "You have answered this one", by=person.shown_name, at=earlier.at
            )
        return DrillAnswer.objects.create(
            drill=drill,
            entry=inject,
            person=person,
            action=action.value,
            look=look,
            at=at,
        )


def _asked(drill: Drill, person: Person, seq: int) -> LogEntry:
    """The inject, if this person is one of those who decide on it."""
    member = drill.crew.filter(person=person).first()
    row = drill.incident.entries.filter(seq=seq).exclude(kind__in=APP_KINDS).first()
    script = script_of(drill.script)
    ids = {str(key): name for name, key in keys_of(drill, script).items()}
    name = ids.get(row.key, "") if row is not None else ""
    if member is None or row is None or name not in script.asks:
        raise NotAllowedError("You are not asked to decide on this.")
    if not script.seen_by(name, member.role):
        raise NotAllowedError("You are not asked to decide on this.")
    return row


def end_drill(*, incident_id: UUID, person: Person, at: datetime) -> Drill:
    """End it: the log is closed, and every page opens to the crew."""
    drill = _led(incident_id, person)
    with one_transaction(), by_its_script(incident_id):
        incident = lock(incident_id)
        if _running(incident_id) is None:
            raise DrillError("This drill is over.")
        _say(incident, "ended", {}, person, at)
        close_incident(incident_id=incident_id, person=person, at=at, reason=ENDED)
        drill.ended_at = at
        drill.save(update_fields=["ended_at"])
    return drill


def _running(incident_id: UUID) -> Drill | None:
    rows = Drill.objects.filter(pk=incident_id, ended_at=None)
    return rows.select_related("script", "led_by", "incident").first()


def _led(incident_id: UUID, person: Person) -> Drill:
    permissions.require_reviewer(person)
    drill = _running(incident_id)
    if drill is None:
        raise DrillError("This drill is over.")
    if drill.led_by_id != person.pk:
        raise NotAllowedError("Who began a drill leads it.")
    return drill


def _say(
    incident: Incident, what: str, more: Mapping[str, Any], person: Person, at: datetime
) -> LogEntry:
    """A record of the drill itself, in the incident's own chain; the caller holds it."""
    body = {"what": what, "by": person.shown_name, **more}
    row = chain.add_record(
        incident=incident,
        kind=DRILL,
        body=dumps({key: value for key, value in body.items() if value != ""}),
        client_uuid=uuid4(),
        observed_at=at,
        recorded_at=at,
        author=person,
    )
    save_head(incident)
    return row
