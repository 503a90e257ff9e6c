"""What is known beforehand of one named suspect, for this team and what it carries.

Sentences only, each with its sources; a value from memory keeps its mark. Nothing here
decides: the rules do.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from screening.ensembles import Ensemble
from screening.evidence import WEIGHT_WORDS, Evidence
from screening.fits import reasons
from screening.incident import Context
from screening.planning.gases import (
    GAS_CONSTANT,
    ROOM_TEMPERATURE_K,
    STANDARD_ATMOSPHERE_KPA,
)
from screening.planning.isolation import GOVERNS
from screening.statements import NO_CHANGE, PAPER_NAMES
from screening.substances import (
    BASES,
    PAPERS,
    SAMPLES,
    Cell,
    Sample,
    Substance,
    find,
    marked,
)

APF_SCBA: Final = 10_000
APF_SOURCE: Final = "29 CFR 1910.134(d)(3)(i)(A), Table 1"
SUSPECT_CAUTION: Final = (
    "A suspect is a guess until it is identified. "
    "Supports decisions; local SOPs and the incident commander govern."
)
TABLE: Final = "table of substances"
_HELD: Final[dict[Sample, str]] = {
    "liquid": "in the liquid",
    "vapour": "wetted, in the vapour",
}


@dataclass(frozen=True, slots=True)
class Fact:
    """One sentence on a suspect; `topic` is a short heading."""

    topic: str
    text: str
    source: str


def about(
    substance: Substance,
    *,
    correction_factors: Mapping[str, Decimal] | None = None,
    lel_basis: str = "",
    lamp_ev: Decimal | None = None,
    ensemble: Ensemble | str | None = None,
) -> tuple[Fact, ...]:
    """What to know of a suspect. Factors, basis and lamp are those of the meter carried.

    `correction_factors` maps names of gases to what multiplies the meter's % LEL;
    `lel_basis` is its calibration gas. What was not given is said to be unknown.
    """
    facts = [
        *_flammable(substance),
        _factor(substance, correction_factors or {}, lel_basis),
        *_mass(substance),
        _weight(substance),
        *_papers(substance),
        _lamp(substance, lamp_ev),
        _idlh(substance),
        _isolation(substance),
    ]
    if ensemble is not None:
        facts.append(_protection(substance, [Ensemble(ensemble)]))
    return tuple(facts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A suspect as the incident names it; no facts where the table does not have it."""

    name: str
    weight: str  # "Contradicted", "Not excluded" ...; "" where it is not in the table
    said: tuple[str, ...]  # what the readings say of it, each with its reading
    facts: tuple[Fact, ...]


def named_suspects(
    context: Context, ensembles: Iterable[Ensemble], weighed: Iterable[Evidence]
) -> tuple[Suspect, ...]:
    """Every named suspect, for the meter listed first and the strongest lamp listed."""
    worn = tuple(dict.fromkeys(ensembles))
    by_name = {item.substance.name: item for item in weighed}
    return tuple(
        _suspect(name, context, worn, by_name)
        for name in dict.fromkeys(context.suspects)
    )


def _suspect(
    name: str,
    context: Context,
    worn: Sequence[Ensemble],
    by_name: Mapping[str, Evidence],
) -> Suspect:
    substance = find(name)
    if substance is None:
        return Suspect(name=name, weight="", said=(), facts=())
    meters = [i for i in context.instruments.values() if i.kind == "gas_meter"]
    lamps = [meter.lamp_ev for meter in meters if meter.lamp_ev is not None]
    facts = about(
        substance,
        correction_factors=meters[0].correction_factors if meters else None,
        lel_basis=meters[0].lel_basis if meters else "",
        lamp_ev=max(lamps, default=None),
    )
    item = by_name.get(substance.name)
    return Suspect(
        name=name,
        weight=WEIGHT_WORDS[item.weight] if item else "",
        said=reasons(item) if item else (),
        facts=(*facts, *(_protection(substance, alike) for alike in _alike(worn))),
    )


