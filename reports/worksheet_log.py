"""The timeline and the decisions of a report, from a judged worksheet."""

from collections.abc import Mapping, Sequence

from reports.clock import clock
from reports.data import DecisionLine, TimelineRow
from reports.judged import Judged, sentence, unique
from reports.words import describe
from screening.readings import Acknowledge, Clear, Entry, Strike
from screening.trust import is_unverified
from screening.verdicts import Action, Finding

CLEAR_REFUSED = "clear_does_not_hold"


def timeline(judged: Judged) -> tuple[TimelineRow, ...]:
    """Every record of the log, the worksheet's entries and the application's own."""
    strikes = _strikes(judged)
    heard = _heard(judged)
    rows = [_row(judged, entry, strikes, heard) for entry in judged.worksheet.log]
    rows += [
        TimelineRow(
            seq=own.seq,
            at=own.at,
            recorded_at=own.recorded_at,
            words=own.words,
            author=own.author,
            note=own.note,
        )
        for own in judged.record.own
    ]
    return tuple(sorted(rows, key=lambda row: (row.at, row.seq)))


def _row(
    judged: Judged,
    entry: Entry,
    strikes: Mapping[str, Strike],
    heard: Mapping[str, list[str]],
) -> TimelineRow:
    kept = judged.record.entries.get(entry.id)
    findings = judged.findings[entry.id]
    action, because = _meaning(judged, entry, findings)
    strike = strikes.get(entry.id)
    return TimelineRow(
        seq=kept.seq if kept else 0,
        at=entry.at,
        recorded_at=kept.recorded_at if kept else None,
        team=judged.name(entry.team),
        place=entry.place,
        words=describe(entry, _names(judged, entry)),
        note=entry.note,
        action=action,
        because=because,
        author=kept.author if kept else "",
        late=kept.late if kept else False,
        superseded=tuple(
            f"{f.action.label}, {sentence(f.because)}" for f in kept.superseded
        )
        if kept
        else (),
        struck_by=_struck_by(judged, strike) if strike else "",
        struck_reason=strike.reason if strike else "",
        heard="; ".join(heard.get(entry.id, ())),
        unverified=is_unverified(entry, judged.context),
    )


def _meaning(
    judged: Judged, entry: Entry, findings: Sequence[Finding]
) -> tuple[Action | None, tuple[str, ...]]:
    """The entry's verdict for its own team, and every reason in order of strictness.

    A stricter verdict for another team is said with that team's name.
    """
    if not entry.team:
        return _meaning_for_all(judged, findings)
    mine = [f for f in findings if f.team == entry.team]
    action = max((f.action for f in mine), default=None)
    if action is None and entry.is_reading:
        action = Action.CONTINUE
    sentences = [sentence(f.because) for f in sorted(mine, key=lambda f: -f.action)]
    others = [f for f in findings if f not in mine and f.action > (action or 0)]
    sentences += [
        f"{judged.name(f.team)}, {f.action.label}: {sentence(f.because)}"
        for f in others
    ]
    return action, unique(sentences)


def _meaning_for_all(
    judged: Judged, findings: Sequence[Finding]
) -> tuple[Action | None, tuple[str, ...]]:
    """The same for an entry of no team: each reason with the teams that it concerns."""
    teams: dict[str, list[str]] = {}
    for finding in sorted(findings, key=lambda f: -f.action):
        named = teams.setdefault(sentence(finding.because), [])
        if judged.name(finding.team) not in named:
            named.append(judged.name(finding.team))
    action = max((f.action for f in findings), default=None)
    return action, tuple(f"{', '.join(t)}: {words}" for words, t in teams.items())


def _strikes(judged: Judged) -> dict[str, Strike]:
    """Of each struck entry the strike that governs."""
    struck = judged.state.struck
    return {
        entry.entry: entry
        for entry in judged.worksheet.log
        if isinstance(entry, Strike)
        and entry.id not in struck
        and entry.entry in struck
    }


def _struck_by(judged: Judged, strike: Strike) -> str:
    kept = judged.record.entries.get(strike.id)
    record = f"record {kept.seq}, " if kept else ""
    return f"{record}{strike.by}, {clock(strike.at, judged.zone)}"


def _heard(judged: Judged) -> dict[str, list[str]]:
    heard: dict[str, list[str]] = {}
    for entry in judged.worksheet.log:
        if isinstance(entry, Acknowledge) and entry.id not in judged.state.struck:
            when = clock(entry.at, judged.zone)
            heard.setdefault(entry.entry, []).append(f"{entry.by}, {when}")
    return heard


def decision(judged: Judged, entry: Entry) -> DecisionLine:
    """An entry that is no reading, with what came of it."""
    kept = judged.record.entries.get(entry.id)
    words = describe(entry, _names(judged, entry))
    where = ", ".join(part for part in (judged.name(entry.team), entry.place) if part)
    return DecisionLine(
        at=entry.at,
        seq=kept.seq if kept else 0,
        by=getattr(entry, "by", "") or (kept.author if kept else ""),
        words=f"{where}: {words}" if where else words,
        outcome=_outcome(judged, entry),
    )


def _outcome(judged: Judged, entry: Entry) -> str:
    if entry.id in judged.state.struck:
        return "Put right later, see the timeline."
    if not isinstance(entry, Clear):
        return ""
    refused = [f for f in judged.findings[entry.id] if f.rule == CLEAR_REFUSED]
    if refused:
        return "Did not hold. " + " ".join(
            unique([sentence(f.because) for f in refused])
        )
    return "Held."


def _names(judged: Judged, entry: Entry) -> Mapping[str, str]:
    """Names for `describe`: members of the entry's team, instruments, other entries."""
    names = dict(judged.record.names)
    prefix = f"{entry.team}/"
    for key, name in judged.record.names.items():
        if key.startswith(prefix):
            names[key.removeprefix(prefix)] = name
    target = getattr(entry, "entry", "")
    kept = judged.record.entries.get(target)
    if kept:
        names[target] = f"record {kept.seq}"
    return names
