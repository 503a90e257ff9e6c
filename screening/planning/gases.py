"""Gas and vapour: shares, explosive limits, ppm and mg/m³, and what a respirator allows."""

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from screening.planning.quantities import Number, magnitude, number, quantity
from screening.planning_numbers import displaced_share

if TYPE_CHECKING:
    from screening.planning.quantities import Measure

GAS_CONSTANT: Final = Decimal("8.31446261815324")  # J/(mol K), exact since 2019 (SI)
STANDARD_ATMOSPHERE_KPA: Final = Decimal("101.325")  # exact by definition
# 25 °C; a mole of gas is then 24.45 L. Source: NIOSH Pocket Guide, conversion factors.
ROOM_TEMPERATURE_K: Final = Decimal("298.15")
# Dry air, g/mol. Source: physics; CoolProp has 28.965.
AIR_MOLAR_MASS: Final = Decimal("28.96")
FRESH_AIR_OXYGEN_PERCENT: Final = Decimal("20.9")  # sensor maker's article
# Source: Zabetakis, share of the limit for each degree (read in public source).
ZABETAKIS_PER_DEGREE: Final = Decimal("0.000721")
# Source: modified Burgess–Wheeler, kcal/mol (from memory of Crowl and Louvar).
BURGESS_WHEELER_KCAL: Final = Decimal("0.75")


def displaced_air(
    oxygen_percent: Number, ambient_percent: Number = FRESH_AIR_OXYGEN_PERCENT
) -> Decimal:
    """Percent of the air that something else has taken the place of.

    Both in % by volume; zero where oxygen is not below ambient.
    Source: arithmetic, common practice (0.1 % of oxygen is 0.478 % of the air).
    """
    ambient = number(ambient_percent, "ambient_percent", above=0, high=100)
    oxygen = number(oxygen_percent, "oxygen_percent", low=0, high=100)
    return max(displaced_share(oxygen, ambient), Decimal(0))


def mixture_lel(parts: Mapping[Number, Number]) -> Decimal:
    """Lower explosive limit of a mixture of fuels, in % by volume of the whole fuel.

    `parts` maps each fuel's limit in % by volume to its mole share of the fuel. Shares
    need not add up to one (amounts in % by volume do as well): they are brought to it.
    Source: Le Chatelier 1891, as quoted in encyclopaedias: 1 / Σ(share / limit). It holds
    for the lower limit only.
    """
    if not parts:
        raise ValueError("parts must name at least one fuel")
    fuels = [
        (number(limit, "lower limit in parts", above=0, high=100), share)
        for limit, share in parts.items()
    ]
    shares = [number(share, "share in parts", low=0) for _, share in fuels]
    whole = sum(shares, Decimal(0))
    if whole == 0:
        raise ValueError("parts must hold a share above 0")
    limits = [limit for limit, _ in fuels]
    return whole / sum(
        (share / limit for limit, share in zip(limits, shares, strict=True)), Decimal(0)
    )


def lel_to_ppm(percent_of_lel: Number, lel_volume_percent: Number) -> Decimal:
    """Parts per million by volume at a reading in % of the lower explosive limit.

    Source: definition; 1 % by volume is 10,000 ppm.
    """
    share = number(percent_of_lel, "percent_of_lel", low=0)
    limit = number(lel_volume_percent, "lel_volume_percent", above=0, high=100)
    return share * limit * 100


def corrected_lel(shown_percent: Number, correction_factor: Number) -> Decimal:
    """% LEL of the gas that is there, from the reading of a meter calibrated to another.

    The factor belongs to that meter: two makers print 1.90 and 2.6 for the same gas.
    Source: catalogue of an instrument maker, 2019, p. 109: reading times factor.
    """
    shown = number(shown_percent, "shown_percent", low=0)
    return shown * number(correction_factor, "correction_factor", above=0)


