"""Where the log meets the engine: the state of an incident, rebuilt from what is stored.

The state is kept in the process under the hash of the log's head, so what another
worker has added since is seen and stepped over, and nothing is trusted from memory that
the log does not bear out.

A fault of the engine must never lose a reading: it is caught here, and the entry counts
as not judged, which `incidents.judging` never lets pass for harmless.
"""

import logging
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from threading import Lock
from typing import Any, Final, TypeAlias
from uuid import UUID

from incidents.documents import loads
from incidents.judging import not_computed
from incidents.models import APP_KINDS, Incident, LogEntry
from incidents.models.log import AMENDMENT, OPENING
from screening.incident import Context
from screening.readings import Entry, Strike
from screening.state import State, initial_state, step
from screening.verdicts import Finding
from screening.worksheet import parse_context, parse_entry

log = logging.getLogger(__name__)

KEPT_INCIDENTS: Final = 64
MARK_EVERY: Final = 16
CLEAR_REFUSED: Final = "clear_does_not_hold"  # the engine's name for that statement

Order: TypeAlias = tuple[datetime, str]
Found: TypeAlias = dict[str, tuple[Finding, ...]]  # by the entry's key


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """An incident as the engine sees it after one entry of its log."""

    context: Context
    state: State
    head_seq: int
    head_hash: str
    last: Order | None = None  # the latest entry, in the engine's order
    not_judged: tuple[str, ...] = ()  # ids of entries that the engine failed on
    taken: int = 0  # entries so far
    marks: tuple["Live", ...] = ()  # every sixteenth state on the way here

    def before(self, order: Order) -> "Live | None":
        """The latest marked state of before that moment; None where there is none."""
        earlier = [mark for mark in self.marks if mark.last and mark.last < order]
        return replace(earlier[-1], marks=tuple(earlier)) if earlier else None


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


def replay(
    rows: Sequence[LogEntry], context: Context | None = None
) -> tuple[Live, Found]:
    """Judge a log from its opening on (`rows` by number), as if all came in order.

    `context` judges it under another set-up than its own. Gives the state and the
    findings of each entry, by its key.
    """
    first = start(rows) if context is None else start_under(context, rows)
    return _go_on(first, rows, rows[-1])


def walk(rows: Sequence[LogEntry]) -> Iterator[tuple[LogEntry, Live]]:
    """The state after each record, in the order of recording: what was known then.

    An entry that came late is put in its place from its recording on, and another
    set-up judges the whole log anew from the record that brought it on.
    """
    now = start(rows[:1])
    for number, row in enumerate(rows):
        if row.kind == AMENDMENT:
            now = replay(rows[: number + 1])[0]
        elif number:
            newest = now.last
            now = step_row(now, row)[0]
            if newest is not None and now.last is not None:
                now = replace(now, last=max(newest, now.last))
        yield row, now


def take_in_late(incident: Incident, now: Live, row: LogEntry) -> tuple[Live, Found]:
    """Put a stored row in its place in time and judge anew from there.

    Gives the findings of every entry that was judged anew, itself among them.
    """
    base = now.before(order_of(row))
    return _from(incident, base, row)


def as_first_judged(incident: Incident, now: Live, row: LogEntry) -> tuple[Live, Found]:
    """The state when `row` had just come in, without what came in later."""
    later = list(incident.entries.filter(seq__gt=row.seq))
    if any(each.kind == AMENDMENT for each in later):
        return _from(incident, None, row)
    earliest = min(order_of(each) for each in (row, *later))
    return _from(incident, now.before(earliest), row)


def _from(incident: Incident, base: Live | None, row: LogEntry) -> tuple[Live, Found]:
    rows = incident.entries.filter(seq__lte=row.seq).order_by("seq")
    if base is None or base.last is None:
        return replay(list(rows))
    after = rows.filter(observed_at__gte=base.last[0])
    return _go_on(base, [each for each in after if order_of(each) > base.last], row)


