"""The log's readings as the plain facts that `screening.evidence` weighs.

What a quiet reading can tell is asked of `screening.looks`, so that this page never
trusts a reading that the coverage does not.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import tzinfo
from decimal import Decimal
from types import MappingProxyType

from screening.incident import Context
from screening.looks import LookFacts, looks_of, meter
from screening.readings import (
    Entry,
    FluoridePaper,
    GasMeter,
    KiStarchPaper,
    PhPaper,
    Strike,
)
from screening.rules.found import figure
from screening.statements import Observed, PaperSeen, SensorSeen
from screening.verdicts import Hazard

ANY_PPM = Decimal("0.000001")  # a cell that shows anything at all is not quiet


def observed(
    entries: Iterable[Entry],
    context: Context,
    distrusted: Mapping[str, str] = MappingProxyType({}),
    zone: tzinfo | None = None,
) -> tuple[Observed, ...]:
    """Papers and meters of a log, in its order; struck entries are left out.

    Labels give the time in `zone`, else by each entry's own offset.

    `distrusted` has the ids of entries whose quiet figures cannot tell for a reason that
    lies outside the reading, as `trust.untrusted` gives them: "all", or the "lel" alone.
    """
    log = tuple(entries)
    struck = {entry.entry for entry in log if isinstance(entry, Strike)}
    seen: list[Observed] = []
    for entry in log:
        if entry.id not in struck:
            then = context.under(entry.at)
            seen.extend(_seen(entry, then, distrusted.get(entry.id, ""), zone))
    return tuple(seen)


def _seen(
    entry: Entry, context: Context, distrusted: str, zone: tzinfo | None
) -> Iterator[Observed]:
    match entry:
        case PhPaper():
            yield _ph(entry, context, zone)
        case KiStarchPaper():
            yield PaperSeen(
                paper="ki_starch",
                sample="liquid" if entry.sample == "liquid" else "vapour",
                moist=entry.moistened,
                place=entry.place,
                changed=entry.result != "no_change",
                label=_label(
                    f"KI-starch {entry.result.replace('_', ' ')}", entry, zone
                ),
            )
        case FluoridePaper():
            yield PaperSeen(
                paper="fluoride",
                sample="liquid" if entry.sample == "liquid" else "vapour",
                moist=entry.moistened,
                place=entry.place,
                changed=entry.result == "changed",
                label=_label(f"fluoride {entry.result.replace('_', ' ')}", entry, zone),
            )
        case GasMeter():
            yield from _meter(entry, context, distrusted, zone)


def _label(shown: str, entry: Entry, zone: tzinfo | None) -> str:
    place = f", {entry.place}" if entry.place else ""
    at = entry.at.astimezone(zone) if zone else entry.at
    return f"{shown}{place}, {at:%H:%M}"


def _ph(entry: PhPaper, context: Context, zone: tzinfo | None) -> PaperSeen:
    looks = {look.hazard: look for look in looks_of(entry, LookFacts(context=context))}
    vapour = entry.sample == "vapour"
    look = looks[Hazard.ACID_VAPOUR if vapour else Hazard.CORROSIVE_LIQUID]
    if entry.bleached or entry.low is None or entry.high is None:
        shown = "pH paper went white"
    elif entry.low == entry.high:
        shown = f"pH {figure(entry.low)}"
    else:
        shown = f"pH {figure(entry.low)} to {figure(entry.high)}"
    return PaperSeen(
        paper="ph",
        sample="vapour" if vapour else "liquid",
        moist=entry.moistened or look.tells,
        low=entry.low,
        high=entry.high,
        bleached=entry.bleached,
        blind="" if look.tells else look.because,
        place=entry.place,
        label=_label(shown, entry, zone),
    )


def _meter(
    entry: GasMeter, context: Context, distrusted: str, zone: tzinfo | None
) -> Iterator[SensorSeen]:
    # Its bump tests are among the reasons in `distrusted`.
    facts = LookFacts(context=context, bumped=True)
    looks = {look.hazard: look for look in looks_of(entry, facts)}
    lel, cells = looks.get(Hazard.FLAMMABLE_ATMOSPHERE), looks.get(Hazard.TOXIC_GAS)
    spoken = cells.subjects or frozenset() if cells and cells.speaks else frozenset()
    profile, trusted = context.profile, distrusted != "all"
    quiet_below = {
        "lel": profile["lel_caution_percent"],
        "voc": profile["voc_caution_ppm"],
    }
    may_tell = {
        "lel": not distrusted and lel is not None and lel.tells,
        "voc": trusted and not meter.unfit(entry, facts),
    }
    for sensor, value in _figures(entry):
        over = sensor in entry.over_range
        shown = "over range" if over or value is None else figure(value)
        yield SensorSeen(
            sensor=sensor,
            value=value or Decimal(0),
            quiet_below=quiet_below.get(sensor, ANY_PPM),
            over_range=over,
            lamp_ev=meter.lamp_ev(entry, context),
            trusted=may_tell.get(sensor, trusted and sensor in spoken),
            place=entry.place,
            label=_label(f"{_NAMES.get(sensor, sensor)} {shown}", entry, zone),
        )


_NAMES = {"lel": "LEL %", "voc": "VOC", "co": "CO", "h2s": "H2S"}


def _figures(entry: GasMeter) -> list[tuple[str, Decimal | None]]:
    """Every sensor that showed something, be it only that it was over range."""
    figures: dict[str, Decimal | None] = {
        "lel": entry.lel_percent,
        "voc": entry.voc_ppm,
        "co": entry.co_ppm,
        "h2s": entry.h2s_ppm,
        **dict(entry.gases),
    }
    for sensor in sorted(entry.over_range - {"oxygen"}):
        figures.setdefault(sensor, None)
    return [
        (sensor, value)
        for sensor, value in figures.items()
        if value is not None or sensor in entry.over_range
    ]
