"""What the readings so far say against the table of substances.

They can contradict a substance, leave it open, or not have been able to see it. They
never name one: other substances and mixtures give the same colours. `EVIDENCE_CAUTION`
stands wherever this is shown.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, TypeAlias

from screening.substances import SUBSTANCES, Paper, Sample, Substance, find

Weight = Literal["contradicted", "not_excluded", "not_seen"]

EVIDENCE_CAUTION: Final = (
    "Readings can speak against a substance, never prove one. A mixture, or a substance "
    "that is not in this table, may give the same readings. Contradicted means: by itself, "
    "at a strength that the method can show, it would have read otherwise. "
    "Supports decisions; local SOPs and the incident commander govern."
)
NO_CHANGE: Final = frozenset({"neutral", "no_change"})
WEIGHT_WORDS: Final[dict[Weight, str]] = {
    "contradicted": "Contradicted",
    "not_excluded": "Not excluded",
    "not_seen": "Could not have been seen",
}
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
    quiet_below: Decimal = Decimal(1)  # less than this is nothing shown
    over_range: bool = False
    lamp_ev: Decimal | None = None  # of a `voc` sensor
    trusted: bool = True  # False: it cannot tell (oxygen, bump test, calibration)
    label: str = ""

    @property
    def quiet(self) -> bool:
        return not self.over_range and self.value < self.quiet_below

    @property
    def words(self) -> str:
        return self.label or f"{self.sensor} {self.value:f}"


Observed: TypeAlias = PaperSeen | SensorSeen


@dataclass(frozen=True, slots=True)
class Said:
    """What one reading says of one substance.

    `explains`: the reading showed something, and the substance would show it.
    `stranger`: the reading showed something that the substance would not show.
    """

    weight: Weight
    because: str
    explains: bool = False
    stranger: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One substance against all readings; `said` in the order of the readings."""

    substance: Substance
    weight: Weight
    said: tuple[Said, ...]


def evidence(
    readings: Iterable[Observed], substances: Sequence[Substance] = SUBSTANCES
) -> tuple[Evidence, ...]:
    """Every substance with what the readings say of it, in the order of the table.

    A quiet reading that should have shown it contradicts it. A reading that shows what it
    would not show contradicts it only where no other reading is explained by it: there
    may be two substances. Else it is not excluded where at least one reading could have
    seen it, and otherwise could not have been seen at all.
    """
    seen = tuple(readings)
    return tuple(_weigh(substance, seen) for substance in substances)


def _weigh(substance: Substance, readings: tuple[Observed, ...]) -> Evidence:
    said = tuple(
        _paper(substance, seen)
        if isinstance(seen, PaperSeen)
        else _sensor(substance, seen)
        for seen in readings
    )
    explained = any(statement.explains for statement in said)
    against = [
        statement
        for statement in said
        if statement.weight == "contradicted" and not (statement.stranger and explained)
    ]
    weight: Weight = "not_seen"
    if against:
        weight = "contradicted"
    elif explained or any(statement.weight != "not_seen" for statement in said):
        weight = "not_excluded"
    return Evidence(substance=substance, weight=weight, said=said)


def _ph_outcomes(ph: Decimal) -> frozenset[str]:
    """Between 4 and 6, and 8 and 9, a strip may mean either side; common practice."""
    if ph <= 4:
        return frozenset({"acid"})
    if ph < 6:
        return frozenset({"acid", "neutral"})
    if ph <= 8:
        return frozenset({"neutral"})
    return frozenset({"base"}) if ph >= 9 else frozenset({"base", "neutral"})


def _paper(substance: Substance, seen: PaperSeen) -> Said:
    name, words = substance.name, seen.words
    if seen.quiet and seen.blind:
        return Said("not_seen", f"{words}: {seen.blind}")
    if seen.sample == "vapour" and not seen.moist and seen.quiet:
        return Said("not_seen", f"{words}: the strip was dry, so it is no test")
    if seen.sample == "vapour" and not substance.gives_vapour:
        return Said("not_seen", f"{words}: {name} gives next to no vapour")
    response = substance.papers.get((seen.paper, seen.sample))
    if response is None:
        return Said("not_seen", f"{words}: the table has no {seen.sample} of {name}")
    expected = response.cell.value
    if response.shows.isdisjoint(seen.shown):
        return Said(
            "contradicted",
            f"{words}: {name} alone would read {expected}{_doubt(seen)}",
            stranger=not seen.quiet,
        )
    if response.shows <= NO_CHANGE:
        return Said("not_seen", f"{words}: {name} does not change this paper")
    return Said(
        "not_excluded",
        f"{words}: {name} may read {expected}",
        explains=not seen.quiet,
    )