def _flammable(substance: Substance) -> list[Fact]:
    """10 % of each list's lower limit in ppm, against the IDLH."""
    if not substance.lel:
        text = f"The table has no flammable limit for {substance.name}."
        return [Fact("Flammable limits", text, TABLE)]
    facts = []
    for basis, cell in substance.lel.items():
        ppm = cell.value * 1000
        text = (
            f"Lower explosive limit {cell.text} ({BASES[basis]}), upper "
            f"{substance.uel[basis].text}; 10 % of the lower is "
            + marked(f"{ppm.normalize():,f} ppm", cell)
        )
        idlh = substance.idlh_ppm
        if substance.idlh is not None and idlh is not None:
            times = (ppm / idlh).quantize(Decimal("0.01"))
            text += f", {times:f} times the IDLH of {substance.idlh.text}"
        facts.append(Fact("Flammable limits", f"{text}.", _source(cell)))
    return facts


def _factor(
    substance: Substance, factors: Mapping[str, Decimal], lel_basis: str
) -> Fact:
    if not substance.lel:
        text = "A LEL reading cannot be turned into this substance."
        return Fact("LEL reading", text, TABLE)
    names = {name.casefold() for name in (substance.name, *substance.aliases)}
    factor = next((f for name, f in factors.items() if name.casefold() in names), None)
    shown = (
        f"in terms of {lel_basis}" if lel_basis else "in terms of its calibration gas"
    )
    if factor is None:
        text = (
            f"Correction factor for {substance.name} unknown: the meter's % LEL is "
            f"{shown} and may be low."
        )
        return Fact("LEL reading", text, "none recorded for this meter")
    real = (10 * factor).normalize()
    text = f"10 % LEL on this meter, {shown}, is {real:f} % LEL (factor {factor:f})."
    return Fact("LEL reading", text, "correction factor recorded with the meter")


def _mass(substance: Substance) -> list[Fact]:
    cell = substance.molar_mass
    if cell is None:
        text = "Molar mass unknown: ppm cannot be turned into mg/m³."
        return [Fact("ppm and mg/m³", text, TABLE)]
    moles = STANDARD_ATMOSPHERE_KPA / (GAS_CONSTANT * ROOM_TEMPERATURE_K)
    mass = cell.value * moles
    text = (
        f"1 ppm is {_figures(mass)} mg/m³ and 1 mg/m³ is {_figures(1 / mass)} ppm, at "
        "25 °C and one atmosphere."
    )
    source = f"ideal gas; molar mass from {_source(cell)}"
    return [Fact("ppm and mg/m³", text, source)]


def _figures(value: Decimal) -> str:
    """Three significant figures."""
    return f"{Decimal(f'{value:.3g}'):f}"


def _weight(substance: Substance) -> Fact:
    ratio = substance.density_ratio
    if not substance.gives_vapour:
        text = "Gives next to no vapour; mist, dust and hot fumes are another matter."
        return Fact("Vapour", text, _source(substance.vapour_pressure_published))
    if ratio is None:
        text = "Weight of the vapour against air unknown: look low and high."
        return Fact("Vapour", text, TABLE)
    cell = substance.vapour_density
    shown = cell.text if cell else f"{_figures(ratio)} times air"
    if ratio > Decimal("1.05"):
        way = "sinks: pits, drains and cellars first"
    elif ratio < Decimal("0.95"):
        way = "rises when warm: ceilings first"
    else:
        way = "mixes with air at every height"
    text = f"Vapour weighs {shown}: {way}. Cold gas and fog sink whatever they weigh."
    if substance.notes:
        text += f" Note: {substance.notes}."
    known = cell or substance.molar_mass
    source = (
        _source(known) if cell else f"molar mass over 28.96 g/mol, {_source(known)}"
    )
    return Fact("Vapour", text, source)


