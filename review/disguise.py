"""A past incident as the material of a drill: readings and times stay, people do not.

Every id that people chose (of teams, members, instruments, entries) becomes a plain one,
every place another, notes and reasons are dropped, and the day is moved away. Readings,
their order, the seconds between them, clothing, cylinders, weather, limits and suspects
stay as they were, so the engine says the same to it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any, Final

from review.scripts import KEY

Document = Mapping[str, Any]

# The day of every script that was made here. The time of day stays: a bump test counts
# for its day, and a log may go on past midnight.
BEGINS: Final = date(2020, 1, 1)
COMMANDER: Final = "The commander"
NO_REASON: Final = "As in the incident"
LIMITS: Final = "Limits of the incident"
# Invented, each beginning with another letter.
_INVENTED: Final = (
    "Zarrow", "Yentley", "Xandry", "Wexlow", "Vorrin", "Ulvey", "Tobrin", "Skelby",
    "Runkel", "Quilby", "Prennow", "Ostrey", "Nimble", "Morrick", "Lunsey", "Kippow",
)  # fmt: skip
_DROPPED: Final = frozenset({"note"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Disguise:
    """What stands in the place of what was there."""

    name: str
    place: str
    goals: tuple[str, ...]
    briefing: str = ""
    places: Mapping[str, str] = field(default_factory=dict)
    people: Mapping[str, str] = field(default_factory=dict)  # by "team/member"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ids:
    """New ids by the old ones."""

    teams: Mapping[str, str]
    members: Mapping[tuple[str, str], str]  # by team and member
    instruments: Mapping[str, str]
    places: Mapping[str, str]
    containers: Mapping[str, str]
    entries: Mapping[str, str]
    shift: timedelta


def disguised(document: Document, given: Disguise) -> dict[str, Any]:
    """The script's document of a worksheet document; the worksheet has to be a valid one."""
    log = sorted(document["log"], key=lambda entry: (_at(entry["at"]), entry["id"]))
    ids = _ids(document, log, given)
    about = {**document["incident"], "name": given.name}
    if "weather_log" in about:
        about["weather_log"] = [
            {**look, "at": _moved(look["at"], ids.shift)}
            for look in about["weather_log"]
        ]
    rest = {key: document[key] for key in ("suspects",) if key in document}
    profile = dict(document.get("profile") or {})
    if profile:
        profile |= {"name": LIMITS, "version": "1"}
    found: dict[str, Any] = {
        "format": document["format"],
        "version": document["version"],
        "incident": about,
        **({"profile": profile} if profile else {}),
        "teams": [_team(team, ids) for team in document["teams"]],
        "instruments": [
            _instrument(one, ids) for one in document.get("instruments", ())
        ],
        **rest,
        "log": [_entry(entry, ids) for entry in log],
    }
    return found | {KEY: _drill(document, ids, given)}


def places_of(document: Document) -> tuple[str, ...]:
    """Every place that the log names, in the order in which it comes up."""
    named = (" ".join(str(entry.get("place", "")).split()) for entry in document["log"])
    return tuple(dict.fromkeys(filter(None, named)))


def members_of(document: Document) -> tuple[tuple[str, str], ...]:
    """Team and member of everyone in the teams."""
    return tuple(
        (team["id"], member["id"])
        for team in document["teams"]
        for member in team.get("members", ())
    )


def _ids(document: Document, log: list[Document], given: Disguise) -> _Ids:
    listed = [one["id"] for one in document.get("instruments", ())]
    used = [str(entry["instrument"]) for entry in log if "instrument" in entry]
    containers = [_plain(entry["container"]) for entry in log if "container" in entry]
    first = _at(log[0]["at"]).date() if log else BEGINS
    return _Ids(
        teams=_numbered("team", [team["id"] for team in document["teams"]]),
        members={
            key: f"m{number}" for number, key in enumerate(members_of(document), 1)
        },
        instruments=_numbered("instrument", [*listed, *used]),
        places=_places(places_of(document), given),
        containers=_numbered("container", containers),
        entries=_numbered("e", [entry["id"] for entry in log], width=4),
        shift=BEGINS - first,
    )


def _numbered(word: str, keys: list[str], width: int = 0) -> dict[str, str]:
    """A plain id for each key, in their order; `width` keeps the order of the text."""
    joint = "" if width else "-"
    return {
        key: f"{word}{joint}{number:0{width}d}"
        for number, key in enumerate(dict.fromkeys(keys), 1)
    }


def _places(named: tuple[str, ...], given: Disguise) -> dict[str, str]:
    """Places that differ in capitals only are one; by the text without capitals."""
    found: dict[str, str] = {}
    for place in named:
        key = _plain(place)
        if key not in found:
            found[key] = given.places.get(place) or f"Place {len(found) + 1}"
    return found


def _team(team: Document, ids: _Ids) -> dict[str, Any]:
    members = [
        {**member, "id": ids.members[team["id"], member["id"]]}
        for member in team.get("members", ())
    ]
    plain = {**team, "id": ids.teams[team["id"]]}
    return {**plain, "members": members} if "members" in team else plain


def _instrument(one: Document, ids: _Ids) -> dict[str, Any]:
    found = {**one, "id": ids.instruments[one["id"]]}
    if "calibration_due" in found:
        due = date.fromisoformat(found["calibration_due"]) + ids.shift
        found["calibration_due"] = due.isoformat()
    if found.get("last_bump_test"):
        found["last_bump_test"] = _moved(found["last_bump_test"], ids.shift)
    return found


def _entry(entry: Document, ids: _Ids) -> dict[str, Any]:
    team = entry.get("team", "")
    found = {key: value for key, value in entry.items() if key not in _DROPPED}
    found |= {"id": ids.entries[entry["id"]], "at": _moved(entry["at"], ids.shift)}
    if team:
        found["team"] = ids.teams[team]
    if "entry" in found:
        found["entry"] = ids.entries.get(found["entry"], found["entry"])
    if "member" in found:
        found["member"] = ids.members[team, found["member"]]
    if "unanswered" in found:
        found["unanswered"] = [ids.members[team, one] for one in found["unanswered"]]
    if "instrument" in found:
        found["instrument"] = ids.instruments[found["instrument"]]
    for name, new in (("place", ids.places), ("container", ids.containers)):
        if found.get(name):
            found[name] = new[_plain(found[name])]
    said = {"by": COMMANDER, "reason": NO_REASON, "method": NO_REASON}
    return found | {key: words for key, words in said.items() if key in found}


def _plain(text: object) -> str:
    """Texts that differ in capitals and blanks only are one."""
    return " ".join(str(text).split()).casefold()


def _drill(document: Document, ids: _Ids, given: Disguise) -> dict[str, Any]:
    names: dict[str, str] = {}
    for number, team in enumerate(document["teams"], 1):
        names[ids.teams[team["id"]]] = f"Team {number}, {team.get('role', 'other')}"
    for number, (team, member) in enumerate(members_of(document)):
        new = f"{ids.teams[team]}/{ids.members[team, member]}"
        names[new] = given.people.get(f"{team}/{member}") or _invented(number)
    found: dict[str, Any] = {
        "goals": list(given.goals),
        "place": given.place,
        "names": names,
    }
    return found | ({"briefing": given.briefing} if given.briefing else {})


def _invented(number: int) -> str:
    rest, which = divmod(number, len(_INVENTED))
    return _INVENTED[which] + (f" {rest + 1}" if rest else "")


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _moved(text: str, shift: timedelta) -> str:
    return (_at(text) + shift).isoformat()
