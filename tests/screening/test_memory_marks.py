"""A value that is only from memory is marked in every sentence that shows it.

Each substance goes through everything that speaks of substances: facts of a suspect,
evidence as it is weighed and as page and report fold it, coverage, findings, what nothing
carried would show. It does so as it stands in
the table, and once more with every value taken for one from memory.
"""

import json
import re
from dataclasses import fields, replace
from decimal import Decimal

import pytest

from screening import substances
from screening.ensembles import Ensemble
from screening.evidence import evidence
from screening.fits import fold, reasons
from screening.methods import beyond
from screening.methods.doubts import of_lamp
from screening.observed import observed
from screening.result import screen
from screening.sources import _cells as cells_of
from screening.substances import MEMORY_MARK, SUBSTANCES, Cell, Response
from screening.suspects import about, named_suspects
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import fluoride, ki, meter, ph, worksheet

LAMPS = (None, 8, 16)  # not recorded, too weak for most, strong enough for all
COPY = "{} (all from memory)"


def log_of(name, lamp):
    """Papers dry, wet and in the liquid; a meter quiet, and one that shows this gas."""
    lamp_ev = {} if lamp is None else {"lamp_ev": lamp}
    return [
        ph(0, 7),
        ph(1, 2, sample="liquid"),
        ki(2, "no_change"),
        ki(3, "blue_black"),
        fluoride(4, "no_change"),
        meter(5, 0, 20.9, co_ppm=0, voc_ppm=0, **lamp_ev),
        meter(6, 3, 20.9, voc_ppm=4, gases={name: 4321}, **lamp_ev),
    ]


def document_of(name, lamp):
    meters = [
        {"id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen", "co"]}
    ]
    if lamp is not None:
        meters[0] |= {"sensors": ["lel", "oxygen", "voc"], "lamp_ev": lamp}
    return worksheet(*log_of(name, lamp), suspects=[name], instruments=meters)


def words_in(value):
    """Every text of a JSON value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for item in value.values():
            yield from words_in(item)
    elif isinstance(value, list):
        for item in value:
            yield from words_in(item)


def shown(substance, name):
    """Every sentence that is shown of a substance, under each lamp and ensemble."""
    for lamp in LAMPS:
        document = document_of(name, lamp)
        yield from words_in(screen(document))
        sheet = parse_worksheet(load_json(json.dumps(document).encode()))
        weighed = evidence(observed(sheet.log, sheet.context), [substance])
        for item in weighed:
            yield from (said.because for said in item.said)
            yield from reasons(item)
        for group in fold(weighed):
            for line in group.lines:
                yield from (clause.text for clause in line.clauses)
        for suspect in named_suspects(sheet.context, Ensemble, weighed):
            yield from suspect.said
        for ensemble in Ensemble:
            lamp_ev = None if lamp is None else Decimal(str(lamp))
            for fact in about(substance, lamp_ev=lamp_ev, ensemble=ensemble):
                if fact.topic != "ppm and mg/m³":  # its "1 ppm" is no value
                    yield fact.text


def figures_of(substance):
    """The cells that hold a number; words such as "acid" stand everywhere."""
    return [cell for cell in cells_of(substance) if isinstance(cell.value, Decimal)]


def unmarked(words, cell):
    """Where a figure of the table stands in the words without its mark."""
    written = {f"{cell.value:,f}", f"{cell.value:f}", f"{cell.value.normalize():f}"}
    pattern = "|".join(re.escape(text) for text in sorted(written))
    unit, mark = re.escape(cell.unit), re.escape(MEMORY_MARK)
    return re.findall(rf"(?<![\d.,])(?:{pattern}) {unit}\b(?! {mark})", words)


def remembered(cell):
    return None if cell is None else replace(cell, status="memory")


def from_memory(substance):
    """The substance with every value marked as one from memory, under another name."""
    changes = {
        "name": COPY.format(substance.name),
        "aliases": (),
        "cas": "",
        "notes": "",
    }
    for field in fields(substance):
        value = getattr(substance, field.name)
        if isinstance(value, Cell):
            changes[field.name] = remembered(value)
        elif isinstance(value, dict) and value:
            changes[field.name] = {
                key: Response(remembered(item.cell), item.shows)
                if isinstance(item, Response)
                else remembered(item)
                for key, item in value.items()
            }
    return replace(substance, **changes)


def test_the_check_sees_a_value_without_its_mark():
    cell = Cell(Decimal("10.50"), "a book", "memory", "eV")

    assert unmarked("bromine (10.5 eV) or another", cell)
    assert unmarked("needs 10.50 eV.", cell)
    assert not unmarked("needs 10.50 eV [memory].", cell)
    assert not unmarked("needs 110.50 eV or 10.505 eV", cell)
    heavy = Cell(Decimal(3), "a book", "memory", "times air")
    assert unmarked("weighs 3 times air: sinks", heavy)
    assert not unmarked("weighs 3 times air [memory]: sinks", heavy)


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_no_sentence_shows_a_value_from_memory_without_its_mark(substance):
    words = list(shown(substance, substance.name))

    assert len(words) > 100
    for cell in figures_of(substance):
        if cell.status == "memory":
            assert not [text for text in words if unmarked(text, cell)]


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_nor_would_it_if_any_other_value_were_from_memory(substance, monkeypatch):
    copy = from_memory(substance)
    index = {**substances._index(), substances._key(copy.name): copy}
    monkeypatch.setattr(substances, "_index", lambda: index)
    monkeypatch.setattr(beyond, "SUBSTANCES", (copy,))

    words = list(shown(copy, copy.name))

    for cell in figures_of(copy):
        assert not [text for text in words if unmarked(text, cell)]


@pytest.mark.parametrize("lamp", [None, Decimal(8)], ids=["unknown", "too weak"])
def test_the_ionisation_energy_in_a_coverage_reason_keeps_its_mark(lamp):
    cell = substances.find("nitrogen dioxide").ionisation
    assert cell.status == "memory"

    (said,) = of_lamp(lamp, ("nitrogen dioxide",))

    assert f"nitrogen dioxide ({cell.text})" in said


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_the_source_of_a_fact_from_memory_is_marked(substance):
    copy = from_memory(substance)
    sources = {cell.source for cell in cells_of(copy)}

    facts = about(copy, lamp_ev=Decimal(10), ensemble="level_b")

    for fact in facts:
        if any(fact.source.startswith(source) for source in sources):
            assert fact.source.endswith(MEMORY_MARK)
    assert any(fact.source.endswith(MEMORY_MARK) for fact in facts)


def test_what_is_worked_out_from_a_remembered_value_is_marked():
    copy = from_memory(substances.find("benzene"))

    limits = [f.text for f in about(copy) if f.topic == "Flammable limits"]
    (mass,) = (f for f in about(copy) if f.topic == "ppm and mg/m³")

    # 10 % of 1.2 % by volume (NFPA 497) is 1,200 ppm: arithmetic.
    assert f"is 1,200 ppm {MEMORY_MARK}" in limits[0]
    assert mass.source.endswith(MEMORY_MARK)