def _papers(substance: Substance) -> list[Fact]:
    """One sentence a paper: what it would show, or that it cannot see the substance."""
    facts = []
    for paper in PAPERS:
        name = PAPER_NAMES[paper]
        known = [
            (sample, substance.papers[paper, sample])
            for sample in SAMPLES
            if (paper, sample) in substance.papers
        ]
        if not known:
            facts.append(Fact("Papers", f"{name}: nothing known.", TABLE))
            continue
        reads = "; ".join(
            f"{_HELD[sample]} {response.cell.text}" for sample, response in known
        )
        blind = all(response.shows <= NO_CHANGE for _, response in known)
        text = f"{name} cannot see it: {reads}." if blind else f"{name}: {reads}."
        source = marked(
            f"chemistry: {substance.paper_reason}",
            *(response.cell for _, response in known),
        )
        facts.append(Fact("Papers", text, source))
    return facts


def _lamp(substance: Substance, lamp_ev: Decimal | None) -> Fact:
    cell = substance.ionisation
    if cell is None:
        text = (
            "Ionisation energy unknown: a quiet photoionisation detector says nothing."
        )
        return Fact("Lamp", text, TABLE)
    if lamp_ev is None:
        text = (
            f"Needs a lamp of more than {cell.text}; the lamp carried is not recorded."
        )
    elif cell.value >= lamp_ev:
        text = f"A {lamp_ev:f} eV lamp cannot see it: it needs {cell.text}."
    else:
        text = f"A {lamp_ev:f} eV lamp can see it: it needs {cell.text}."
    return Fact("Lamp", text, _source(cell))


def _idlh(substance: Substance) -> Fact:
    cell, ceiling = substance.idlh, substance.ceiling
    if cell is None:
        text, source = "No IDLH in the table: that is no leave to breathe it", TABLE
    else:
        text = f"Immediately dangerous to life or health at {cell.text}"
        source = _source(cell)
    if ceiling is not None:
        text += f"; strictest ceiling or short-term limit {ceiling.text}"
    return Fact("IDLH", f"{text}.", source)


def _isolation(substance: Substance) -> Fact:
    """A first isolation distance with its edition, or that none could be read."""
    cell, number = substance.isolation, substance.un_number
    numbered = number is not None and number.value[:1].isdigit()
    under = f", under UN {number.text}" if number and numbered else ""
    look_up = f"; look it up under UN {number.text}" if under and number else ""
    if cell is None:
        text = f"No public figure read with its edition; use the current guidebook{under}. {GOVERNS}"
        return Fact("Isolation", text, "no page with figure and edition was read")
    text = (
        f"At least {cell.text} in all directions at first ({cell.note}); a large spill, a "
        f"fire or the table for toxic gases may ask for more{look_up}. {GOVERNS}"
    )
    return Fact("Isolation", text, _source(cell))


def _alike(ensembles: Iterable[Ensemble]) -> list[list[Ensemble]]:
    """The ensembles of which the same is to be said together, in order."""
    groups: dict[tuple[bool, bool], list[Ensemble]] = {}
    for worn in ensembles:
        groups.setdefault((worn.has_scba, worn.vapour_tight), []).append(worn)
    return list(groups.values())


def _protection(substance: Substance, ensembles: Sequence[Ensemble]) -> Fact:
    """What the ensembles' respirators are rated for, and what that leaves open."""
    ensemble, label = ensembles[0], "; ".join(worn.label for worn in ensembles)
    cell = substance.idlh
    danger = f"the IDLH of {cell.text}" if cell else "the IDLH, which is not known here"
    if not ensemble.has_scba:
        text = (
            f"{label}: not for use at or above {danger}, nor where the "
            "concentration or the oxygen is not known."
        )
        return Fact("Ensemble", text, "29 CFR 1910.134(d)(2), (d)(3)")
    text = (
        f"{label}: pressure-demand SCBA may be worn above {danger}; its "
        f"assigned protection factor is {APF_SCBA:,}. That is for breathing only and "
        "says nothing of skin and eyes"
    )
    if ensemble.vapour_tight:
        text += ": the suit's own permeation data for this substance decide."
    else:
        text += ": vapour gets through to the skin."
    return Fact("Ensemble", text, APF_SOURCE)


def _source(cell: Cell[Any] | None) -> str:
    return TABLE if cell is None else marked(cell.source, cell)
