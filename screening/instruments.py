"""What is known of the instruments: bump tests, calibration, over range, spoiled sensors."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Final

from screening.incident import Context
from screening.memory import Core, InstrumentState
from screening.methods import reason
from screening.methods.notes import spoiled_by_note
from screening.readings import BumpTest, Entry, GasMeter
from screening.rules import Rule
from screening.rules.found import Found

# Listed by lot: the day the lot expires stands where a meter has its calibration's.
PAPERS: Final = frozenset({"ph_paper", "ki_starch_paper", "fluoride_paper"})
LOT_WORDS: Final[Mapping[str, str]] = {
    "calibration_overdue": "lot_expired",
    "bump_failed": "lot_check_failed",
    "bump_failed_after": "lot_check_failed_after",
    "bump_not_today": "lot_not_checked",
}


def bump_test(core: Core, entry: BumpTest) -> Core:
    """A bump test noted; a passed one also answers what was noted of a spoiled sensor."""
    before = core.instruments.get(entry.instrument, InstrumentState())
    after = InstrumentState(
        passed=entry.at if entry.passed else before.passed,
        known=True,
        failed=not entry.passed,
        passed_here=entry.passed or before.passed_here,
    )
    return replace(core, instruments=core.instruments.set(entry.instrument, after))


def doubt(core: Core, entry: Entry, context: Context, distrusted: bool) -> str:
    """Why a quiet reading of this instrument cannot tell; "" where nothing is known
    against it. Of an instrument that is not listed nothing is assumed."""
    name = entry.instrument
    if not name:
        return ""
    if distrusted:
        return _about(context, name, "bump_failed_after")
    return doubt_about(core, context, name, entry.at)


def doubt_about(core: Core, context: Context, name: str, at: datetime) -> str:
    """Why what the instrument does not show at that moment would prove nothing.

    The day is that of `at`, by its own offset. "" where nothing is known against it.
    """
    state = core.instruments.get(name)
    if state is None:
        return ""
    if state.failed:
        return _about(context, name, "bump_failed")
    item = context.instruments.get(name)
    if item is None:
        return ""
    if item.calibration_due is not None and at.date() > item.calibration_due:
        return _about(context, name, "calibration_overdue")
    if state.known and not _passed_on_the_day(state, at):
        return _about(context, name, "bump_not_today")
    return ""


def _about(context: Context, name: str, key: str) -> str:
    """The reason in the words of meters, or of a lot of papers."""
    item = context.instruments.get(name)
    of_lot = item is not None and item.kind in PAPERS
    return reason(LOT_WORDS[key] if of_lot else key, name=name)


def _passed_by(state: InstrumentState, at: datetime) -> datetime | None:
    """The last passed test that was done by a moment: one of later says nothing of it.

    Only the set-up can bring one that lies ahead; the log is read in order of time.
    """
    return state.passed if state.passed is not None and state.passed <= at else None


def _passed_on_the_day(state: InstrumentState, at: datetime) -> bool:
    """Whether it passed on the crew's day, which is that of the reading's own offset.

    A test written down with an offset of its own must be of that day by it, too: a
    reading kept in UTC says nothing of the crew's clock. One kept in UTC is not asked.
    """
    passed = _passed_by(state, at)
    if passed is None or passed.astimezone(at.tzinfo).date() != at.date():
        return False
    return not passed.utcoffset() or (
        passed.date() == at.astimezone(passed.tzinfo).date()
    )


def tested_on_the_day(core: Core, name: str, at: datetime) -> bool:
    """Whether a passed bump test of the crew's day stands; `at` is in the crew's zone."""
    state = core.instruments.get(name)
    return state is not None and not state.failed and _passed_on_the_day(state, at)


def bumped(core: Core, entry: Entry) -> tuple[bool, bool]:
    """Whether a passed bump test of the day is known, and whether it was done on scene.

    What the log holds was done on scene; what the set-up brings may have been done in a
    warm station.
    """
    if not tested_on_the_day(core, entry.instrument, entry.at):
        return False, False
    return True, core.instruments[entry.instrument].passed_here


def is_latched(core: Core, entry: Entry) -> bool:
    """Whether this LEL meter went over range with no exit of that team since.

    A meter without a name may be any that the team carries, and the other way round.
    """
    return any(_may_be(team, name, entry) for team, name in core.latches)


def _may_be(team: str, name: str, entry: Entry) -> bool:
    """Whether the reading may be of a meter once noted with a team and a name, or none."""
    if name and name == entry.instrument:
        return True
    return team == entry.team and not (name and entry.instrument)


def latch(core: Core, entry: Entry, finds: Iterable[tuple[Rule, Found]]) -> Core:
    """Note an LEL sensor that went over range."""
    if not isinstance(entry, GasMeter):
        return core
    spiked = any(rule.number == 26 for rule, _ in finds)
    if "lel" not in entry.over_range and not spiked:
        return core
    return replace(core, latches=core.latches | {(entry.team, entry.instrument)})


def note_spoiled(core: Core, entry: Entry) -> Core:
    """Note a meter whose sensor is said to be spoiled, until it passes a bump test."""
    if not isinstance(entry, GasMeter | BumpTest):
        return core
    which = spoiled_by_note(entry.note)
    if not which or (isinstance(entry, BumpTest) and entry.passed):
        return core
    # Kept apart, so that a word on the bead takes none back that was said of a cell.
    key = (entry.team, entry.instrument, which)
    return replace(core, spoiled=core.spoiled.set(key, entry.at))


def spoiled(core: Core, entry: Entry) -> str:
    """What an earlier note says of this meter: "lel", "all", or "" where nothing.

    A passed bump test answers the note; a meter without a name cannot have passed one.
    """
    state = core.instruments.get(entry.instrument)
    passed = None if state is None or state.failed else _passed_by(state, entry.at)
    found = {
        which
        for (team, name, which), at in core.spoiled.items()
        if _may_be(team, name, entry) and (passed is None or passed <= at)
    }
    return min(found, default="")  # "all" comes before "lel"