def _doubt(seen: PaperSeen) -> str:
    """What could still have kept a strip from changing."""
    if not seen.quiet:
        return ""
    if seen.paper == "ki_starch":
        return "; but much oxidiser, sulfur dioxide or hydrogen sulfide fades the blue"
    if seen.paper == "fluoride":
        return "; but iron, aluminium or phosphate can bind the fluoride"
    return "; but little of it in the air may not turn the paper"


def _sensor(substance: Substance, seen: SensorSeen) -> Said:
    if seen.quiet and not seen.trusted:
        return Said("not_seen", f"{seen.words}: the sensor could not tell")
    if not substance.gives_vapour:
        return Said(
            "not_seen", f"{seen.words}: {substance.name} gives next to no vapour"
        )
    if seen.sensor == "lel":
        return _flammable(substance, seen)
    if seen.sensor == "voc":
        return _ionised(substance, seen)
    return _cell(substance, seen)


def _flammable(substance: Substance, seen: SensorSeen) -> Said:
    """A quiet LEL sensor excludes nothing: 1 % of the limit may be far over the IDLH."""
    name, words = substance.name, seen.words
    limit = substance.lel_percent("us")
    if limit is None:
        return Said("not_seen", f"{words}: the table has no flammable limit for {name}")
    if not seen.quiet:
        text = f"{words}: {name} burns and may be what it shows"
        return Said("not_excluded", text, explains=True)
    ppm = limit * seen.quiet_below * 100
    text = (
        f"{words}: up to {ppm.normalize():,f} ppm of {name} would still read as nothing"
    )
    if substance.idlh is not None and substance.idlh_ppm is not None:
        text += f"; its IDLH is {substance.idlh.text}"
    return Said("not_excluded", text)


def _ionised(substance: Substance, seen: SensorSeen) -> Said:
    name, words, cell = substance.name, seen.words, substance.ionisation
    if cell is None:
        return Said("not_seen", f"{words}: ionisation energy of {name} is not known")
    if seen.lamp_ev is None:
        return Said("not_seen", f"{words}: lamp energy not recorded")
    lamp = f"{seen.lamp_ev:f} eV lamp"
    if cell.value >= seen.lamp_ev:
        text = f"{words}: a {lamp} cannot see {name}, which needs {cell.text}"
        if seen.quiet:
            return Said("not_seen", text)
        return Said("contradicted", text, stranger=True)
    if seen.quiet:
        return Said(
            "contradicted",
            f"{words}: a {lamp} would see {name}, which needs {cell.text}",
        )
    text = f"{words}: a {lamp} sees {name} ({cell.text})"
    return Said("not_excluded", text, explains=True)


def _cell(substance: Substance, seen: SensorSeen) -> Said:
    """A cell made for one gas; what it shows for others, where a manual says."""
    name, words = substance.name, seen.words
    own = find(seen.sensor)
    if own is None:
        return Said("not_seen", f"{words}: nothing is known of this sensor")
    table = CROSS_SENSITIVITY.get(own.name, {})
    if own is substance:
        if not seen.quiet:
            text = f"{words}: the cell is made for {name}"
            return Said("not_excluded", text, explains=True)
        hiders = [gas for gas, (share, _) in table.items() if share < 0]
        doubt = f"; but {' or '.join(hiders)} can hide it" if hiders else ""
        return Said("contradicted", f"{words}: the cell is made for {name}{doubt}")
    if name not in table:
        return Said("not_seen", f"{words}: not known to read {name}")
    share, source = table[name]
    if share < 0:
        return Said("not_seen", f"{words}: {name} pulls this cell down ({source})")
    percent = f"{share * 100:.0f} %"
    if seen.quiet:
        return Said(
            "not_excluded",
            f"{words}: shows {percent} of {name} at most, so little of it stays unseen "
            f"({source})",
        )
    text = f"{words}: reads {name} too, up to {percent} of it ({source})"
    return Said("not_excluded", text, explains=True)
