"""One version of an agency's SOP limits, each limit with its default and its source.

Values are `Decimal` in the canonical units of `screening.units`: pH, percent, ppm and
fractions as plain numbers, temperature differences in delta_degF, times in seconds,
doses in rem, dose rates in rem/h.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Final, Literal

Stricter = Literal["lower", "higher", "neither"]
PUBLISHED: Final = "published"
NO_SOURCE: Final = "no source"
COMMON_PRACTICE: Final = "common practice, no source"
SET_BY_SOP: Final = "no source; set by SOP"

CONFINED_SPACES = "29 CFR 1910.146(b)"
FOUR_AGENCIES = (
    "four-agency guidance manual 1985 (NIOSH/OSHA/USCG/EPA), atmospheric hazards table: "
    "combustible readings not valid below 19.5 %"
)
EPA_PAG = "EPA-400/R-17/001, Table 3-1"
NCRP = "NCRP Commentary 19"
NFPA_1981 = "NFPA 1981, low-air alarm at 33 %"
POCKET_GUIDE = "NIOSH Pocket Guide to Chemical Hazards"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One row of the table of limits."""

    key: str
    label: str  # begins a sentence
    default: Decimal | None  # canonical unit; None where a profile may set one or not
    unit: str  # canonical: "pH", "%", "ppm", "fraction", "delta_degF", "rem", "rem/h", "s"
    source: str
    status: str  # PUBLISHED or NO_SOURCE
    stricter: Stricter  # which way the limit bites sooner

    @property
    def is_quantity(self) -> bool:
        """Whether a profile document writes it with its unit."""
        return self.unit in ("delta_degF", "rem", "rem/h", "s")

    def is_looser(self, value: Decimal) -> bool:
        """Whether a value bites later than the published one; never without a source."""
        if self.status != PUBLISHED or self.default is None:
            return False
        if self.stricter == "lower":
            return value > self.default
        return self.stricter == "higher" and value < self.default


def _limit(
    key: str, label: str, default: str, unit: str, stricter: Stricter, source: str
) -> Limit:
    return Limit(
        key=key,
        label=label,
        default=Decimal(default) if default else None,
        unit=unit,
        source=source,
        status=NO_SOURCE if source in (COMMON_PRACTICE, SET_BY_SOP) else PUBLISHED,
        stricter=stricter,
    )