def ppm_to_mg_m3(
    ppm: Number,
    molar_mass: "Measure",
    temperature: "Measure | None" = None,
    pressure: "Measure | None" = None,
) -> "Measure":
    """Mass concentration of a gas; 25 °C and one atmosphere unless given.

    `molar_mass` in g/mol. Source: ideal gas; NIOSH prints the same as ppm × M / 24.45.
    """
    share = number(ppm, "ppm", low=0)
    grams = magnitude(molar_mass, "g/mol", "molar_mass", above=0)
    moles = _moles_per_m3(temperature, pressure)
    return quantity(share * grams * moles / 1000, "mg/m**3")


def mg_m3_to_ppm(
    concentration: "Measure",
    molar_mass: "Measure",
    temperature: "Measure | None" = None,
    pressure: "Measure | None" = None,
) -> Decimal:
    """Parts per million by volume; the other way round of `ppm_to_mg_m3`.

    Source: ideal gas.
    """
    mass = magnitude(concentration, "mg/m**3", "concentration", low=0)
    grams = magnitude(molar_mass, "g/mol", "molar_mass", above=0)
    return mass * 1000 / (grams * _moles_per_m3(temperature, pressure))


def _moles_per_m3(temperature: "Measure | None", pressure: "Measure | None") -> Decimal:
    kelvin, kilopascal = ROOM_TEMPERATURE_K, STANDARD_ATMOSPHERE_KPA
    if temperature is not None:
        kelvin = magnitude(temperature, "kelvin", "temperature", above=0)
    if pressure is not None:
        kilopascal = magnitude(pressure, "kPa", "pressure", above=0)
    return kilopascal * 1000 / (GAS_CONSTANT * kelvin)


def lel_at_temperature(
    lel_volume_percent: Number,
    temperature: "Measure",
    heat_of_combustion: "Measure | None" = None,
) -> Decimal:
    """Lower explosive limit away from 25 °C, in % by volume; hot vapour needs less of it.

    With the net `heat_of_combustion` in kcal/mol: limit − 0.75 (T − 25) / heat
    limit × (1 − 0.000721 (T − 25)) without it.
    Source: modified Burgess–Wheeler (Crowl and Louvar, [memory]); Zabetakis for the
    second (its constant read in public source).

    ValueError where the formula has left its range and gives no limit above zero.
    """
    limit = number(lel_volume_percent, "lel_volume_percent", above=0, high=100)
    above_room = magnitude(temperature, "degC", "temperature") - 25
    if heat_of_combustion is None:
        result = limit * (1 - ZABETAKIS_PER_DEGREE * above_room)
    else:
        heat = magnitude(heat_of_combustion, "kcal/mol", "heat_of_combustion", above=0)
        result = limit - BURGESS_WHEELER_KCAL * above_room / heat
    if result <= 0:
        raise ValueError("temperature is beyond the range of the formula")
    return result


def saturated_vapour_percent(
    vapour_pressure: "Measure", pressure: "Measure | None" = None
) -> Decimal:
    """The most vapour that air over the liquid can hold, in % by volume (100 at most).

    Source: ideal gas: 100 × vapour pressure / pressure of the air, one atmosphere unless given.
    """
    vapour = magnitude(vapour_pressure, "kPa", "vapour_pressure", low=0)
    whole = STANDARD_ATMOSPHERE_KPA
    if pressure is not None:
        whole = magnitude(pressure, "kPa", "pressure", above=0)
    return min(vapour / whole * 100, Decimal(100))


def vapour_density(molar_mass: "Measure") -> Decimal:
    """Weight of the gas against air, which is 1: molar mass over 28.96 g/mol.

    Source: ideal gas.
    """
    return magnitude(molar_mass, "g/mol", "molar_mass", above=0) / AIR_MOLAR_MASS


def maximum_use_concentration(
    limit_ppm: Number, assigned_protection_factor: Number, idlh_ppm: Number
) -> Decimal:
    """Highest concentration, in ppm, for a respirator that is no apparatus for IDLH air.

    Source: 29 CFR 1910.134(d)(3)(i)(B): factor times limit, and never above the IDLH.
    """
    limit = number(limit_ppm, "limit_ppm", above=0)
    factor = number(assigned_protection_factor, "assigned_protection_factor", low=1)
    return min(limit * factor, number(idlh_ppm, "idlh_ppm", above=0))
