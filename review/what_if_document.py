"""What-if as JSON: the limits that come in, one incident's result, the whole document.

Whoever judges an incident needs nothing but its worksheet's values and this package: no
database, no settings. So the same function runs in this process, in another one and on
another machine, and gives the same bytes.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final, NamedTuple

from review.moves import Move
from review.what_if import Change, EntryChange, Outcome, TeamOutcome, what_if
from screening.verdicts import CAUTION, Action
from screening.worksheet import DocumentError, WorksheetErrors, parse_profile

FORMAT: Final = "hazmat-what-if"
VERSION: Final = 1
_OF_A_PROFILE: Final = frozenset({"name", "version", "limits", "paper_chart"})


class Values(NamedTuple):
    """What of an incident is needed to judge it."""

    incident: str  # its id
    setup: str  # the worksheet document without its log; JSON
    log: tuple[str, ...]  # the bodies of readings and decisions, as recorded; JSON


class Row(NamedTuple):
    """One incident judged both ways: all that comes back from a worker."""

    incident: str
    document: str  # JSON, on one line
    differs: bool  # after at least one entry
    ended_otherwise: bool
    judged: bool  # False where the log cannot be read under the limits


def read_limits(document: object) -> Change:
    """The change that a LIMITS.json asks for.

    A profile object of the worksheet document takes the place of each incident's own; what
    it leaves out is at its default. A bare mapping of limits is laid over each incident's
    own: everything else stays as that incident had it. Raises `WorksheetErrors`.
    """
    if not isinstance(document, Mapping) or not document:
        expected = "a profile object or a table of limits"
        shown = "an empty object" if isinstance(document, Mapping) else "no object"
        raise WorksheetErrors([DocumentError("", shown, expected)])
    if _OF_A_PROFILE & document.keys():
        parse_profile(document)
        return Change(profile=document)
    try:
        parse_profile({"name": "Limits", "version": "1", "limits": document})
    except WorksheetErrors as errors:
        raise WorksheetErrors(
            [
                DocumentError(
                    error.pointer.removeprefix("/limits"), error.value, error.expected
                )
                for error in errors.errors
            ]
        ) from errors
    return Change(limits=document)


def judge(values: Values, change: Change) -> Row:
    """One incident both ways, as the line that the document has of it."""
    setup = _loads(values.setup)
    log = [_loads(body) for body in values.log]
    try:
        outcome = what_if(setup, log, change)
    except WorksheetErrors as errors:
        return _refused(values, errors)
    document = {"id": values.incident, **outcome_document(outcome)}
    return Row(
        incident=values.incident,
        document=_dumps(document),
        differs=outcome.differs,
        ended_otherwise=outcome.ended_otherwise,
        judged=True,
    )


def judge_all(many: Sequence[Values], change: Change) -> list[Row]:
    """Several incidents, in their order."""
    return [judge(values, change) for values in many]


def whole(change: Change, limits: str, rows: Iterator[Row]) -> Iterator[str]:
    """The whole document in pieces, a line for each incident; rows come in by id.

    `limits` is the LIMITS.json that was asked for, as compact JSON.
    """
    head = {"format": FORMAT, "version": VERSION, "caution": CAUTION}
    laid_over = json.dumps(change.profile is None)
    yield (
        f"{_dumps(head)[:-1]},\n"
        f'"limits":{limits},"laid_over_own_limits":{laid_over},\n"incidents":['
    )
    count = differs = otherwise = refused = 0
    for row in rows:
        yield f"{',' if count else ''}\n{row.document}"
        count += 1
        differs += row.differs
        otherwise += row.ended_otherwise
        refused += not row.judged
    summary = {
        "incidents": count,
        "differ": differs,
        "ended_otherwise": otherwise,
        "not_readable": refused,
    }
    yield f'\n],\n"summary":{_dumps(summary)}}}\n'


def outcome_document(outcome: Outcome) -> dict[str, Any]:
    """One incident: what differs, with both actions. Times as in the log."""
    return {
        "entries_judged": len(outcome.before.actions),
        "ended_otherwise": outcome.ended_otherwise,
        "entries": list(_entries(outcome.entries)),
        "teams": [_team(team) for team in outcome.teams if team.differs],
        "findings": [_move(move) for move in outcome.moves],
        "not_judged": {
            "before": list(outcome.before.not_judged),
            "after": list(outcome.after.not_judged),
        },
    }


def _entries(changes: Sequence[EntryChange]) -> Iterator[dict[str, Any]]:
    """One object for each entry, with every team that is to do something else."""
    current: dict[str, Any] = {}
    for change in changes:
        if current and current["id"] != change.entry:
            yield current
            current = {}
        if not current:
            current = {"id": change.entry, "at": change.at.isoformat(), "teams": {}}
        current["teams"][change.team] = _both(change.before, change.after)
    if current:
        yield current


def _team(team: TeamOutcome) -> dict[str, Any]:
    return {
        "id": team.team,
        "strictest": _both(team.strictest_before, team.strictest_after),
        "at_end": _both(team.end_before, team.end_after),
    }


def _move(move: Move) -> dict[str, Any]:
    team, number, hazard, _ = move.key
    sides = {}
    for name, episode in (("before", move.before), ("after", move.after)):
        sides[name] = episode and {
            "entry": episode.entry,
            "at": episode.at.isoformat(),
            "action": episode.strictest.word,
        }
    return {
        "way": move.way.value,
        "rule": move.rule,
        "number": number,
        "hazard": hazard.value,
        "team": team,
        "place": move.place,
        **sides,
    }


def _both(before: Action, after: Action) -> dict[str, str]:
    return {"before": before.word, "after": after.word}


def _refused(values: Values, errors: WorksheetErrors) -> Row:
    document = {
        "id": values.incident,
        "not_readable": [
            {"pointer": one.pointer, "value": one.value, "expected": one.expected}
            for one in errors.errors
        ],
    }
    return Row(
        incident=values.incident,
        document=_dumps(document),
        differs=False,
        ended_otherwise=False,
        judged=False,
    )


def _loads(text: str) -> Any:
    """As the log keeps them: every number exact."""
    return json.loads(text, parse_float=Decimal, parse_int=Decimal)


def _dumps(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))