_TABLE: Final = (
    _limit("acid_caution_ph", "Acid, caution", "5.5", "pH", "higher", COMMON_PRACTICE),
    _limit("acid_stop_ph", "Acid, stop", "4", "pH", "higher", COMMON_PRACTICE),
    _limit("base_caution_ph", "Base, caution", "8", "pH", "lower", COMMON_PRACTICE),
    _limit("base_stop_ph", "Base, stop", "9", "pH", "lower", COMMON_PRACTICE),
    _limit("dry_air_percent", "Relative humidity below which dry pH paper cannot tell",
           "30", "%", "higher", COMMON_PRACTICE),
    _limit("lel_caution_percent", "Flammable gas, caution",
           "1", "%", "lower", COMMON_PRACTICE),
    _limit("lel_withdraw_percent", "Flammable gas, withdraw", "10", "%", "lower",
           f"{CONFINED_SPACES}: in excess of 10 % of the LEL"),
    _limit("oxygen_enriched_percent", "Oxygen enriched above", "23.5", "%", "lower",
           f"{CONFINED_SPACES}: above 23.5 %"),
    _limit("oxygen_deficient_percent", "Oxygen deficient below", "19.5", "%", "higher",
           f"{CONFINED_SPACES}: below 19.5 %"),
    _limit("oxygen_min_for_lel", "Oxygen that an LEL sensor needs",
           "19.5", "%", "higher", FOUR_AGENCIES),
    _limit("oxygen_ambient", "Oxygen in fresh air",
           "20.9", "%", "neither", COMMON_PRACTICE),
    _limit("oxygen_drop", "Oxygen away from fresh air, caution",
           "0.5", "%", "lower", COMMON_PRACTICE),
    _limit("voc_caution_ppm", "Organic vapour over background, caution",
           "1", "ppm", "lower", COMMON_PRACTICE),
    _limit("voc_ceiling_ppm", "Organic vapour, ceiling", "", "ppm", "lower", SET_BY_SOP),
    _limit("first_look", "First look complete within", "300", "s", "lower", SET_BY_SOP),
    _limit("thermal_margin", "Warmer than its surroundings by",
           "10", "delta_degF", "lower", COMMON_PRACTICE),
    _limit("thermal_rise", "Rise of a container",
           "4", "delta_degF", "lower", COMMON_PRACTICE),
    _limit("thermal_steady_time", "Time over which a container is steady",
           "600", "s", "higher", COMMON_PRACTICE),
    _limit("dose_turn_back_other", "Turn-back dose", "5", "rem", "lower",
           f"{EPA_PAG}: all occupational exposures"),
    _limit("dose_turn_back_product_control", "Turn-back dose, product control",
           "10", "rem", "lower", f"{EPA_PAG}: protecting critical infrastructure"),
    _limit("dose_turn_back_rescue", "Turn-back dose, rescue", "25", "rem", "lower",
           f"{EPA_PAG}: lifesaving or protecting large populations"),
    _limit("dose_rate_background", "Dose rate over background",
           "0.0001", "rem/h", "lower", COMMON_PRACTICE),
    _limit("dose_rate_hot_line", "Dose rate at the edge of the hot zone",
           "0.01", "rem/h", "lower", f"{NCRP}: 10 mR/h"),
    _limit("dose_rate_turn_back", "Turn-back dose rate",
           "10", "rem/h", "lower", f"{NCRP}: 10 R/h"),
    _limit("exit_time", "Time for the way out", "300", "s", "higher", SET_BY_SOP),
    _limit("low_air_fraction", "Low-air alarm", "0.33", "fraction", "higher", NFPA_1981),
    _limit("co_ceiling_ppm", "Carbon monoxide, ceiling",
           "200", "ppm", "lower", f"{POCKET_GUIDE}: C 200 ppm"),
    _limit("h2s_ceiling_ppm", "Hydrogen sulfide, ceiling",
           "10", "ppm", "lower", f"{POCKET_GUIDE}: C 10 ppm"),
    _limit("co_idlh_ppm", "Carbon monoxide, IDLH",
           "1200", "ppm", "lower", f"{POCKET_GUIDE}: IDLH 1,200 ppm"),
    _limit("h2s_idlh_ppm", "Hydrogen sulfide, IDLH",
           "100", "ppm", "lower", f"{POCKET_GUIDE}: IDLH 100 ppm"),
    _limit("paper_age", "A paper's answer counts for", "600", "s", "lower", SET_BY_SOP),
    _limit("meter_age", "A meter's answer counts for", "300", "s", "lower", SET_BY_SOP),
    _limit("thermal_age", "An imager's answer counts for",
           "120", "s", "lower", SET_BY_SOP),
    _limit("dosimeter_age", "A dosimeter's answer counts for",
           "900", "s", "lower", SET_BY_SOP),
    _limit("par_interval", "PAR interval", "1200", "s", "lower", COMMON_PRACTICE),
)  # fmt: skip

LIMITS: Final[Mapping[str, Limit]] = MappingProxyType(
    {limit.key: limit for limit in _TABLE}
)

# First must be below second; "below or equal" where the flag says so.
ORDERED: Final[tuple[tuple[str, str, bool], ...]] = (
    ("acid_stop_ph", "acid_caution_ph", True),
    ("acid_caution_ph", "base_caution_ph", False),
    ("base_caution_ph", "base_stop_ph", True),
    ("lel_caution_percent", "lel_withdraw_percent", True),
    ("oxygen_deficient_percent", "oxygen_ambient", False),
    ("oxygen_ambient", "oxygen_enriched_percent", False),
    ("oxygen_min_for_lel", "oxygen_enriched_percent", False),
    ("dose_rate_background", "dose_rate_hot_line", True),
    ("dose_rate_hot_line", "dose_rate_turn_back", True),
    ("co_ceiling_ppm", "co_idlh_ppm", True),
    ("h2s_ceiling_ppm", "h2s_idlh_ppm", True),
    ("voc_caution_ppm", "voc_ceiling_ppm", True),
)

