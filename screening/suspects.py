"""What is known beforehand of one named suspect, for this team and what it carries.

Sentences only, each with its sources; a value from memory keeps its mark. Nothing here
decides: the rules do.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from screening.ensembles import Ensemble
from screening.evidence import NO_CHANGE, PAPER_NAMES
from screening.planning.gases import (
    GAS_CONSTANT,
    ROOM_TEMPERATURE_K,
    STANDARD_ATMOSPHERE_KPA,
)
from screening.substances import (
    BASES,
    MEMORY_MARK,
    PAPERS,
    SAMPLES,
    Cell,
    Sample,
    Substance,
)

APF_SCBA: Final = 10_000
APF_SOURCE: Final = "29 CFR 1910.134(d)(3)(i)(A), Table 1"
SUSPECT_CAUTION: Final = (
    "A suspect is a guess until it is identified. "
    "Supports decisions; local SOPs and the incident commander govern."
)
TABLE: Final = "data/substances.csv"
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
    ]
    if ensemble is not None:
        facts.append(_protection(substance, Ensemble(ensemble)))
    return tuple(facts)


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
            f"{substance.uel[basis].text}; 10 % of the lower is {ppm.normalize():,f} ppm"
        )
        idlh = substance.idlh_ppm
        if substance.idlh is not None and idlh is not None:
            times = (ppm / idlh).quantize(Decimal("0.01"))
            text += f", {times:f} times the IDLH of {substance.idlh.text}"
        facts.append(Fact("Flammable limits", f"{text}.", cell.source))
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
    return [Fact("ppm and mg/m³", text, f"ideal gas; molar mass from {cell.source}")]


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
    source = cell.source if cell else "molar mass over 28.96 g/mol"
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
            f"{_HELD[sample]} {response.cell.value}" for sample, response in known
        )
        blind = all(response.shows <= NO_CHANGE for _, response in known)
        text = f"{name} cannot see it: {reads}." if blind else f"{name}: {reads}."
        facts.append(Fact("Papers", text, f"chemistry: {substance.paper_reason}"))
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
    return Fact("Lamp", text, cell.source)


def _idlh(substance: Substance) -> Fact:
    cell, ceiling = substance.idlh, substance.ceiling
    if cell is None:
        text, source = "No IDLH in the table: that is no leave to breathe it", TABLE
    else:
        text = f"Immediately dangerous to life or health at {cell.text}"
        source = cell.source
    if ceiling is not None:
        text += f"; strictest ceiling or short-term limit {ceiling.text}"
    return Fact("IDLH", f"{text}.", source)


def _protection(substance: Substance, ensemble: Ensemble) -> Fact:
    """What the ensemble's respirator is rated for, and what that leaves open."""
    cell = substance.idlh
    danger = f"the IDLH of {cell.text}" if cell else "the IDLH, which is not known here"
    if not ensemble.has_scba:
        text = (
            f"{ensemble.label}: not for use at or above {danger}, nor where the "
            "concentration or the oxygen is not known."
        )
        return Fact("Ensemble", text, "29 CFR 1910.134(d)(2), (d)(3)")
    text = (
        f"{ensemble.label}: pressure-demand SCBA may be worn above {danger}; its "
        f"assigned protection factor is {APF_SCBA:,}. That is for breathing only and "
        "says nothing of skin and eyes"
    )
    if ensemble.vapour_tight:
        text += ": the suit's own permeation data for this substance decide."
    else:
        text += ": this ensemble lets vapour through to the skin."
    return Fact("Ensemble", text, APF_SOURCE)


def _source(cell: Cell[str] | None) -> str:
    if cell is None:
        return TABLE
    return f"{cell.source} {MEMORY_MARK}" if cell.status == "memory" else cell.source
