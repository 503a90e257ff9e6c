"""What one reading says of one substance of the table, in words.

`screening.evidence` weighs what all readings say.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, TypeAlias

from screening.substances import (
    WEAK_TO_LAMPS,
    Paper,
    Sample,
    Substance,
    find,
    marked,
)

Weight = Literal["contradicted", "not_excluded", "not_seen"]

NO_CHANGE: Final = frozenset({"neutral", "no_change"})
PAPER_NAMES: Final[dict[Paper, str]] = {
    "ph": "pH paper",
    "ki_starch": "KI-starch paper",
    "fluoride": "Fluoride paper",
}

# Share of its own ppm that a cell shows for another gas, and its source. Negative: it
# hides the cell's own gas. Upper bounds where the maker prints "less than".
_MANUAL: Final = "instrument manual, appendix of sensor data (1992) [read]"
_TWO_MANUALS: Final = "two instrument manuals [read]"
CROSS_SENSITIVITY: Final[dict[str, dict[str, tuple[Decimal, str]]]] = {
    "carbon monoxide": {
        "hydrogen": (Decimal("0.60"), _MANUAL),
        "nitrogen dioxide": (Decimal("0.15"), _MANUAL),
        "hydrogen cyanide": (Decimal("0.15"), _MANUAL),
        "hydrogen sulfide": (Decimal("0.10"), _MANUAL),
        "chlorine": (Decimal("0.10"), _MANUAL),
    },
    "hydrogen sulfide": {
        "sulfur dioxide": (Decimal("0.15"), _MANUAL),
        "nitrogen dioxide": (Decimal("-0.20"), _MANUAL),
        "chlorine": (Decimal("-0.25"), _MANUAL),
    },
    "chlorine": {
        "bromine": (Decimal("1.0"), _TWO_MANUALS),
        "fluorine": (Decimal("1.0"), _TWO_MANUALS),
        "chlorine dioxide": (Decimal("1.0"), _TWO_MANUALS),
        "ozone": (Decimal("1.0"), _TWO_MANUALS),
        "nitrogen dioxide": (Decimal("0.4"), _TWO_MANUALS),
        "hydrogen sulfide": (Decimal("-0.1"), _TWO_MANUALS),
        "sulfur dioxide": (Decimal("-0.01"), _TWO_MANUALS),
    },
}

# Below the first a strip is acid for certain, above the last a base; between each pair it
# may mean either side. Common practice, no source.
ACID_FOR_CERTAIN_PH: Final = Decimal(4)
NEUTRAL_FROM_PH: Final = Decimal(6)
NEUTRAL_TO_PH: Final = Decimal(8)
BASE_FOR_CERTAIN_PH: Final = Decimal(9)
# Less than this on a display is nothing shown. Common practice, no source.
QUIET_BELOW: Final = Decimal(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperSeen:
    """One strip. `low` and `high` are pH; `changed` is KI-starch blue or fluoride turned."""

    paper: Paper
    sample: Sample
    moist: bool = True
    low: Decimal | None = None
    high: Decimal | None = None
    bleached: bool = False
    changed: bool = False
    blind: str = ""  # why a quiet strip is no test, where it is none
    label: str = ""  # what the log calls it, e.g. "pH 2, tank room, 14:02"
    place: str = ""

    @property
    def method(self) -> str:
        return f"{self.paper} {self.sample}"

    @property
    def shown(self) -> frozenset[str]:
        """The outcomes that this strip may stand for."""
        if self.paper == "ki_starch":
            return frozenset({"positive" if self.changed else "no_change"})
        if self.paper == "fluoride":
            return frozenset({"changed" if self.changed else "no_change"})
        if self.bleached:
            return frozenset({"bleached"})
        if self.low is None or self.high is None:
            raise ValueError(
                "low and high are needed where the pH paper was not bleached"
            )
        return _ph_outcomes(self.low) | _ph_outcomes(self.high)

    @property
    def quiet(self) -> bool:
        return self.shown <= NO_CHANGE

    @property
    def words(self) -> str:
        if self.label:
            return self.label
        outcome = " or ".join(sorted(self.shown)).replace("_", " ")
        return f"{PAPER_NAMES[self.paper]}, {self.sample}: {outcome}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorSeen:
    """One figure of a meter: `lel` in %, `voc` in its own units, else ppm of a named gas."""

    sensor: str  # "lel", "voc", "co", "h2s" or the name of a gas
    value: Decimal
    quiet_below: Decimal = QUIET_BELOW
    over_range: bool = False
    lamp_ev: Decimal | None = None  # of a `voc` sensor
    trusted: bool = True  # False: it cannot tell (oxygen, bump test, calibration)
    label: str = ""
    place: str = ""

    @property
    def method(self) -> str:
        return self.sensor

    @property
    def quiet(self) -> bool:
        return not self.over_range and self.value < self.quiet_below

    @property
    def words(self) -> str:
        return self.label or f"{self.sensor} {self.value:f}"


Observed: TypeAlias = PaperSeen | SensorSeen


@dataclass(frozen=True, slots=True)
class Statement:
    """What a reading of one kind says of one substance.

    `short` says it without the substance's name, for lists. `explains`: the reading
    showed something, and the substance would show it. `stranger`: it showed something
    that the substance would not show.
    """

    weight: Weight
    text: str
    short: str
    explains: bool = False
    stranger: bool = False


def kind_of(seen: Observed) -> tuple[object, ...]:
    """What a statement depends on: the same for readings that differ in label and place."""
    if isinstance(seen, PaperSeen):
        return (
            seen.paper, seen.sample, seen.moist, seen.low, seen.high, seen.bleached,
            seen.changed, seen.blind,
        )  # fmt: skip
    return (
        seen.sensor, seen.value, seen.quiet_below, seen.over_range, seen.lamp_ev,
        seen.trusted,
    )  # fmt: skip


def statement(substance: Substance, seen: Observed) -> Statement:
    """What this reading says of this substance; place and time are left out of it."""
    if isinstance(seen, PaperSeen):
        return _paper(substance, seen)
    return _sensor(substance, seen)


def _ph_outcomes(ph: Decimal) -> frozenset[str]:
    """Between acid or base for certain and neutral, a strip may mean either side."""
    if ph <= ACID_FOR_CERTAIN_PH:
        return frozenset({"acid"})
    if ph < NEUTRAL_FROM_PH:
        return frozenset({"acid", "neutral"})
    if ph <= NEUTRAL_TO_PH:
        return frozenset({"neutral"})
    if ph < BASE_FOR_CERTAIN_PH:
        return frozenset({"base", "neutral"})
    return frozenset({"base"})


def _unseen(short: str, text: str = "") -> Statement:
    return Statement("not_seen", text or short, short)


def _paper(substance: Substance, seen: PaperSeen) -> Statement:
    name = substance.name
    if seen.quiet and seen.blind:
        return _unseen(seen.blind)
    if seen.sample == "vapour" and not seen.moist and seen.quiet:
        return _unseen("the strip was dry, so it is no test")
    if seen.sample == "vapour" and not substance.gives_vapour:
        return _unseen(_NO_VAPOUR, f"{name} {_NO_VAPOUR}")
    response = substance.papers.get((seen.paper, seen.sample))
    if response is None:
        text = f"the table has no {seen.sample} of {name}"
        return _unseen(f"the table has no {seen.sample} of it", text)
    expected = response.cell.text
    if response.shows.isdisjoint(seen.shown):
        short = f"alone would read {expected}{_doubt(seen)}"
        return Statement(
            "contradicted", f"{name} {short}", short, stranger=not seen.quiet
        )
    if response.shows <= NO_CHANGE:
        return _unseen("does not change it", f"{name} does not change this paper")
    short = f"may read {expected}"
    return Statement("not_excluded", f"{name} {short}", short, explains=not seen.quiet)


_NO_VAPOUR: Final = "gives next to no vapour"


def _doubt(seen: PaperSeen) -> str:
    """What could still have kept a strip from changing."""
    if not seen.quiet:
        return ""
    if seen.paper == "ki_starch":
        return "; but much oxidiser, sulfur dioxide or hydrogen sulfide fades the blue"
    if seen.paper == "fluoride":
        return "; but iron, aluminium or phosphate can bind the fluoride"
    return "; but little of it in the air may not turn the paper"


def _sensor(substance: Substance, seen: SensorSeen) -> Statement:
    if seen.quiet and not seen.trusted:
        return _unseen("the sensor could not tell")
    if not substance.gives_vapour:
        return _unseen(_NO_VAPOUR, f"{substance.name} {_NO_VAPOUR}")
    if seen.sensor == "lel":
        return _flammable(substance, seen)
    if seen.sensor == "voc":
        return _ionised(substance, seen)
    return _cell(substance, seen)


def _flammable(substance: Substance, seen: SensorSeen) -> Statement:
    """A quiet LEL sensor excludes nothing: 1 % of the limit may be far over the IDLH."""
    name, cell = substance.name, substance.lel.get("us")
    if cell is None:
        text = f"the table has no flammable limit for {name}"
        return _unseen("no flammable limit in the table", text)
    if not seen.quiet:
        short = "burns and may be what it shows"
        return Statement("not_excluded", f"{name} {short}", short, explains=True)
    ppm = cell.value * seen.quiet_below * 100
    most = marked(f"{ppm.normalize():,f} ppm", cell)
    text = f"up to {most} of {name} would still read as nothing"
    short = f"up to {most} unseen"
    if substance.idlh is not None and substance.idlh_ppm is not None:
        text += f"; its IDLH is {substance.idlh.text}"
        short += f", IDLH {substance.idlh.text}"
    return Statement("not_excluded", text, short)


def _ionised(substance: Substance, seen: SensorSeen) -> Statement:
    name, cell = substance.name, substance.ionisation
    if cell is None:
        text = f"ionisation energy of {name} is not known"
        return _unseen("ionisation energy not known", text)
    if seen.lamp_ev is None:
        return _unseen("lamp energy not recorded")
    lamp = f"a {seen.lamp_ev:f} eV lamp"
    if cell.value >= seen.lamp_ev:
        text = f"{lamp} cannot see {name}, which needs {cell.text}"
        short = f"{lamp} cannot see it ({cell.text})"
        if seen.quiet:
            return _unseen(short, text)
        return Statement("contradicted", text, short, stranger=True)
    if seen.quiet and name in WEAK_TO_LAMPS:
        return _unseen(f"{lamp} sees it only weakly", f"{lamp} sees {name} only weakly")
    if seen.quiet:
        text = f"{lamp} would see {name}, which needs {cell.text}"
        return Statement("contradicted", text, f"{lamp} would see it ({cell.text})")
    text, short = f"{lamp} sees {name} ({cell.text})", f"{lamp} sees it ({cell.text})"
    return Statement("not_excluded", text, short, explains=True)


def _cell(substance: Substance, seen: SensorSeen) -> Statement:
    """A cell made for one gas; what it shows for others, where a manual says."""
    name, own = substance.name, find(seen.sensor)
    if own is None:
        return _unseen("nothing is known of this sensor")
    table = CROSS_SENSITIVITY.get(own.name, {})
    if own is substance:
        text, short = f"the cell is made for {name}", "the cell is made for it"
        if not seen.quiet:
            return Statement("not_excluded", text, short, explains=True)
        hiders = [gas for gas, (share, _) in table.items() if share < 0]
        doubt = f"; but {' or '.join(hiders)} can hide it" if hiders else ""
        return Statement("contradicted", f"{text}{doubt}", f"{short}{doubt}")
    if name not in table:
        return _unseen("not known to read it", f"not known to read {name}")
    share, source = table[name]
    if share < 0:
        short = f"it pulls this cell down ({source})"
        return _unseen(short, f"{name} pulls this cell down ({source})")
    percent = f"{share * 100:.0f} %"
    if seen.quiet:
        short = (
            f"shows {percent} of it at most, so little of it stays unseen ({source})"
        )
        return Statement(
            "not_excluded", short.replace("of it at", f"of {name} at"), short
        )
    short = f"reads it too, up to {percent} ({source})"
    text = f"reads {name} too, up to {percent} of it ({source})"
    return Statement("not_excluded", text, short, explains=True)
