"""The table of substances against CoolProp and chemicals: all that these libraries know.

Nothing is chosen: each check runs over every row of the table that the library has, and
says where the table leaves out what the library could have given.
"""

from functools import lru_cache

import pytest

from screening.substances import BASES, SUBSTANCES

chemicals = pytest.importorskip("chemicals")
properties = pytest.importorskip("CoolProp.CoolProp")

ROOM_K = 293.15
PASCAL_PER_MMHG = 133.322368
# NFPA 497 (2008) and IEC 60079-20-1 (2010) as tabulated in chemicals 1.5.2
LISTS = {"us": "NFPA 497 (2008)", "iec": "IEC 60079-20-1 (2010)"}


def named(condition):
    return [
        pytest.param(substance, id=substance.name)
        for substance in SUBSTANCES
        if condition(substance)
    ]


@lru_cache(maxsize=1)
def fluids():
    """CoolProp's names by CAS number."""
    return {
        properties.get_fluid_param_string(name, "CAS"): name
        for name in properties.FluidsList()
    }


def boils_at_room(substance):
    """Whether CoolProp has a liquid and a vapour of it at 20 °C."""
    fluid = fluids().get(substance.cas)
    return fluid is not None and properties.PropsSI("Tcrit", fluid) > ROOM_K


# --- what it is ------------------------------------------------------------------------


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_the_cas_number_is_one_and_is_this_formulas(substance):
    # chemicals 1.5.2: check digit, and the formula that it has for the number
    assert chemicals.identifiers.check_CAS(substance.cas)
    if substance.formula != "mixture":
        atoms = chemicals.nested_formula_parser(substance.formula)
        known = chemicals.search_chemical(substance.cas).formula
        assert atoms == chemicals.nested_formula_parser(known)


@pytest.mark.parametrize("substance", named(lambda s: s.formula != "mixture"))
def test_molar_mass_is_that_of_the_formula_and_of_the_library(substance):
    # chemicals 1.5.2: atomic weights, and package data; tolerance: the last figure printed
    atoms = chemicals.nested_formula_parser(substance.formula)
    printed = float(substance.molar_mass.value)

    assert printed == pytest.approx(chemicals.molecular_weight(atoms), abs=0.0015)
    assert printed == pytest.approx(chemicals.MW(substance.cas), rel=0.001)


# --- how it burns ----------------------------------------------------------------------


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
@pytest.mark.parametrize("basis", BASES)
def test_explosive_limits_are_those_of_the_list_that_is_named(substance, basis):
    # Exact: a limit is a limit. None where that list has none, never left out.
    table = LISTS[basis]
    lower = chemicals.LFL(CASRN=substance.cas, method=table)
    upper = chemicals.UFL(CASRN=substance.cas, method=table)
    ours = substance.lel_percent(basis), substance.uel_percent(basis)

    if lower is None:
        assert ours == (None, None)
    else:
        assert [float(value) for value in ours] == pytest.approx(
            [lower * 100, upper * 100]
        )


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
@pytest.mark.parametrize("basis", BASES)
def test_flash_point_is_a_listed_one_and_not_an_estimate(substance, basis):
    # The library's estimates put methanol at −31 °C where the lists say 9 to 12.
    # Tolerance: half a degree, as kelvin is turned to a whole degree Celsius.
    cell = substance.flash_point.get(basis)
    kelvin = chemicals.T_flash(substance.cas, method=LISTS[basis])

    if cell is not None:
        assert float(cell.value) == pytest.approx(kelvin - 273.15, abs=0.5)
    else:
        assert kelvin is None


# --- how it evaporates -----------------------------------------------------------------


@pytest.mark.parametrize("substance", named(boils_at_room))
def test_vapour_pressure_at_20_celsius_agrees_with_coolprop(substance):
    # CoolProp 8.0.0. Tolerance 1 %: two of them are from other correlations.
    pascal = properties.PropsSI("P", "T", ROOM_K, "Q", 0, fluids()[substance.cas])

    mmhg = float(substance.vapour_pressure.value)

    assert mmhg == pytest.approx(pascal / PASCAL_PER_MMHG, rel=0.01)


