"""The register of instruments, and what an incident has along of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from incidents import engine, kit
from incidents.models import Agency, Incident, Instrument, InstrumentRecord
from screening.trust import TakenBack, doubt_about, taken_back

HISTORY_SHOWN = 100
NO_METER = "No gas meter of the register is along."
NO_METER_TESTED = "No gas meter that is along has a passed bump test of the day."


@dataclass(frozen=True, slots=True, kw_only=True)
class RegisterRow:
    """One instrument of the register, and what stands against it at a moment."""

    instrument: Instrument
    doubt: str  # why a quiet reading would prove nothing; "" where nothing is known
    due: date | None  # calibration, or the day a lot expires
    passed_at: datetime | None
    failed_at: datetime | None

    @property
    def kind(self) -> str:
        return kit.KINDS.get(self.instrument.kind, self.instrument.kind)

    @property
    def words(self) -> str:
        """Its name, and what stands against it."""
        return kit.said(self.doubt, self.instrument.key, self.instrument.label)

    @property
    def doubt_said(self) -> str:
        """What stands against it, without its name."""
        return kit.bare(self.doubt, self.instrument.key)

    @property
    def is_paper(self) -> bool:
        return kit.is_paper(self.instrument.kind)


def register(
    agency: Agency, at: datetime, *, retired: bool = False
) -> list[RegisterRow]:
    """Every instrument in service (or out of it), in the order of names. One query."""
    rows = Instrument.objects.with_tests().filter(
        agency=agency, retired_at__isnull=not retired
    )
    return _rows(list(rows), at.astimezone(ZoneInfo(agency.time_zone)))


def register_row(agency: Agency, key: str, at: datetime) -> RegisterRow | None:
    """One instrument by its key. One query."""
    rows = Instrument.objects.with_tests().filter(agency=agency, key=key)
    return next(
        iter(_rows(list(rows), at.astimezone(ZoneInfo(agency.time_zone)))), None
    )


def _rows(instruments: list[Instrument], at: datetime) -> list[RegisterRow]:
    against = kit.doubts(instruments, at)
    found = []
    for instrument in instruments:
        tests = kit.Tests.of(instrument)
        found.append(
            RegisterRow(
                instrument=instrument,
                doubt=against[instrument.key],
                due=kit.due_of(instrument),
                passed_at=tests.bump_passed_at,
                failed_at=tests.failed_at,
            )
        )
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLine:
    """One line of a history, and the line that struck it, if it does not count."""

    record: InstrumentRecord
    struck_by: InstrumentRecord | None

    @property
    def may_be_struck(self) -> bool:
        """A test of an incident is struck in its log."""
        is_test = self.record.passed is not None
        return is_test and self.struck_by is None and self.record.incident_id is None


def instrument_history(instrument: Instrument) -> list[HistoryLine]:
    """Its newest lines. Two queries."""
    rows = instrument.records.select_related("incident")
    lines = []
    for record in rows.prefetch_related("corrections")[:HISTORY_SHOWN]:
        turns = sorted(record.corrections.all(), key=lambda turn: turn.pk)
        struck = bool(turns) and turns[-1].kind == record.Kind.STRUCK
        lines.append(
            HistoryLine(record=record, struck_by=turns[-1] if struck else None)
        )
    return lines


@dataclass(frozen=True, slots=True, kw_only=True)
class KitRow:
    """One instrument that an incident has along, or could take along."""

    key: str
    label: str
    kind: str  # as the worksheet has it
    doubt: str  # why a quiet reading would prove nothing now
    registered: bool = True

    @property
    def kind_label(self) -> str:
        return kit.KINDS.get(self.kind, self.kind)

    @property
    def words(self) -> str:
        """Its name, and what stands against it."""
        return kit.said(self.doubt, self.key, self.label)


@dataclass(frozen=True, slots=True, kw_only=True)
class KitView:
    """The instruments of an incident at a moment."""

    along: tuple[KitRow, ...]
    others: tuple[KitRow, ...]  # in the register and in service
    news: tuple[InstrumentRecord, ...]  # tests of the register that the log lacks
    taken_back: tuple[str, ...]


def kit_of(incident: Incident, at: datetime) -> KitView:
    """What is along, by the log; what else the register has; what the log does not know.

    Three queries, and those of the engine to catch up.
    """
    here = at.astimezone(ZoneInfo(incident.agency.time_zone))
    now = engine.live(incident)
    rows = Instrument.objects.with_tests().filter(agency=incident.agency_id)
    registered = {row.key: row for row in rows}
    listed = now.context.instruments
    along = tuple(
        KitRow(
            key=key,
            label=registered[key].label if key in registered else key,
            kind=item.kind,
            doubt=doubt_about(now.state.core, now.context, key, here),
            registered=key in registered,
        )
        for key, item in listed.items()
    )
    free = [
        row
        for key, row in registered.items()
        if key not in listed and row.retired_at is None
    ]
    against = kit.doubts(free, here)
    others = tuple(
        KitRow(key=row.key, label=row.label, kind=row.kind, doubt=against[row.key])
        for row in free
    )
    labels = {row.key: row.label for row in registered.values()}
    return KitView(
        along=along,
        others=others,
        news=_news(incident, [registered[key] for key in listed if key in registered]),
        taken_back=_taken_back(taken_back(now.state, now.context), labels, here),
    )


def _news(
    incident: Incident, instruments: list[Instrument]
) -> tuple[InstrumentRecord, ...]:
    """Bump tests since the opening that stand in the register and not in the log."""
    if not instruments:
        return ()
    tests = (
        InstrumentRecord.objects.that_count()
        .filter(
            instrument__in=instruments,
            kind=InstrumentRecord.Kind.BUMP_TEST,
            at__gte=incident.opened_at,
        )
        .exclude(incident=incident)
        .select_related("instrument")
        .order_by("at", "pk")
    )
    keys = {kit.entry_uuid(test.uuid, incident.pk): test for test in tests}
    if not keys:
        return ()
    logged = incident.entries.filter(client_uuid__in=keys)
    known = set(logged.values_list("client_uuid", flat=True))
    return tuple(test for key, test in keys.items() if key not in known)


def kit_lacks(incident: Incident, at: datetime) -> tuple[str, ...]:
    """What is missing of the instruments before anyone goes in, a sentence each.

    For the list of what is not ready: () where nothing is. The first sentence is about
    gas meters as a whole, the rest about one instrument each.
    """
    view = kit_of(incident, at)
    meters = [one for one in view.along if one.kind == "gas_meter"]
    lacks = []
    if not meters:
        lacks.append(NO_METER)
    elif all(one.doubt for one in meters):
        lacks.append(NO_METER_TESTED)
    lacks += [f"{one.words}." for one in view.along if one.doubt]
    lacks += [
        f"{test.instrument.label}: a bump test in the register "
        f"{'passed' if test.passed else 'failed'} and is not in this log."
        for test in view.news
    ]
    return tuple(lacks)


def taken_back_words(
    incident: Incident, now: engine.Live | None = None
) -> tuple[str, ...]:
    """What a bump test that failed after use puts in doubt, a sentence for each test.

    For the banner of the sheet. No query beside those of the engine, and one where a test
    failed.
    """
    now = now or engine.live(incident)
    found = taken_back(now.state, now.context)
    if not found:
        return ()
    rows = Instrument.objects.filter(agency=incident.agency_id)
    labels = dict(rows.values_list("key", "label"))
    here = incident.opened_at.astimezone(ZoneInfo(incident.agency.time_zone))
    return _taken_back(found, labels, here)


def _taken_back(
    found: tuple[TakenBack, ...], labels: Mapping[str, str], here: datetime
) -> tuple[str, ...]:
    return tuple(
        one.words(labels.get(one.instrument, one.instrument), here.tzinfo)
        for one in found
    )
