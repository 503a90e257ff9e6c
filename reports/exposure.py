"""One person's exposure record of one incident: plain values, made from log and plan.

29 CFR 1910.1020(c)(5)(i) makes every area or grab reading with its method an exposure
record, and (c)(8) counts possible and accidental exposure by any route. So each spell in
the hot or warm zone, in decon or at a post is listed with what was read and found at that
place; where nothing was read the level is unknown, never none. The names of other people
do not come out: neither as members nor out of free text.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from command.documents import name_key
from command.dose import DoseReading, Ledger, ledger
from command.line_parts import WHERE_IS
from command.plan import Plan
from command.whereabouts import Clean, Person, Stay, clean
from reports import exposure_notes
from reports.exposure_finds import NO_AGENT, Find, Found, OfSpell, of_spells
from reports.exposure_notes import Line
from reports.words import KIND_LABELS, describe
from screening.ensembles import Ensemble
from screening.incident import Context
from screening.instruments import PAPERS
from screening.memory import place_key
from screening.readings import Dosimeter, Entry
from screening.state import State
from screening.trust import is_unverified, standing_log, untrusted

__all__ = [
    "COUNTED",
    "KEPT_YEARS",
    "NO_AGENT",
    "RECORD_SOURCE",
    "SOMEBODY",
    "WATCH_HOURS",
    "ExposureRecord",
    "Find",
    "Found",
    "Incident",
    "Line",
    "Read",
    "Spell",
    "exposure_record",
    "needs_record",
]

SOMEBODY: Final = "another person"
KEPT_YEARS: Final = 30  # 29 CFR 1910.1020(d)(1)(ii)
# 29 CFR 1910.146, note to the definition of IDLH: some materials such as hydrogen fluoride
# vapour, a person may collapse 12 to 72 hours after feeling recovered.
WATCH_HOURS: Final = (12, 72)
RECORD_SOURCE: Final = "29 CFR 1910.1020(c)(5)(i), (c)(8) and (d)(1)(ii)"
# Where somebody may have met something.
COUNTED: Final = frozenset({"hot", "warm", "decon"})
_FLUORIDE: Final = ("fluoride", "hydrofluoric")


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """One reading at a place while the person was there."""

    at: datetime
    method: str
    words: str
    check: str  # how far the instrument could be trusted


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """One spell of the person: where, how long, in what, what was read and found."""

    zone: str
    place: str
    since: datetime
    until: datetime | None
    lasted: timedelta
    worn: str  # "" where no team's clothing is known
    readings: tuple[Read, ...]
    found: tuple[Found, ...]
    # Agents of this place whose find is listed under another spell there.
    elsewhere: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureRecord:
    """Everything that is known of one person's exposure in one incident."""

    name: str
    at: datetime  # the moment up to which it counts: now, or the end of the incident
    teams: tuple[str, ...]
    spells: tuple[Spell, ...]
    inside: timedelta
    dose: Ledger
    decon: tuple[Line, ...]
    clean: Clean
    noted: tuple[Line, ...]
    notices: tuple[Line, ...]
    volunteered: tuple[Line, ...]
    watch_until: datetime | None  # for delayed effects; None where none is suspected
    keep_until: datetime

    @property
    def agents(self) -> tuple[str, ...]:
        """The agents met, by name, each once; () where none was found."""
        return tuple(
            dict.fromkeys(each.hazard for spell in self.spells for each in spell.found)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident:
    """What the record needs of the incident."""

    context: Context
    state: State
    plan: Plan
    people: tuple[Person, ...]
    finds: tuple[Find, ...]
    teams: Mapping[str, str]  # id to name
    members: Mapping[str, Mapping[str, str]]  # team id to (member id to name)
    instruments: Mapping[str, str]  # id to label
    opened_at: datetime
    at: datetime


def needs_record(person: Person, plan: Plan) -> bool:
    """Everyone who was ever in the hot or warm zone, in decon or at a post has one, and
    whoever something is noted of."""
    if not person.named:
        return False
    been = any(stay.where in COUNTED or stay.place for stay in person.stays)
    return been or any(
        exposure_notes.names(record.says, person)
        for record in exposure_notes.of_people(plan)
    )


def exposure_record(incident: Incident, person: Person) -> ExposureRecord:
    """The record of one of `incident.people`."""
    hide = _hider(incident, person)
    log = standing_log(incident.state)
    doubtful = untrusted(incident.state, incident.context)
    stays = [stay for stay in person.stays if stay.where in COUNTED or stay.place]
    found = of_spells(incident.finds, stays, incident.at, hide)
    spells = tuple(
        _spell(incident, person, stay, log, doubtful, hide, those)
        for stay, those in zip(stays, found, strict=True)
    )
    hot = person.hot()
    ended = hot[-1].until or incident.at if hot else None
    return ExposureRecord(
        name=person.name,
        at=incident.at,
        teams=tuple(incident.teams.get(team, team) for team in person.teams),
        spells=spells,
        inside=sum((stay.lasted(incident.at) for stay in hot), timedelta()),
        dose=_dose(incident, person, log),
        decon=tuple(exposure_notes.decon(incident.plan, person, hide)),
        clean=clean(person, incident.plan, incident.at),
        noted=tuple(exposure_notes.noted(incident.plan, person, hide)),
        notices=tuple(exposure_notes.notices(incident.plan, person, hide)),
        volunteered=tuple(exposure_notes.volunteered(incident.plan, person, hide)),
        watch_until=ended + timedelta(hours=WATCH_HOURS[1])
        if ended and _fluoride(incident, spells)
        else None,
        keep_until=_years_on(incident.opened_at, KEPT_YEARS),
    )


def _years_on(moment: datetime, years: int) -> datetime:
    try:
        return moment.replace(year=moment.year + years)
    except ValueError:  # the 29th of February
        return moment.replace(year=moment.year + years, month=3, day=1)


# --- Spells -----------------------------------------------------------------------------


def _spell(
    incident: Incident,
    person: Person,
    stay: Stay,
    log: Sequence[Entry],
    doubtful: Mapping[str, str],
    hide: Callable[[str], str],
    found: OfSpell,
) -> Spell:
    end = stay.until or incident.at
    here = [
        entry
        for entry in log
        if entry.is_reading
        and entry.kind != "air_check"
        and stay.since <= entry.at <= end
        and _is_there(entry, stay)
    ]
    return Spell(
        zone=WHERE_IS[stay.where],
        place=hide(stay.place),
        since=stay.since,
        until=stay.until,
        lasted=stay.lasted(incident.at),
        worn=_worn(incident, stay, person, log),
        readings=tuple(
            _read(incident, person, entry, doubtful, hide)
            for entry in here
            if not _of_another(incident, person, entry)
        ),
        found=found.found,
        elsewhere=found.elsewhere,
    )


def _is_there(entry: Entry, stay: Stay) -> bool:
    """At that place; of a place that has no name, by that team."""
    if place_key(entry.place) != place_key(stay.place):
        return False
    return bool(stay.place) or entry.team == stay.team


def _of_another(incident: Incident, person: Person, entry: Entry) -> bool:
    """A dose that was read of somebody else is theirs."""
    return isinstance(entry, Dosimeter) and not _is_of(incident, person, entry)


def _is_of(incident: Incident, person: Person, entry: Dosimeter) -> bool:
    if not entry.member:
        return True
    names = incident.members.get(entry.team, {})
    member = Person(name=names.get(entry.member, entry.member))
    return entry.team in person.teams and member.key == person.key


def _read(
    incident: Incident,
    person: Person,
    entry: Entry,
    doubtful: Mapping[str, str],
    hide: Callable[[str], str],
) -> Read:
    names = dict(incident.instruments)
    if isinstance(entry, Dosimeter) and entry.member:
        names[entry.member] = person.name
    return Read(
        at=entry.at,
        method=KIND_LABELS.get(entry.kind, entry.kind),
        words=hide(describe(entry, names)),
        check=_check(incident, entry, doubtful),
    )


def _check(incident: Incident, entry: Entry, doubtful: Mapping[str, str]) -> str:
    """How far the instrument could be trusted when it was read."""
    label = incident.instruments.get(entry.instrument, entry.instrument)
    if is_unverified(entry, incident.context):
        return "meter not in the register: unverified"
    if entry.id in doubtful:
        if doubtful[entry.id] == "lel":
            return f"{label or 'instrument'}: LEL sensor in doubt, its quiet proves nothing"
        return f"{label or 'instrument'}: out of date or failed; quiet proves nothing"
    if entry.instrument:
        return f"{label}: nothing known against it"
    return "lot not noted" if entry.kind in PAPERS else "no instrument"


def _worn(incident: Incident, stay: Stay, person: Person, log: Iterable[Entry]) -> str:
    team = incident.context.teams.get(stay.team)
    if team is None or stay.where != "hot":
        return ""
    names = incident.members.get(stay.team, {})
    own = (
        ensemble.label
        for member, ensemble in team.own_ensembles.items()
        if name_key(names.get(member, member)) == person.key
    )
    worn = [next(own, team.ensemble.label)]
    for entry in log:
        if entry.kind != "change_ensemble" or entry.team != stay.team:
            continue
        label = Ensemble(getattr(entry, "ensemble", "")).label
        if entry.at <= stay.since:
            worn = [label]
        elif stay.until is None or entry.at <= stay.until:
            worn.append(label)
    return ", then ".join(worn)


def _fluoride(incident: Incident, spells: Iterable[Spell]) -> bool:
    named = [each.hazard for spell in spells for each in spell.found]
    named += incident.context.suspects
    named += [substance.name for substance in incident.plan.substances]
    return any(word in name.casefold() for name in named for word in _FLUORIDE)


# --- Dose -------------------------------------------------------------------------------


def _dose(incident: Incident, person: Person, log: Iterable[Entry]) -> Ledger:
    been_in = {stay.team for stay in person.hot()}
    readings = [
        DoseReading(
            at=entry.at,
            team=entry.team,
            instrument=entry.instrument,
            member=entry.member,
            rem=entry.dose_rem,
            shown=entry.shown.get("dose", f"{entry.dose_rem} rem"),
        )
        for entry in log
        if isinstance(entry, Dosimeter)
        and entry.dose_rem is not None
        and entry.team in person.teams
        and _is_of(incident, person, entry)
    ]
    teams = incident.state.core.teams
    rated = [
        teams[team].dose.now(incident.at)
        for team in sorted(been_in)
        if team in teams and teams[team].dose.rate is not None
    ]
    return ledger(
        readings,
        sum(rated[1:], start=rated[0]) if rated else None,
        incident.context.profile,
        incident.context.mission,
    )


# --- Names of others ---------------------------------------------------------------------


def _hider(incident: Incident, person: Person) -> Callable[[str], str]:
    """Takes the names of everyone else out of a text, typed as they are or otherwise."""
    others = sorted(
        {
            each.name
            for each in incident.people
            if each.named and each.key != person.key
        },
        key=len,
        reverse=True,
    )
    if not others:
        return lambda text: text
    names = "|".join(r"\s+".join(map(re.escape, name.split())) for name in others)
    pattern = re.compile(rf"(?<!\w)(?:{names})(?!\w)", re.IGNORECASE)
    return lambda text: pattern.sub(SOMEBODY, text)
