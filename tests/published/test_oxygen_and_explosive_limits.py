"""Displaced air, explosive limits and the meter's figures."""

from decimal import Decimal

import pytest

from screening.planning import (
    corrected_lel,
    displaced_air,
    lel_at_temperature,
    lel_to_ppm,
    mixture_lel,
)
from screening.units import Q
from tests.published.sources import check, row


@pytest.mark.parametrize(
    ("oxygen", "percent", "ppm"),
    [
        check("common practice, arithmetic: a drop of 0.1 %", "20.8", 0.478, 4_785),
        check("common practice, arithmetic: a drop of 0.5 %", "20.4", 2.392, 23_923),
        check("29 CFR 1910.146(b): at 19.5 %, still no alarm", "19.5", 6.70, 66_986),
    ],
)
def test_a_drop_of_oxygen_is_five_times_as_much_of_something_else(oxygen, percent, ppm):
    displaced = displaced_air(oxygen)

    assert float(displaced) == pytest.approx(percent, rel=0.01)
    assert float(displaced) * 10_000 == pytest.approx(ppm, rel=0.01)


def test_the_taught_rule_of_half_a_percent_is_within_five_percent_of_the_sum():
    # common practice, no source: 0.1 % of oxygen is about 0.5 % by volume
    assert float(displaced_air("20.8")) == pytest.approx(0.5, rel=0.05)


@pytest.mark.parametrize(
    ("share", "lel", "ppm"),
    [
        check("OSHA answer: 10 % of the limit of methane, 5.0 %", 10, "5.0", 5_000),
        check("OSHA answer: half of 10 % of it", 5, "5.0", 2_500),
        check("NIOSH IDLH documentation 1994: ammonia", 10, "15.0", 15_000),
        check("NIOSH IDLH documentation 1994: carbon monoxide", 10, "12.5", 12_500),
        check("NIOSH IDLH documentation 1994: hydrogen cyanide", 10, "5.6", 5_600),
        check("NIOSH IDLH documentation 1994: hydrogen sulfide", 10, "4.0", 4_000),
        check("NIOSH IDLH documentation 1994: ethylene oxide", 10, "3.0", 3_000),
        check("NIOSH IDLH documentation 1994: toluene", 10, "1.1", 1_100),
        check("NIOSH IDLH documentation 1994: propane", 10, "2.1", 2_100),
        check("NIOSH IDLH documentation 1994: n-hexane", 10, "1.1", 1_100),
        check("NIOSH IDLH documentation 1994: methyl alcohol", 10, "6.0", 6_000),
        check("NIOSH IDLH documentation 1994: ethyl alcohol", 10, "3.3", 3_300),
        check("NIOSH IDLH documentation 1994: ethyl ether", 10, "1.9", 1_900),
        check("NIOSH IDLH documentation 1994: benzene", 10, "1.2", 1_200),
        check("NIOSH IDLH documentation 1994: methylamine", 10, "4.9", 4_900),
    ],
)
def test_ten_percent_of_the_limit_in_ppm(share, lel, ppm):
    assert lel_to_ppm(share, lel) == ppm


@pytest.mark.parametrize(
    ("name", "times"),
    [
        check("NIOSH IDLH documentation 1994: ammonia, 15,000 / 300", "ammonia", 50.0),
        check("NIOSH IDLH documentation 1994: CO, 12,500 / 1,200", "CO", 10.4),
        check("NIOSH IDLH documentation 1994: HCN, 5,600 / 50", "HCN", 112),
        check("NIOSH IDLH documentation 1994: H2S, 4,000 / 100", "H2S", 40),
        check("NIOSH IDLH documentation 1994: EtO, 3,000 / 800", "EtO", 3.75),
        check("NIOSH IDLH documentation 1994: toluene, 1,100 / 500", "toluene", 2.2),
    ],
)
def test_ten_percent_of_the_explosive_limit_is_far_over_the_idlh(name, times):
    substance = row(name)

    ppm = lel_to_ppm(10, substance.lel_percent("us"))

    assert float(ppm / substance.idlh_ppm) == pytest.approx(times, abs=0.05)


@pytest.mark.parametrize(
    ("shown", "factor", "real"),
    [
        check("maker's catalogue 2019 p. 109: methane to pentane", 10, "2.02", 20.2),
        check("maker's catalogue 2019 p. 109: methane to toluene", 10, "2.55", 25.5),
        check("maker's catalogue 2019 p. 109: methane to hydrogen", 10, "0.94", 9.4),
        check("maker's catalogue 2019 p. 109: pentane to methane", 20, "0.50", 10.0),
        check("maker's catalogue 2019 p. 109: methane to hexane", 10, "2.86", 28.6),
        check("maker's catalogue 2019 p. 109: methane to acetone", 10, "1.70", 17.0),
    ],
)
def test_a_correction_factor_multiplies_what_the_meter_shows(shown, factor, real):
    assert float(corrected_lel(shown, factor)) == pytest.approx(real, abs=0.1)


@pytest.mark.parametrize(
    ("parts", "limit", "tolerance"),
    [
        check(
            "Le Chatelier 1891 with NFPA 497 limits: hexane, methane, ethylene",
            {"1.1": "0.8", "5.0": "2.0", "2.7": "0.5"},
            2.514,
            0.01,
        ),
        check(
            "from memory of Crowl and Louvar, ch. 6, printed as 2.75",
            {"1.2": "0.8", "5.3": "2.0", "3.1": "0.5"},
            2.738,
            0.01,
        ),
        check("Le Chatelier: a single fuel keeps its own limit", {"5.0": 1}, 5.0, 0),
    ],
)
def test_the_lower_limit_of_a_mixture_of_fuels(parts, limit, tolerance):
    mixed = mixture_lel(parts)

    assert float(mixed) == pytest.approx(limit, abs=tolerance or 1e-12)


@pytest.mark.parametrize(
    ("parts", "index"),
    [
        check(
            "Le Chatelier with NFPA 497 limits: flammable, the sum is over one",
            {"1.1": "0.8", "5.0": "2.0", "2.7": "0.5"},
            1.312,
        ),
        check(
            "from memory of Crowl and Louvar, ch. 6: flammable, 3.3 % is over 2.74 %",
            {"1.2": "0.8", "5.3": "2.0", "3.1": "0.5"},
            1.205,
        ),
    ],
)
def test_the_sum_of_shares_of_each_limit_says_the_same(parts, index):
    amount = sum(Decimal(share) for share in parts.values())

    assert float(amount / mixture_lel(parts)) == pytest.approx(index, abs=0.001)


@pytest.mark.parametrize(
    ("limit", "celsius", "expected"),
    [
        check(
            "Zabetakis constant, public source: methane at 100 °C", "5.0", 100, 4.730
        ),
        check("Zabetakis constant, public source: propane at 60 °C", "2.1", 60, 2.047),
    ],
)
def test_hot_vapour_needs_less_to_burn(limit, celsius, expected):
    hot = lel_at_temperature(limit, Q(celsius, "degC"))

    assert float(hot) == pytest.approx(expected, rel=0.005)


@pytest.mark.from_memory
def test_hot_methane_by_its_heat_of_combustion():
    # from memory of Crowl and Louvar (modified Burgess-Wheeler)
    hot = lel_at_temperature("5.0", Q(100, "degC"), Q("191.8", "kcal/mol"))

    assert float(hot) == pytest.approx(4.707, abs=0.02)
    # The two forms agree within half a percent for methane at 100 °C.
    assert float(hot) == pytest.approx(
        float(lel_at_temperature("5.0", Q(100, "degC"))), rel=0.005
    )