# pH by colour, lowest and highest that the colour can mean.
# Source: common practice, no source; papers differ, so an agency enters its own.
DEFAULT_PAPER_CHART: Final[Mapping[str, tuple[Decimal, Decimal]]] = MappingProxyType(
    {
        colour: (Decimal(low), Decimal(high))
        for colour, low, high in (
            ("red", 0, 3),
            ("orange", 4, 4),
            ("yellow", 5, 6),
            ("green", 7, 7),
            ("blue_green", 8, 9),
            ("blue", 10, 12),
            ("dark_blue", 13, 14),
        )
    }
)

DEFAULTS: Final[Mapping[str, Decimal]] = MappingProxyType(
    {key: limit.default for key, limit in LIMITS.items() if limit.default is not None}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The limits that one incident is judged by.

    `limits` holds a value for every key that has a default, and for the others where set.
    `entered` keeps a limit as the agency wrote it ("50 mSv"), for sentences. `reasons`
    says why a limit is looser than its source, by its key; the document has no place for
    it, so whoever keeps the agency's versions adds it.
    """

    name: str
    version: str
    limits: Mapping[str, Decimal] = field(default_factory=lambda: DEFAULTS)
    paper_chart: Mapping[str, tuple[Decimal, Decimal]] = field(
        default_factory=lambda: DEFAULT_PAPER_CHART
    )
    entered: Mapping[str, str] = field(default_factory=dict, compare=False)
    reasons: Mapping[str, str] = field(default_factory=dict, compare=False)

    @classmethod
    def default(cls) -> "Profile":
        return cls(name="Built-in limits", version="1")

    def __getitem__(self, key: str) -> Decimal:
        return self.limits[key]

    def get(self, key: str) -> Decimal | None:
        """The limit, or None for one without default that the profile does not set."""
        return self.limits.get(key)

    def shown(self, key: str) -> str:
        """The limit with its unit, as the agency wrote it: "10 %", "5 rem", "20 min"."""
        if key in self.entered:
            return self.entered[key]
        value = self.limits.get(key)
        return "not set" if value is None else with_unit(value, LIMITS[key].unit)

    def loosened(self) -> tuple[str, ...]:
        """A sentence for each limit that is looser than its published source."""
        return tuple(self.loosened_by_key().values())

    def loosened_by_key(self) -> dict[str, str]:
        """The same by the limit's key, each with the reason where one is known."""
        return {
            key: looser_sentence(
                limit.label,
                self.shown(key),
                with_unit(limit.default, limit.unit),
                limit.source,
                self.reasons.get(key, ""),
            )
            for key, limit in LIMITS.items()
            if limit.default is not None and limit.is_looser(self.limits[key])
        }


def looser_sentence(
    label: str, ours: str, published: str, source: str, reason: str = ""
) -> str:
    """What is said of a limit that is looser than its source, wherever it is said."""
    words = f"{label}: this profile sets {ours}, looser than {published} ({source})."
    if not reason:
        return words
    return f"{words} Reason given: {reason.rstrip('.')}."


def with_unit(value: Decimal, unit: str) -> str:
    """A figure in the words of a sentence, from a canonical value."""
    if unit == "pH":
        return f"pH {_plain(value)}"
    if unit == "fraction":
        return f"{_plain(value * 100)} %"
    if unit == "s":
        minutes = value / 60
        if minutes == minutes.to_integral_value():
            return f"{_plain(minutes)} min"
    if unit in ("rem", "rem/h") and 0 < value < Decimal("0.1"):
        return f"{_plain(value * 1000)} m{unit}"
    return f"{_plain(value)} {'Δ°F' if unit == 'delta_degF' else unit}"


def _plain(value: Decimal) -> str:
    """No exponent, no trailing zeros: "20", not "2E+1" or "20.0"."""
    return f"{value.normalize():f}"