def correlations(cas):
    """mmHg at 20 °C by each correlation of chemicals 1.5.2 that holds there."""
    tables = chemicals.vapor_pressure
    wagner, poling = tables.Psat_data_WagnerMcGarry, tables.Psat_data_WagnerPoling
    antoine, perry = tables.Psat_data_AntoinePoling, tables.Psat_data_Perrys2_8
    vdi = tables.Psat_data_VDI_PPDS_3
    found = {}
    if (
        cas in wagner.index
        and wagner.loc[cas]["Tmin"] <= ROOM_K <= wagner.loc[cas]["Tc"]
    ):
        known = wagner.loc[cas]
        found["Wagner, McGarry"] = chemicals.Wagner_original(
            ROOM_K, *(known[name] for name in ("Tc", "Pc", "A", "B", "C", "D"))
        )
    for name, table, last in (
        ("Wagner, Poling", poling, "Tmax"),
        ("VDI heat atlas", vdi, "Tc"),
    ):
        if cas in table.index and table.loc[cas][last] >= ROOM_K:
            known = table.loc[cas]
            found[name] = chemicals.Wagner(
                ROOM_K, *(known[name] for name in ("Tc", "Pc", "A", "B", "C", "D"))
            )
    if cas in antoine.index:
        known = antoine.loc[cas]
        if known["Tmin"] <= ROOM_K <= known["Tmax"]:
            found["Antoine, Poling"] = chemicals.Antoine(
                ROOM_K, known["A"], known["B"], known["C"], base=10
            )
    if cas in perry.index:
        known = perry.loc[cas]
        if known["Tmin"] <= ROOM_K <= known["Tmax"]:
            constants = (known[f"C{number}"] for number in range(1, 6))
            found["Perry 2-8"] = chemicals.dippr.EQ101(ROOM_K, *constants)
    return {name: pascal / PASCAL_PER_MMHG for name, pascal in found.items()}


@pytest.mark.parametrize(
    ("substance", "correlation"),
    [
        pytest.param(substance, name, id=f"{substance.name}, {name}")
        for substance in SUBSTANCES
        for name in correlations(substance.cas)
        if substance.vapour_pressure is not None
    ],
)
def test_vapour_pressure_agrees_with_every_correlation_that_holds(
    substance, correlation
):
    # Tolerance 2.5 %: the correlations differ by up to 1.8 % among themselves (SO2).
    reference = correlations(substance.cas)[correlation]

    assert float(substance.vapour_pressure.value) == pytest.approx(reference, rel=0.025)


def test_a_vapour_pressure_is_missing_only_where_no_library_has_one():
    # Iodine is a solid at 20 °C: the library's line is that of its melt.
    missing = {
        substance.name
        for substance in SUBSTANCES
        if substance.vapour_pressure is None
        and (boils_at_room(substance) or correlations(substance.cas))
    }

    assert missing == {"iodine"}


MEASURED = ("HEOS", "CRC_INORG", "CRC_ORG", "WEBBOOK")


@pytest.mark.parametrize(
    ("substance", "method"),
    [
        pytest.param(substance, method, id=f"{substance.name}, {method}")
        for substance in SUBSTANCES
        for method in chemicals.Tb_methods(substance.cas)
        if method in MEASURED and substance.boiling_point is not None
    ],
)
def test_boiling_point_agrees_with_every_measured_list(substance, method):
    # chemicals 1.5.2; estimates and lists without sources are left out. Tolerance 1.5 °C:
    # the lists differ by as much among themselves (ethylene oxide 10.4 and 11.9).
    kelvin = chemicals.Tb(substance.cas, method=method)

    assert float(substance.boiling_point.value) == pytest.approx(
        kelvin - 273.15, abs=1.5
    )


@pytest.mark.parametrize("substance", named(lambda s: s.cas in fluids()))
def test_boiling_point_agrees_with_coolprop(substance):
    # CoolProp 8.0.0, saturation temperature at one atmosphere. Tolerance: the CRC's figure
    # for hydrogen sulfide is 0.75 °C from it.
    fluid = fluids()[substance.cas]
    if substance.name == "carbon dioxide":  # sublimes: no liquid at one atmosphere
        assert properties.PropsSI("ptriple", fluid) > 101_325
        assert substance.boiling_point is None
        return
    kelvin = properties.PropsSI("T", "P", 101_325, "Q", 0, fluid)

    assert float(substance.boiling_point.value) == pytest.approx(
        kelvin - 273.15, abs=1.0
    )


@pytest.mark.parametrize(
    "substance",
    # hydrogen fluoride and nitrogen dioxide boil within a degree or two of 20 °C
    named(
        lambda s: (
            s.vapour_pressure
            and s.boiling_point
            and abs(s.boiling_point.value - 20) > 2
        )
    ),
)
def test_what_boils_below_20_celsius_has_more_than_an_atmosphere_there(substance):
    # physics: the vapour pressure passes 760 mmHg at the boiling point
    above = float(substance.vapour_pressure.value) > 760

    assert above is (substance.boiling_point.value < 20)
