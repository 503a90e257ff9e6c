"""Where the log meets the engine: the state of an incident, rebuilt from what is stored.

The state is kept in the process under the hash of the log's head, so what another
worker has added since is seen and stepped over, and nothing is trusted from memory that
the log does not bear out.

A fault of the engine must never lose a reading or let it pass for harmless: it is caught
here, the entry counts as not judged, and every team is held at caution or more.
"""

import logging
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from threading import Lock
from typing import Any, Final
from uuid import UUID

from django.db.models import Max, OuterRef, Subquery
from screening.assess import assess
from screening.state import State, initial_state, step
from screening.worksheet import parse_context, parse_entry

from incidents.documents import loads
from incidents.models import (
    APP_KINDS,
    FindingEvent,
    Incident,
    LogEntry,
    StoredFinding,
)
from incidents.models.log import AMENDMENT, OPENING
from screening.incident import Context
from screening.readings import Entry, Strike
from screening.verdicts import (
    CAUTION,
    Action,
    Assessment,
    Clocks,
    Finding,
    Hazard,
    TeamAssessment,
)

log = logging.getLogger(__name__)

NOT_COMPUTED: Final = "not_computed"
KEPT_INCIDENTS: Final = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """An incident as the engine sees it after one entry of its log."""

    context: Context
    state: State
    head_seq: int
    head_hash: str
    last: tuple[datetime, str] | None = None  # the latest entry, in the engine's order
    not_judged: tuple[str, ...] = ()  # ids of entries that the engine failed on


_kept: OrderedDict[UUID, Live] = OrderedDict()
_kept_lock = Lock()


def keep(incident_id: UUID, live: Live) -> None:
    """Remember a state. It is keyed by a hash of all it came from, so it cannot lie."""
    with _kept_lock:
        _kept[incident_id] = live
        _kept.move_to_end(incident_id)
        while len(_kept) > KEPT_INCIDENTS:
            _kept.popitem(last=False)


def forget() -> None:
    """Drop every remembered state."""
    with _kept_lock:
        _kept.clear()


def live(incident: Incident) -> Live:
    """The state at the incident's head, from memory where the log bears it out."""
    with _kept_lock:
        known = _kept.get(incident.pk)
    if known is not None and known.head_hash == incident.head_hash:
        return known
    built = _catch_up(incident, known) if known is not None else None
    if built is None:
        built = as_of(incident, incident.head_seq)
    keep(incident.pk, built)
    return built


def as_of(incident: Incident, seq: int) -> Live:
    """The state as it was known after entry `seq`, whatever came in later."""
    return replay(list(incident.entries.filter(seq__lte=seq).order_by("seq")))[0]


def replay(rows: Sequence[LogEntry]) -> tuple[Live, dict[str, tuple[Finding, ...]]]:
    """Judge a log from its opening on (`rows` by number), as if all came in order.

    Gives the state and the findings of each entry, by its key.
    """
    now = start(rows)
    found: dict[str, tuple[Finding, ...]] = {}
    for row in in_order(rows):
        now, found[row.key] = step_row(now, row)
    return replace(now, head_seq=rows[-1].seq, head_hash=rows[-1].hash), found


def start(rows: Sequence[LogEntry]) -> Live:
    """Nothing read yet, under the set-up that holds after these rows."""
    context = context_of(setup_of(rows))
    return Live(
        context=context,
        state=initial_state(context),
        head_seq=rows[0].seq,
        head_hash=rows[0].hash,
    )


def order_of(row: LogEntry) -> tuple[datetime, str]:
    return (row.observed_at, row.key)


def in_order(rows: Iterable[LogEntry]) -> list[LogEntry]:
    """The entries that the engine judges, in its own order: by time, then by id."""
    return sorted((row for row in rows if row.is_for_engine), key=order_of)


def _catch_up(incident: Incident, known: Live) -> Live | None:
    """Step a remembered state over what was added since; None where that cannot be."""
    rows = list(
        incident.entries.filter(
            seq__gte=known.head_seq, seq__lte=incident.head_seq
        ).order_by("seq")
    )
    if not rows or rows[0].hash != known.head_hash:
        return None
    for row in rows[1:]:
        is_late = known.last is not None and order_of(row) < known.last
        if row.kind == AMENDMENT or (row.is_for_engine and is_late):
            return None
        known, _ = step_row(known, row)
    return known if known.head_hash == incident.head_hash else None


def setup_of(rows: Iterable[LogEntry]) -> dict[str, Any]:
    """The set-up that holds after these rows: that of the last opening or amendment."""
    bodies = [row.body for row in rows if row.kind in (OPENING, AMENDMENT)]
    setup: dict[str, Any] = loads(bodies[-1])["setup"]
    return setup