def _go_on(now: Live, rows: Iterable[LogEntry], head: LogEntry) -> tuple[Live, Found]:
    found: Found = {}
    for row in in_order(rows):
        now, found[row.key] = step_row(now, row)
    return replace(now, head_seq=head.seq, head_hash=head.hash), found


def start(rows: Sequence[LogEntry]) -> Live:
    """Nothing read yet, under the set-up and the names that hold after these rows."""
    context = context_of(setup_of(rows), reasons_of(rows))
    return start_under(replace(context, names=names_of(rows)), rows)


def start_under(context: Context, rows: Sequence[LogEntry]) -> Live:
    """Nothing read yet, under a set-up of its own and the names that these rows give."""
    context = replace(context, names=names_of(rows))
    return Live(
        context=context,
        state=initial_state(context),
        head_seq=rows[0].seq,
        head_hash=rows[0].hash,
    )


def order_of(row: LogEntry) -> Order:
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


def reasons_of(rows: Iterable[LogEntry]) -> dict[str, str]:
    """Why limits are looser than their sources, as the log has it after these rows."""
    bodies = [row.body for row in rows if row.kind in (OPENING, AMENDMENT)]
    for body in reversed(bodies):
        record = loads(body).get("sop", ...)
        if record is not ...:
            return dict(record["reasons"]) if record else {}
    return {}


def names_of(rows: Iterable[LogEntry]) -> dict[str, str]:
    """What people call teams ("team") and members ("team/member"), by the log itself."""
    names: dict[str, str] = {}
    for row in rows:
        if row.kind in (OPENING, AMENDMENT):
            names |= loads(row.body).get("names", {})
    return names


def context_of(
    setup: dict[str, Any], reasons: Mapping[str, str] | None = None
) -> Context:
    """Raises `WorksheetErrors` with every error of the set-up."""
    context = parse_context(setup)
    if not reasons:
        return context
    return replace(context, profile=replace(context.profile, reasons=reasons))


def read_row(row: LogEntry, context: Context) -> Entry:
    return parse_entry(loads(row.body), context)


def clear_refusal(now: Live, *, hazard: str, place: str, by: str, at: datetime) -> str:
    """Why a clear of this hazard would not hold at `at`; "" where it would.

    Asks the engine itself, of an entry that is not stored.
    """
    moment = max(at, now.last[0]) if now.last else at
    body = {
        "id": "not stored",
        "kind": "clear",
        "at": moment.isoformat(),
        "hazard": hazard,
        "place": place,
        "by": by,
        "reason": "not stored",
    }
    try:
        entry = parse_entry(body, now.context)
        _, found = step(now.state, entry, now.context)
    except Exception:
        log.exception("A clear of %s was not judged", hazard)
        return "The engine could not judge whether it would hold."
    return next((f.because for f in found if f.rule == CLEAR_REFUSED), "")


def step_row(before: Live, row: LogEntry) -> tuple[Live, tuple[Finding, ...]]:
    """Take in the next stored entry; a fault becomes a finding, never an exception.

    The rows come in the engine's own order. One that does not: `take_in_late`, `walk`.
    """
    head = replace(before, head_seq=row.seq, head_hash=row.hash)
    if row.kind in APP_KINDS:
        return head, ()
    head = replace(head, last=order_of(row), taken=head.taken + 1)
    try:
        entry = read_row(row, before.context)
        state, findings = step(before.state, entry, before.context)
    except Exception:
        log.exception("Entry %s of %s was not judged", row.seq, row.incident_id)
        findings = tuple(
            not_computed(team, row.key, row.observed_at)
            for team in before.context.teams
        )
        return replace(head, not_judged=(*head.not_judged, row.key)), findings
    after = replace(head, state=state)
    if isinstance(entry, Strike):
        left = tuple(key for key in head.not_judged if key != entry.entry)
        after = replace(after, not_judged=left)
    if after.taken % MARK_EVERY == 0:
        after = replace(after, marks=(*after.marks, replace(after, marks=())))
    return after, findings
