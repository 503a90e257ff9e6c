"""The whole line: time, team, place, what was read, which instrument, a note."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Final

from incidents.clock_times import NotATimeError, clock_time
from incidents.radio.cursor import Cursor, MisheardError, listed
from incidents.radio.decisions import DECISIONS, WITHOUT_PLACE, WITHOUT_TEAM
from incidents.radio.readings import Reader, starters
from incidents.radio.understood import Known, Problem, Understood

LONGEST: Final = 500
MOST_OFFERED: Final = 12
_PAPERS: Final = frozenset({"ph_paper", "ki_starch_paper", "fluoride_paper"})


def understand(line: str, known: Known) -> Understood:
    """Read a line. Never raises: what is wrong is said at its word."""
    if len(line) > LONGEST:
        too_long = Problem(LONGEST, len(line), f"at most {LONGEST} characters")
        return Understood(body={}, problems=(too_long,))
    reading = _Reading(Cursor(line), known, set())
    try:
        _read(reading)
    except MisheardError as error:
        return _understood(reading, (error.problem,))
    return _understood(reading, ())


def complete(line: str, known: Known) -> tuple[str, ...]:
    """The words that may follow, or finish the word that has been begun."""
    head, begun = line, ""
    if line and not line[-1].isspace():
        cut = max(line.rfind(" "), line.rfind("\t")) + 1
        head, begun = line[:cut], line[cut:]
    cursor = Cursor(head)
    with suppress(MisheardError):
        _read(_Reading(cursor, known, set()))
    folded = begun.casefold()
    offered = (text for text in cursor.awaited if text.casefold().startswith(folded))
    return tuple(text for text in offered if text.casefold() != folded)[:MOST_OFFERED]


@dataclass(frozen=True, slots=True)
class _Reading:
    """One go through a line. `assumed` fills up with what was not said."""

    cursor: Cursor
    known: Known
    assumed: set[str]


def _understood(reading: _Reading, problems: tuple[Problem, ...]) -> Understood:
    return Understood(
        body=reading.cursor.body,
        problems=problems,
        spans=reading.cursor.spans,
        assumed=frozenset(reading.assumed),
    )


def _read(reading: _Reading) -> None:
    cursor, known = reading.cursor, reading.known
    cursor.asks(known.teams.values())
    _aside(reading)
    _team(reading)
    starts = _starts(known)
    _place(reading, starts)
    if cursor.done and "team" not in cursor.body:
        starts = _without_team(reading, starts)
    cursor.started = cursor.position
    kind, reader = cursor.choose(starts, f"what was read: {listed(starts)}")
    cursor.body["kind"] = kind
    _place_of_kind(reading, kind)
    reader(cursor, known)
    if kind in _PAPERS and "sample" not in cursor.body:
        cursor.body["sample"] = "vapour"
        reading.assumed.add("sample")
    while not cursor.done and _aside(reading):
        pass
    if not cursor.done:
        cursor.fail("the end of the line, with, at or note")


def _starts(known: Known) -> dict[str, tuple[str, Reader]]:
    every = {**dict(starters(known)), **DECISIONS}
    return {
        word: start
        for word, start in every.items()
        if known.kinds is None or start[0] in known.kinds
    }


def _team(reading: _Reading) -> None:
    cursor, teams = reading.cursor, reading.known.teams
    names = {name: key for key, name in teams.items()} | {key: key for key in teams}
    since = cursor.position
    team = cursor.take_of(names)
    if team is not None:
        cursor.put("team", team, since)
    elif len(teams) == 1:
        cursor.body["team"] = next(iter(teams))
        reading.assumed.add("team")


def _place(reading: _Reading, starts: Mapping[str, Any]) -> None:
    """Words up to the one that begins the reading; the longest known place first."""
    cursor, since = reading.cursor, reading.cursor.position
    place = cursor.take_of({name: name for name in reading.known.places})
    if place is None:
        place = " ".join(_new_place(cursor, starts))
    if not place:
        return
    if "team" not in cursor.body and not cursor.done:
        _needs_team(reading, since, starts)
    cursor.put("place", place, since)


def _new_place(cursor: Cursor, starts: Mapping[str, Any]) -> list[str]:
    taken: list[str] = []
    while (word := cursor.word) is not None:
        if not word.quoted and cursor.stands(starts):
            break
        taken.append(word.text)
        cursor.position += 1
    if cursor.done and taken and "team" in cursor.body:
        cursor.asks(starts)
    return taken


def _without_team(
    reading: _Reading, starts: Mapping[str, tuple[str, Reader]]
) -> dict[str, tuple[str, Reader]]:
    """What may follow where no team was said: of a known place, the few that have none."""
    cursor = reading.cursor
    place = str(cursor.body.get("place", "")).casefold()
    if place not in {name.casefold() for name in reading.known.places}:
        cursor.position = 0
        cursor.fail(f"a team: {listed(reading.known.teams.values())}")
    return {word: one for word, one in starts.items() if one[0] in WITHOUT_TEAM}


def _needs_team(reading: _Reading, since: int, starts: Mapping[str, Any]) -> None:
    """Only a few decisions have no team; anything else begins with its name."""
    cursor, here = reading.cursor, reading.cursor.position
    start = cursor.take_of(starts)
    if start is None or start[0] not in WITHOUT_TEAM:
        cursor.position = since
        cursor.fail(f"a team: {listed(reading.known.teams.values())}")
    cursor.position = here


def _place_of_kind(reading: _Reading, kind: str) -> None:
    """What was not said is where the team was last; some kinds have no place at all."""
    cursor, body = reading.cursor, reading.cursor.body
    if kind in WITHOUT_TEAM:
        if "team" in reading.assumed:
            reading.assumed.discard("team")
            del body["team"]
    elif "team" not in body:
        cursor.position = 0
        cursor.fail(f"a team: {listed(reading.known.teams.values())}")
    if kind in WITHOUT_PLACE:
        if "place" in body:
            raise MisheardError(Problem(*cursor.spans["place"], "no place here"))
    elif "place" not in body and (
        last := reading.known.last_places.get(body.get("team", ""))
    ):
        body["place"] = last
        reading.assumed.add("place")


def _aside(reading: _Reading) -> bool:
    """`at 14:02`, `with meter 2`, `note …` to the end."""
    cursor, known = reading.cursor, reading.known
    since = cursor.position
    listed_here = known.instruments.get(str(cursor.body.get("kind", "")), {})
    what = cursor.take(
        "at", *(("with",) if listed_here else ()), *(("note",) if since else ())
    )
    match what:
        case "at":
            word = cursor.word
            if word is None:
                cursor.fail("a time such as 14:02")
            try:
                moment = clock_time(word.text, known.now, known.zone)
            except NotATimeError as error:
                cursor.fail(str(error))
            cursor.position += 1
            cursor.put("at", moment.isoformat(), since)
        case "with":
            names = {name: key for key, name in listed_here.items()}
            keys = {key: key for key in listed_here}
            cursor.put("instrument", cursor.choose({**keys, **names}), since)
        case "note":
            text = cursor.rest()
            if not text:
                cursor.fail("the note")
            cursor.put("note", text, since)
    return what is not None
