"""The table of substances: every value has its source, every name its row."""

from decimal import Decimal

import pytest

from screening import substances
from screening.substances import PAPERS, SAMPLES, STATUSES, SUBSTANCES, find
from tests.published.sources import row

OUTCOMES = {
    "ph": {"acid", "base", "neutral", "bleached"},
    "ki_starch": {"positive", "no_change"},
    "fluoride": {"changed", "no_change"},
}


def cells_of(substance):
    single = (
        substance.molar_mass,
        substance.idlh,
        substance.ionisation,
        substance.vapour_pressure,
        substance.vapour_pressure_published,
        substance.boiling_point,
        substance.vapour_density,
        substance.un_number,
        substance.isolation,
    )
    several = (
        *substance.lel.values(),
        *substance.uel.values(),
        *substance.limits.values(),
        *substance.flash_point.values(),
        *(response.cell for response in substance.papers.values()),
    )
    return [cell for cell in (*single, *several) if cell is not None]


def test_the_table_holds_at_least_thirty_five_substances():
    assert len({substance.cas for substance in SUBSTANCES}) >= 35


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_every_value_has_a_source_and_a_status(substance):
    for cell in cells_of(substance):
        assert cell.source
        assert cell.status in STATUSES


def test_every_isolation_distance_belongs_to_a_row_of_the_table():
    names = {substance.name for substance in SUBSTANCES}

    assert set(substances._isolations()) <= names
    assert any(substance.isolation is not None for substance in SUBSTANCES)


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_every_expected_response_is_one_that_the_paper_can_give(substance):
    assert substance.papers
    for (paper, _), response in substance.papers.items():
        assert response.shows
        assert response.shows <= OUTCOMES[paper]


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_limits_are_in_order(substance):
    for basis, lower in substance.lel.items():
        assert lower.value < substance.uel[basis].value
    if substance.idlh_ppm is not None and substance.ceiling_ppm is not None:
        assert substance.ceiling_ppm < substance.idlh_ppm


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("ammonia", "ammonia (anhydrous)"),
        ("Ammonia", "ammonia (anhydrous)"),
        ("NH3", "ammonia (anhydrous)"),
        ("HF", "hydrogen fluoride"),
        ("hydrogen fluoride", "hydrogen fluoride"),
        ("CHLORINE", "chlorine"),
        ("carbon_dioxide", "carbon dioxide"),
        ("  hydrogen   cyanide ", "hydrogen cyanide"),
        ("sulphur dioxide", "sulfur dioxide"),
        ("7664-41-7", "ammonia (anhydrous)"),
        ("co", "carbon monoxide"),
    ],
)
def test_a_substance_is_found_by_any_of_its_names(name, expected):
    found = find(name)

    assert found is not None
    assert found.name == expected


@pytest.mark.parametrize("name", ["", "unobtainium", "chlor"])
def test_an_unknown_name_finds_nothing(name):
    assert find(name) is None


def test_a_value_from_memory_carries_its_mark():
    read = substances.Cell(Decimal(30), "a page", "read", "ppm")
    recalled = substances.Cell(Decimal(30), "a page", "memory", "ppm")

    assert read.text == "30 ppm"
    assert recalled.text == "30 ppm [memory]"


def test_the_two_lists_of_explosive_limits_are_kept_apart():
    methane = row("methane")

    assert methane.lel_percent("us") == Decimal("5.0")
    assert methane.lel_percent("iec") == Decimal("4.4")
    assert substances.BASES == {"us": "NFPA 497", "iec": "IEC 60079-20-1"}


def test_an_idlh_in_mass_is_not_taken_for_ppm():
    acid = row("sulfuric acid")

    assert acid.idlh.unit == "mg/m3"
    assert acid.idlh_ppm is None
    assert acid.ceiling_ppm is None


def test_a_shift_average_is_no_ceiling():
    assert row("acetone").limits["rel_twa"].value == 250
    assert row("acetone").ceiling_ppm is None


def test_salts_and_oil_of_vitriol_give_no_vapour_to_look_for():
    silent = {substance.name for substance in SUBSTANCES if not substance.gives_vapour}

    assert silent == {"sulfuric acid", "sodium hydroxide", "ammonium nitrate"}


def test_papers_have_a_row_for_liquid_and_vapour():
    chlorine = row("chlorine")

    assert set(chlorine.papers) == {(p, s) for p in PAPERS for s in SAMPLES}


@pytest.mark.parametrize("missing", ["idlh_source", "idlh_status"])
def test_a_value_without_source_or_status_is_refused(missing):
    cells = {"name": "x", "idlh": "5", "idlh_source": "a page", "idlh_status": "read"}
    cells[missing] = ""

    with pytest.raises(ValueError, match="x: idlh has no"):
        substances._number(cells, "idlh", "idlh", "ppm")
