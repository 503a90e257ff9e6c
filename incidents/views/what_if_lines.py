"""What of a what-if is said, in the words of pages: teams, findings, entries."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from incidents.selectors.one_what_if import IncidentWhatIf
from incidents.views.words import LATE, Names, words_of
from review.folding import Episode
from review.moves import Move, Way
from review.what_if import EntryChange
from screening.rules import RULES
from screening.rules.found import minutes
from screening.verdicts import Action

_TITLES: Final = {rule.number: rule.title for rule in RULES}
_WORDS: Final = {
    Way.NOT_AT_ALL: "would not have come",
    Way.ONLY_THEN: "would have come only then",
    Way.STRICTER: "at the same time, but stricter",
    Way.MILDER: "at the same time, but milder",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamLine:
    name: str
    strictest: tuple[Action, Action]  # as judged, and otherwise
    at_end: tuple[Action, Action]
    differs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One finding in one edition."""

    seq: int
    at: datetime
    action: Action
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveLine:
    team: str
    title: str
    hazard: str
    place: str
    words: str
    sides: tuple[Side | None, Side | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryLine:
    """An entry after which a team was to do something else, and those like it after."""

    seq: int
    at: datetime
    recorded_at: datetime | None  # where it came late
    team: str
    words: str
    place: str
    before: Action
    after: Action
    more: int  # entries after it with the same two actions, one after the other
    until: datetime


def team_lines(found: IncidentWhatIf, names: Names) -> list[TeamLine]:
    return [
        TeamLine(
            name=names.team(team.team),
            strictest=(team.strictest_before, team.strictest_after),
            at_end=(team.end_before, team.end_after),
            differs=team.differs,
        )
        for team in found.outcome.teams
    ]


def move_lines(found: IncidentWhatIf, names: Names) -> list[MoveLine]:
    return [
        MoveLine(
            team=names.team(move.key[0]),
            title=_TITLES.get(move.key[1], move.rule),
            hazard=move.key[2].label,
            place=move.place,
            words=way_words(move),
            sides=(_side(found, move.before), _side(found, move.after)),
        )
        for move in found.outcome.moves
    ]


def way_words(move: Move) -> str:
    """Such as "4 min earlier"."""
    if move.before is None or move.after is None or move.way in _WORDS:
        return _WORDS[move.way]
    seconds = abs((move.after.at - move.before.at).total_seconds())
    return f"{minutes(seconds)} {move.way.value}"


def _side(found: IncidentWhatIf, episode: Episode | None) -> Side | None:
    if episode is None:
        return None
    return Side(
        seq=found.rows[episode.entry].seq,
        at=episode.at,
        action=episode.strictest,
        because=episode.finding.because if episode.finding else "",
    )


def entry_lines(found: IncidentWhatIf, names: Names) -> list[EntryLine]:
    """One line for each run of entries that differ alike, by the first of them."""
    lines = [_entry_line(found, run, names) for run in _runs(found.outcome.entries)]
    return sorted(lines, key=lambda line: (line.at, line.seq, line.team))


def _runs(changes: tuple[EntryChange, ...]) -> Iterator[list[EntryChange]]:
    open_runs: dict[str, list[EntryChange]] = {}
    for change in changes:
        run = open_runs.get(change.team)
        if run and _goes_on(run[-1], change):
            run.append(change)
            continue
        if run:
            yield run
        open_runs[change.team] = [change]
    yield from open_runs.values()


def _goes_on(last: EntryChange, change: EntryChange) -> bool:
    same = (last.before, last.after) == (change.before, change.after)
    return same and change.index == last.index + 1


def _entry_line(
    found: IncidentWhatIf, run: list[EntryChange], names: Names
) -> EntryLine:
    first = run[0]
    row, body = found.rows[first.entry], found.bodies[first.entry]
    late = row.recorded_at - row.observed_at > LATE
    return EntryLine(
        seq=row.seq,
        at=row.observed_at,
        recorded_at=row.recorded_at if late else None,
        team=names.team(first.team),
        words=words_of(row, body, names),
        place=str(body.get("place", "")),
        before=first.before,
        after=first.after,
        more=len(run) - 1,
        until=run[-1].at,
    )
