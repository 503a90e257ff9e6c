"""What the team cannot find with what it carries, listed so that it is never left out.

Worked out from the instruments and suspects of the set-up alone. The three papers are
taken to be carried, as hardly anyone lists them. A gas meter that is not listed, or whose
sensors are not, is taken for a four-gas meter (LEL, oxygen, CO, H2S); nothing else is
assumed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from screening.incident import Context
from screening.methods import by_id
from screening.substances import (
    MEMORY_MARK,
    PAPERS,
    SUBSTANCES,
    WEAK_TO_LAMPS,
    Sample,
    Substance,
    find,
    marked,
)
from screening.suspected import lel_shows_at, listed

FOUR_GAS: Final = ("lel", "oxygen", "co", "h2s")
TABLE: Final = "table of substances"
_PID_NAMES: Final = frozenset({"voc", "pid", "photoionisation"})
_LEL_NAMES: Final = frozenset({"lel", "combustible", "flammable"})
# A flammable gas shows on an LEL sensor from about here on.
_LEL_SHOWS_PERCENT: Final = Decimal(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blind:
    """One thing that nothing carried would show."""

    key: str  # stays the same: the id of a row of methods, or "suspect: <name>"
    what: str
    because: str
    would_see: str
    source: str
    status: str  # "read", "memory" or "common practice"
    suspect: bool = False  # named by the incident itself

    @property
    def sentence(self) -> str:
        """The whole of it, as the sheet, the report and the result give it."""
        return f"{self.what}: {self.because} Would see it: {self.would_see}"

    @property
    def cited(self) -> str:
        """The source, with its mark where it is from memory."""
        return (
            f"{self.source} {MEMORY_MARK}" if self.status == "memory" else self.source
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What the team has to look with."""

    kinds: frozenset[str]
    sensors: frozenset[str]  # as in the set-up, gases by the table's name
    lamp_ev: Decimal | None  # the strongest; None where none is known
    four_gas_assumed: bool

    def has(self, *names: str) -> bool:
        return not self.sensors.isdisjoint(names)

    @property
    def has_lamp(self) -> bool:
        return self.lamp_ev is not None or bool(self.sensors & _PID_NAMES)

    @property
    def no_cell(self) -> str:
        if self.four_gas_assumed:
            return "a four-gas meter (no meter's sensors are listed) has no cell for it"
        return "none of the sensors listed is for it"


def carried(context: Context) -> Carried:
    """The instruments of a set-up as what they can look with."""
    instruments = context.instruments.values()
    meters = [item for item in instruments if item.kind == "gas_meter"]
    assumed = not any(item.sensors for item in meters)
    names = {name for item in instruments for name in item.sensors}
    if assumed:
        names |= {*FOUR_GAS}
    lamps = [item.lamp_ev for item in instruments if item.lamp_ev is not None]
    return Carried(
        kinds=frozenset(item.kind for item in instruments),
        sensors=frozenset(_canonical(name) for name in names),
        lamp_ev=max(lamps, default=None),
        four_gas_assumed=assumed,
    )


def _canonical(name: str) -> str:
    substance = find(name)
    return name.casefold() if substance is None else substance.name


def beyond_our_tools(context: Context) -> tuple[Blind, ...]:
    """What the instruments listed, and the papers, cannot show: suspects first.

    Raises nothing; an empty set-up gives everything beyond papers and a four-gas meter.
    """
    tools = carried(context)
    return (
        *_suspects(context, tools),
        *_gases(context, tools),
        *_radiation(tools),
        *_rest(tools),
    )


def _row(row_id: str, what: str = "", because: str = "") -> Blind:
    row = by_id(row_id)
    return Blind(
        key=row.id,
        what=what or row.subject,
        because=because or row.never_when,
        would_see=row.next_step,
        source=row.source,
        status=row.status,
    )


def _suspects(context: Context, tools: Carried) -> Iterator[Blind]:
    for name in dict.fromkeys(context.suspects):
        substance = find(name)
        if substance is None:
            if not tools.has(name.casefold()):
                yield _unknown(name)
        elif not seen_in_air(substance, tools):
            yield _unseen(name, substance, tools)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _label(name: str) -> str:
    """A suspect as named, with the table's name where a formula was given."""
    substance = find(name)
    if substance is None or not any(mark.isdigit() for mark in name):
        return _capital(name)
    return f"{_capital(substance.name)} ({name.upper()})"


def _unknown(name: str) -> Blind:
    return Blind(
        key=f"suspect: {name}",
        what=_label(name),
        because=f"{_label(name)} is not in the table of substances: nothing here "
        "says what would show it.",
        would_see="Its safety data sheet, a chemist, the maker of the meter.",
        source=TABLE,
        status="common practice",
        suspect=True,
    )


def _unseen(name: str, substance: Substance, tools: Carried) -> Blind:
    return Blind(
        key=f"suspect: {name}",
        what=_label(name),
        because=f"{'; '.join(_why_not(name, substance, tools))}.",
        would_see=_would_see(substance),
        source=TABLE,
        status=_weakest(substance),
        suspect=True,
    )


def _weakest(substance: Substance) -> str:
    """The lesser status of the two cells that the sentences stand on."""
    cells = [substance.ionisation, substance.idlh]
    marks = {cell.status for cell in cells if cell is not None}
    return "memory" if "memory" in marks else "read" if marks else "common practice"


