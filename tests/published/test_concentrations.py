"""ppm, mg/m³, saturated vapour, weight of vapours, and respirators."""

from decimal import Decimal

import pytest

from screening.planning import (
    maximum_use_concentration,
    mg_m3_to_ppm,
    ppm_to_mg_m3,
    saturated_vapour_percent,
    vapour_density,
)
from screening.units import Q
from tests.published.sources import check, near, row


def molar_mass(name):
    return Q(row(name).molar_mass.value, "g/mol")


@pytest.mark.parametrize(
    ("name", "ppm", "mg_m3", "tolerance"),
    [
        check("NIOSH Pocket Guide: chlorine", "chlorine", 1, 2.90, 0.01),
        check("NIOSH Pocket Guide: phosgene", "phosgene", 1, 4.05, 0.01),
        check("NIOSH Pocket Guide: chlorine dioxide", "ClO2", 1, 2.76, 0.01),
        check("NIOSH Pocket Guide: n-hexane", "hexane", 1, 3.53, 0.01),
        check("NIOSH Pocket Guide: ethyl alcohol", "ethanol", 1, 1.89, 0.01),
        check("NIOSH Pocket Guide: benzene", "benzene", 1, 3.19, 0.01),
        check("state health assessment 2008: hydrogen chloride", "HCl", 1, 1.49, 0.01),
        check("from memory of ppm × M / 24.45: ammonia", "NH3", 300, 209.0, 1.05),
        check("from memory of ppm × M / 24.45: H2S", "H2S", 100, 139.4, 0.70),
        check("from memory of ppm × M / 24.45: CO", "CO", 1200, 1374.7, 6.9),
    ],
)
def test_ppm_in_mass_and_back(name, ppm, mg_m3, tolerance):
    mass = ppm_to_mg_m3(ppm, molar_mass(name))

    assert near(mass, "mg/m**3", mg_m3, tolerance)
    assert float(mg_m3_to_ppm(mass, molar_mass(name))) == pytest.approx(ppm)


def test_a_volume_percent_is_ten_thousand_ppm():
    # gas supplier's sheet: "10,000 ppm = 1 %"; one atmosphere of vapour is all of it
    assert saturated_vapour_percent(Q("7.6", "mmHg")) * 10_000 == pytest.approx(
        Decimal(10_000), rel=Decimal("0.0001")
    )


@pytest.mark.parametrize(
    ("mmhg", "percent"),
    [
        check("CoolProp 8.0.0: acetone at 20 °C", "185.0", 24.3),
        check("data sheet: bromine at 20 °C, 23 %", "172", 22.6),
    ],
)
def test_vapour_over_a_liquid_fills_the_share_its_pressure_allows(mmhg, percent):
    share = saturated_vapour_percent(Q(mmhg, "mmHg"))

    assert float(share) == pytest.approx(percent, rel=0.03)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        check("NIOSH Pocket Guide: chlorine", "chlorine", 2.47),
        check("OSHA chemical database: carbon monoxide", "CO", 0.97),
        check("National Academies summary: hydrogen sulfide", "H2S", 1.189),
        check("OSHA chemical database: hydrogen chloride", "HCl", 1.27),
        check("NIOSH Pocket Guide: phosgene", "phosgene", 3.48),
        check("National Academies summary: ammonia", "ammonia", 0.59),
        check("NIOSH Pocket Guide: chlorine dioxide", "ClO2", 2.33),
        check("National Academies summary: toluene", "toluene", 3.14),
        check("National Academies summary: ethylene oxide", "EtO", 1.5),
        check("fire-service hazard profile: hydrogen cyanide", "HCN", 0.941),
        check("OSHA chemical database: propane", "propane", 1.55),
        check("National Academies summary: acetone", "acetone", 2.0),
        check("National Academies summary: n-hexane", "hexane", 3.0),
        check("National Academies summary: methanol", "methanol", 1.1),
    ],
)
def test_molar_mass_gives_the_printed_vapour_density_within_three_percent(
    name, printed
):
    assert float(vapour_density(molar_mass(name))) == pytest.approx(printed, rel=0.03)


@pytest.mark.parametrize(
    ("limit", "idlh", "factor", "most"),
    [
        check("NIOSH Pocket Guide: chlorine, factor 10", "0.5", 10, 10, 5),
        check("NIOSH Pocket Guide: chlorine, factor 25, capped", "0.5", 10, 25, 10),
        check("NIOSH Pocket Guide: chlorine, factor 50, capped", "0.5", 10, 50, 10),
        check("NIOSH Pocket Guide: phosgene, factor 10", "0.1", 2, 10, 1),
        check("NIOSH Pocket Guide: phosgene, factor 50, capped", "0.1", 2, 50, 2),
        check("NIOSH Pocket Guide: chlorine dioxide, factor 10", "0.1", 5, 10, 1),
        check("NIOSH Pocket Guide: chlorine dioxide, factor 25", "0.1", 5, 25, "2.5"),
        check("NIOSH Pocket Guide: n-hexane, factor 10", 50, 1100, 10, 500),
        check("NIOSH Pocket Guide: n-hexane, factor 25, capped", 50, 1100, 25, 1100),
    ],
)
def test_a_respirator_is_good_to_its_factor_but_never_over_the_idlh(
    limit, idlh, factor, most
):
    assert maximum_use_concentration(limit, factor, idlh) == Decimal(most)


def test_hydrogen_fluoride_is_heavier_than_its_molecule_says():
    # OSHA chemical database: 1.86, because the vapour associates; 20 / 28.96 is 0.69
    assert row("HF").density_ratio == Decimal("1.86")
    assert float(vapour_density(molar_mass("HF"))) == pytest.approx(0.69, rel=0.01)