def context_of(setup: dict[str, Any]) -> Context:
    """Raises `WorksheetErrors` with every error of the set-up."""
    return parse_context(setup)


def read_row(row: LogEntry, context: Context) -> Entry:
    return parse_entry(loads(row.body), context)


def step_row(before: Live, row: LogEntry) -> tuple[Live, tuple[Finding, ...]]:
    """Take in one stored entry; a fault becomes a finding, never an exception."""
    head = replace(before, head_seq=row.seq, head_hash=row.hash)
    if row.kind in APP_KINDS:
        return head, ()
    try:
        entry = read_row(row, before.context)
        state, findings = step(before.state, entry, before.context)
    except Exception:
        log.exception("Entry %s of %s was not judged", row.seq, row.incident_id)
        findings = tuple(
            _not_computed(team, row.key, row.observed_at)
            for team in before.context.teams
        )
        return replace(head, not_judged=(*head.not_judged, row.key)), findings
    not_judged = head.not_judged
    if isinstance(entry, Strike):
        not_judged = tuple(key for key in not_judged if key != entry.entry)
    last = max(before.last, order_of(row)) if before.last else order_of(row)
    after = replace(head, state=state, last=last, not_judged=not_judged)
    return after, findings


def judge(incident: Incident, now: Live, at: datetime) -> Assessment:
    """Every team at a moment, which is never before the last observation.

    Never raises. Where an entry was not judged no team is at less than caution; where
    the engine fails altogether each team is held at what was found and not cleared.
    """
    moment = max(at, now.last[0]) if now.last else at
    try:
        view = assess(now.state, now.context, moment)
    except Exception:
        log.exception("Incident %s was not assessed", incident.pk)
        return _held(incident, now.context, moment)
    if not now.not_judged:
        return view
    teams = tuple(_at_caution(team, now.not_judged, moment) for team in view.teams)
    return replace(view, teams=teams)


def _at_caution(
    team: TeamAssessment, entries: tuple[str, ...], at: datetime
) -> TeamAssessment:
    findings = (*team.findings, *(_not_computed(team.id, key, at) for key in entries))
    return replace(
        team,
        action=max(team.action, Action.CAUTION),
        findings=tuple(sorted(findings, key=lambda finding: -finding.action)),
    )


def _held(incident: Incident, context: Context, at: datetime) -> Assessment:
    """What can still be said with no engine: the findings kept and not cleared."""
    last = FindingEvent.objects.filter(finding=OuterRef("pk")).order_by("-pk")
    kept = (
        StoredFinding.objects.filter(incident=incident, superseded=False)
        .annotate(last_event=Subquery(last.values("kind")[:1]))
        .exclude(last_event=FindingEvent.Kind.CLEARED)
        .values("team_key")
        .annotate(strictest=Max("action"))
        .values_list("team_key", "strictest")
    )
    strictest = dict(kept)
    turn_back = min(
        context.profile[f"dose_turn_back_{mission}"]
        for mission in ("other", "product_control", "rescue")
    )
    return Assessment(
        at=at,
        teams=tuple(
            TeamAssessment(
                id=team.id,
                ensemble=team.ensemble.value,
                place="",
                action=Action(max(strictest.get(team.id, 0), Action.CAUTION)),
                findings=(_not_computed(team.id, "", at),),
                coverage=(),
                look_next="Judge by your SOP: the program could not.",
                clocks=_no_clocks(turn_back),
            )
            for team in context.teams.values()
        ),
        cautions=(CAUTION, "The engine could not judge this incident."),
    )


def _no_clocks(turn_back: Decimal) -> Clocks:
    # Held to be inside: nobody is ever thought out on a fault of the program.
    return Clocks(
        inside=True,
        inside_since=None,
        last_par=None,
        par_due=None,
        unanswered=(),
        air=(),
        turn_around_due=None,
        dose_rem=None,
        dose_rate_rem_per_hour=None,
        turn_back_dose_rem=turn_back,
        stay_until=None,
    )


def _not_computed(team: str, entry: str, at: datetime) -> Finding:
    return Finding(
        rule=NOT_COMPUTED,
        number=0,
        hazard=Hazard.MONITORING,
        team=team,
        place="",
        action=Action.CAUTION,
        because=(
            "The engine could not judge this entry. It is in the log as it was read."
            if entry
            else "The engine could not judge. The log holds everything that was read."
        ),
        advice=(
            "Judge by your SOP: the verdict leaves this out.",
            "What stood before still stands.",
        ),
        source="no rule: a fault of the program",
        entry=entry,
        at=at,
    )