def _why_not(name: str, substance: Substance, tools: Carried) -> Iterator[str]:
    if not substance.gives_vapour:
        yield f"{_label(name)} gives next to no vapour: nothing held in the air shows it"
        return
    yield f"{_label(name)}: {tools.no_cell}"
    yield from _why_not_by_lel(substance)
    need = substance.ionisation
    if not tools.has_lamp:
        yield "no photoionisation detector is listed"
    elif need is None:
        yield "what lamp it needs is not known"
    elif substance.name in WEAK_TO_LAMPS:
        yield "a photoionisation detector sees it only weakly"
    elif tools.lamp_ev is None:
        yield f"the lamp's energy is not recorded, and it needs more than {need.text}"
    else:
        yield f"it needs {need.text}, the lamp gives {tools.lamp_ev:f} eV"
    yield "no paper is sure to turn"


def _why_not_by_lel(substance: Substance) -> Iterator[str]:
    lower, shown = substance.lel.get("us"), lel_shows_at(substance, _LEL_SHOWS_PERCENT)
    if lower is None or shown is None:
        return
    ppm, words, limit = shown
    if ppm > limit.value:
        figure = marked(f"{ppm.normalize():,f} ppm", lower)
        yield f"1 % on an LEL sensor is {figure} of it, over its {words} of {limit.text}"


def _would_see(substance: Substance) -> str:
    if not substance.gives_vapour:
        wet = _turning(substance, "liquid")
        if wet:
            return f"{listed(wet, 'or')} on the liquid or the wetted solid."
        return "Its label and papers; a laboratory."
    ways = [f"a cell or a detector tube for {substance.name}"]
    need, weak = substance.ionisation, substance.name in WEAK_TO_LAMPS
    if need is not None and need.value < Decimal("11.7") and not weak:
        ways.append(f"a lamp of more than {need.text}")
    return f"{_capital(listed(ways, 'or'))}."


def _turning(substance: Substance, sample: Sample) -> list[str]:
    """The papers that are sure to turn."""
    words = {
        "ph": "pH paper",
        "ki_starch": "KI-starch paper",
        "fluoride": "fluoride paper",
    }
    return [
        words[paper]
        for paper in PAPERS
        if (response := substance.papers.get((paper, sample))) is not None
        and response.shows.isdisjoint({"neutral", "no_change"})
    ]


def seen_in_air(substance: Substance, tools: Carried) -> bool:
    """Whether a cell, the lamp, a paper or, in time, the LEL sensor would show it."""
    if tools.has(substance.name):
        return True
    if not substance.gives_vapour:
        return False
    need = substance.ionisation_ev
    if tools.lamp_ev is not None and need is not None and need < tools.lamp_ev:
        return substance.name not in WEAK_TO_LAMPS or bool(
            _turning(substance, "vapour")
        )
    if _turning(substance, "vapour"):
        return True
    if substance.lel_percent() is None or tools.sensors.isdisjoint(_LEL_NAMES):
        return False
    shown = lel_shows_at(substance, _LEL_SHOWS_PERCENT)
    return shown is None or shown[0] <= shown[2].value


# 4 % of 20.9 is 0.84.
_CO2_MOVES: Final = "At its IDLH of 4 % it takes oxygen down by less than 1 %."


def _gases(context: Context, tools: Carried) -> Iterator[Blind]:
    named = {s.name for name in context.suspects if (s := find(name)) is not None}
    if not tools.has("carbon dioxide") and "carbon dioxide" not in named:
        because = by_id("C35").never_when
        if not tools.four_gas_assumed:
            because = (
                "None of the sensors listed is for carbon dioxide, and no lamp sees it."
            )
        yield _row("C35", because=f"{because} {_CO2_MOVES}")
    unseen = [
        substance.name
        for substance in SUBSTANCES
        if substance.idlh is not None
        and substance.gives_vapour
        and substance.name not in named | {"carbon dioxide"}
        and not seen_in_air(substance, tools)
    ]
    yield Blind(
        key="gases",
        what="Poisonous gases without a sensor",
        because=_unseen_gases(unseen),
        would_see="A cell or detector tube for the gas; a stronger lamp for some.",
        source=TABLE,
        status="read",
    )
    if not tools.has_lamp:
        yield _row("C25", what="Organic vapour at ppm")
    if "hydrogen" not in tools.sensors:
        yield _row("C21", what="Hydrogen, where the LEL sensor is an infrared one")


def _unseen_gases(unseen: list[str]) -> str:
    more = "There are many more gases that the table does not have."
    if not unseen:
        return f"Something carried shows each gas of the table. {more}"
    return (
        "No cell, lamp or paper carried is sure to show these gases of the table in time: "
        f"{listed(unseen)}. {more}"
    )


# Row, and the sensors that would show it.
_RAYS: Final = (
    ("C48", ("alpha", "pancake", "contamination")),
    ("C49", ("beta", "pancake", "contamination")),
    ("C50", ("neutron", "neutrons")),
    ("C51", ("low-energy gamma", "sodium iodide", "nai")),
    ("C53", ("alpha", "beta", "pancake", "contamination")),
)


def _radiation(tools: Carried) -> Iterator[Blind]:
    if "dosimeter" not in tools.kinds and not tools.has("gamma", "dose rate"):
        yield _row("W8", because=f"No dosimeter is listed. {by_id('W8').never_when}")
    for row_id, sensors in _RAYS:
        if not tools.has(*sensors):
            yield _row(row_id)
        elif row_id == "C49":
            yield _row(row_id, what="Tritium and weak beta", because=_WEAK_BETA)


_WEAK_BETA: Final = "No probe carried in the field sees tritium, and few see carbon-14."


def _rest(tools: Carried) -> Iterator[Blind]:
    if "thermal_imager" not in tools.kinds:
        yield _row("W9", because=f"No imager is listed. {by_id('W9').never_when}")
    for row_id in ("C11", "C12", "C23", "C24", "C59", "C60", "C61", "C62"):
        yield _row(row_id)
