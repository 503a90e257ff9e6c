"""Numbers that no profile sets: each just on both sides of itself.

Where a number is common practice there is no publication to compare with; then the check
holds the number where it is and says so.
"""

import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from screening import planning, suspects, trends
from screening.statements import PaperSeen, SensorSeen
from screening.substances import Cell
from screening.units import Q
from tests.engine import documents as doc
from tests.published.sources import check, held, row

PRACTICE = "common practice, no source"
MAKERS = "makers' data commonly give it; common practice"


def judged(*log, minutes=None, **setup):
    return doc.judge(doc.worksheet(*log, **setup), minutes)


def told(hazard, *log, **setup):
    """All that one row of the coverage says."""
    return json.dumps(judged(*log, **setup).row(hazard), ensure_ascii=False)


def outside(temperature, unit="degF", humidity=45):
    return {
        "weather": {
            "air_temperature": doc.quantity(temperature, unit),
            "relative_humidity_percent": humidity,
        }
    }


# --- physics ---------------------------------------------------------------------------


def test_physical_constants_are_those_of_the_reference_library():
    # scipy.constants, CODATA 2022; the molar volume of NIOSH's conversion factors
    constants = pytest.importorskip("scipy.constants")

    assert float(held("GAS_CONSTANT")) == pytest.approx(constants.R, rel=1e-14)
    assert float(held("STANDARD_ATMOSPHERE_KPA")) * 1000 == constants.atm
    assert float(held("ROOM_TEMPERATURE_K")) == constants.zero_Celsius + 25
    litres = (
        held("GAS_CONSTANT")
        * held("ROOM_TEMPERATURE_K")
        / held("STANDARD_ATMOSPHERE_KPA")
    )
    assert float(litres) == pytest.approx(24.45, abs=0.02)


def test_the_molar_mass_of_air_is_that_of_a_reference_library():
    # CoolProp 8.0.0, dry air: 28.965 g/mol; tolerance: the second figure behind the point
    properties = pytest.importorskip("CoolProp.CoolProp")
    kilograms = properties.PropsSI("M", "Air")

    assert float(held("AIR_MOLAR_MASS")) == pytest.approx(kilograms * 1000, abs=0.01)


def test_fresh_air_has_twenty_point_nine_percent_of_oxygen():
    # sensor maker's article: 20.9 %; CoolProp's air has 20.95 by mole
    assert Decimal("20.9") == held("FRESH_AIR_OXYGEN_PERCENT")
    assert planning.displaced_air("20.9") == 0
    assert planning.displaced_air("20.8") > 0


@pytest.mark.parametrize(
    ("celsius", "percent"),
    [
        check("Zabetakis constant, public source: at 25 °C its own", 25, "5.0"),
        check("Zabetakis constant, public source: 100 °C hotter", 125, "4.6395"),
    ],
)
def test_a_degree_takes_its_share_of_the_limit(celsius, percent):
    found = planning.lel_at_temperature("5.0", Q(celsius, "degC"))

    assert found == Decimal(percent)
    assert Decimal("0.000721") == held("ZABETAKIS_PER_DEGREE")


@pytest.mark.from_memory
def test_a_hundred_degrees_cost_seventy_five_over_the_heat_of_combustion():
    # from memory of Crowl and Louvar (modified Burgess-Wheeler): 75 / 100 is 0.75 %
    found = planning.lel_at_temperature("5.0", Q(125, "degC"), Q(100, "kcal/mol"))

    assert found == Decimal("4.25")
    assert Decimal("0.75") == held("BURGESS_WHEELER_KCAL")


@pytest.mark.parametrize(
    ("litres", "bar", "consumption", "minutes"),
    [
        check("two supplier pages: 6 L at 300 bar", 6, 300, None, 35),
        check("two supplier pages, at 60 L/min by arithmetic", 6, 300, 60, 20),
        check("two supplier pages, by arithmetic: 400 L of free air", 2, 200, None, 0),
        check("two supplier pages, by arithmetic: 440 L", 2, 220, None, 1),
    ],
)
def test_ten_minutes_are_kept_back_at_forty_litres_a_minute(
    litres, bar, consumption, minutes
):
    rate = None if consumption is None else Q(consumption, "L/min")

    found = planning.planned_duration(Q(litres, "L"), Q(bar, "bar"), rate)

    assert found.to("minute").magnitude == minutes
    assert (held("RATED_LITRES_PER_MINUTE"), held("KEPT_BACK_MINUTES")) == (40, 10)


# --- papers and sensors ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("ph", "outcomes"),
    [
        check(f"{PRACTICE}: acid up to 4", "4", {"acid"}),
        check(f"{PRACTICE}: over 4", "4.1", {"acid", "neutral"}),
        check(f"{PRACTICE}: under 6", "5.9", {"acid", "neutral"}),
        check(f"{PRACTICE}: neutral from 6", "6", {"neutral"}),
        check(f"{PRACTICE}: neutral up to 8", "8", {"neutral"}),
        check(f"{PRACTICE}: over 8", "8.1", {"base", "neutral"}),
        check(f"{PRACTICE}: under 9", "8.9", {"base", "neutral"}),
        check(f"{PRACTICE}: base from 9", "9", {"base"}),
    ],
)
def test_what_a_strip_may_mean(ph, outcomes):
    strip = PaperSeen(paper="ph", sample="vapour", low=Decimal(ph), high=Decimal(ph))

    assert strip.shown == outcomes
    edges = (
        held("ACID_FOR_CERTAIN_PH"),
        held("NEUTRAL_FROM_PH"),
        held("NEUTRAL_TO_PH"),
        held("BASE_FOR_CERTAIN_PH"),
    )
    assert edges == (4, 6, 8, 9)


@pytest.mark.parametrize(("value", "quiet"), [("0.99", True), ("1", False)])
def test_a_sensor_that_shows_less_than_one_is_quiet(value, quiet):
    # common practice, no source
    assert SensorSeen(sensor="lel", value=Decimal(value)).quiet is quiet
    assert held("QUIET_BELOW") == 1


def test_a_cell_that_shows_anything_is_not_quiet():
    # common practice, no source
    least = SensorSeen(sensor="co", value=held("ANY_PPM"), quiet_below=held("ANY_PPM"))

    assert not least.quiet
    assert Decimal("0.01") > held("ANY_PPM")  # under the last figure of any display


@pytest.mark.parametrize(
    ("oxygen", "status"),
    [
        check("training manual p. 13: cells need 5 % of oxygen", 5, "not_found"),
        check("training manual p. 13: under it", 4.9, "cannot_tell"),
    ],
)
def test_a_quiet_cell_needs_five_percent_of_oxygen(oxygen, status):
    found = judged(doc.meter(1, oxygen=oxygen, co_ppm=0), ensemble="level_b")

    assert found.status("toxic_gas") == status
    assert held("OXYGEN_FLOOR_CELLS") == 5


@pytest.mark.parametrize(
    ("oxygen", "hardly"),
    [
        check("makers' article and note: a bead works from 10 %", 10, False),
        check("makers' article and note: below 10 % hardly", 9.9, True),
    ],
)
def test_below_ten_percent_a_bead_hardly_works(oxygen, hardly):
    said = judged(doc.meter(1, lel=0, oxygen=oxygen)).said("flammable_atmosphere")

    assert ("hardly" in said) is hardly
    assert held("OXYGEN_FLOOR") == 10


@pytest.mark.parametrize(
    ("humidity", "moist"),
    [check(f"{MAKERS}: 90 %", 90, False), check(f"{MAKERS}: over it", 90.5, True)],
)
def test_moist_air_dims_a_lamp(humidity, moist):
    reading = doc.meter(1, voc_ppm=0, co_ppm=0, oxygen=20.9, lamp_ev=10.6)

    assert ("90.5" in told("toxic_gas", reading, humidity=humidity)) is moist
    assert held("MOIST_AIR_PERCENT") == 90


@pytest.mark.parametrize(
    ("humidity", "dry"),
    [check(f"{MAKERS}: 10 %", 10, False), check(f"{MAKERS}: under it", 9.5, True)],
)
def test_dry_air_dries_a_cell(humidity, dry):
    reading = doc.meter(1, co_ppm=0, oxygen=20.9)

    assert ("9.5" in told("toxic_gas", reading, humidity=humidity)) is dry
    assert held("DRY_AIR_PERCENT") == 10


@pytest.mark.parametrize(
    ("celsius", "doubtful"),
    [
        check(f"{MAKERS}: −10 °C", -10, False),
        check(f"{MAKERS}: colder", -10.1, True),
        check(f"{MAKERS}: 40 °C", 40, False),
        check(f"{MAKERS}: hotter", 40.1, True),
    ],
)
def test_cells_outside_their_range_of_temperature(celsius, doubtful):
    reading = doc.meter(1, co_ppm=0, oxygen=20.9)

    row_told = told("toxic_gas", reading, **outside(celsius, "degC"))

    assert ("°C" in row_told) is doubtful
    assert (held("COLD_DEGF"), held("HOT_DEGF")) == (14, 104)  # −10 and 40 °C


@pytest.mark.parametrize(
    ("celsius", "frozen"),
    [
        check("physics: water freezes at 0 °C", 0, True),
        check("physics: above it", 0.1, False),
    ],
)
def test_a_wet_strip_freezes_with_the_water_on_it(celsius, frozen):
    row_told = told("acid_vapour", doc.ph(1, 7), **outside(celsius, "degC"))

    assert ("°C" in row_told) is frozen
    assert held("FREEZING_DEGF") == 32


@pytest.mark.parametrize(
    ("metres", "far"),
    [
        check(f"{PRACTICE}: ten feet, 3.048 m", 3.048, True),
        check(f"{PRACTICE}: nearer", 3.04, False),
    ],
)
def test_from_ten_feet_a_probe_misses_a_weak_source(metres, far):
    reading = doc.rate(1, 0.01, distance=doc.quantity(metres, "m"))

    assert ("3.048" in told("gamma_radiation", reading)) is far
    assert Decimal("3.048") == held("FAR_M")


@pytest.mark.parametrize(
    ("name", "height", "missed"),
    [
        check(f"{PRACTICE}: methylamine, 1.08 times air", "methylamine", "head", True),
        check(f"{PRACTICE}: CO, 0.97 times air", "carbon monoxide", "head", False),
        check(f"{PRACTICE}: CO, 0.97 times air", "carbon monoxide", "floor", False),
        check(f"{PRACTICE}: HCN, 0.941 times air", "hydrogen cyanide", "floor", True),
    ],
)
def test_what_sinks_or_rises_is_missed_at_the_other_height(name, height, missed):
    reading = doc.meter(1, lel=0, oxygen=20.9, height=height)

    row_told = told("flammable_atmosphere", reading, suspects=[name])

    assert (name in row_told) is missed
    assert (Decimal("1.05"), Decimal("0.95")) == (held("SINKS"), held("RISES"))


@pytest.mark.parametrize(
    ("name", "missed"),
    [
        # 0.5 of 20.9 % oxygen is 2.4 % of the air, of 760 mmHg 18.2.
        check("arithmetic: toluene, 21.9 mmHg, can displace so much", "toluene", True),
        check("arithmetic: iodine, 0.3 mmHg, cannot", "iodine", False),
        check("arithmetic: what cannot evaporate cannot either", "NaOH", False),
    ],
)
def test_a_vapour_that_cannot_move_the_oxygen_is_not_looked_for_at_the_floor(
    name, missed
):
    row_told = told("oxygen_deficient", doc.meter(1, oxygen=20.9), suspects=[name])

    assert ("at the floor" in row_told) is missed
    assert held("DISPLACES_FROM_MMHG") == round(
        Decimal(760) * Decimal("0.5") / Decimal("20.9"), 1
    )


@pytest.mark.parametrize(
    ("lamp", "seen"),
    [
        check(f"{PRACTICE}: a 10.6 eV lamp shows the vapour of oils", 10.6, True),
        check(f"{PRACTICE}: a weaker one may not", 10.5, False),
    ],
)
def test_a_lamp_shows_the_oils_that_an_lel_sensor_answers_poorly_to(lamp, seen):
    reading = doc.meter(1, lel=0, oxygen=20.9, co_ppm=0, voc_ppm=0, lamp_ev=lamp)

    row_told = told("flammable_atmosphere", reading, suspects=["diesel"])

    assert ("diesel" not in row_told) is seen
    assert Decimal("10.6") == held("OIL_LAMP_EV")


@pytest.mark.parametrize(
    ("first", "then", "minutes", "spiked"),
    [
        check(f"{PRACTICE}: 50 % then under 10 in two minutes", 50, 9.9, 2, True),
        check(f"{PRACTICE}: from less than 50 %", 49.9, 9.9, 2, False),
        check(f"{PRACTICE}: to 10 % itself", 50, 10, 2, False),
        check(f"{PRACTICE}: in more than two minutes", 50, 9.9, 2.02, False),
    ],
)
def test_rule_26_a_fall_from_fifty_to_under_ten_in_two_minutes(
    first, then, minutes, spiked
):
    log = (doc.meter(0, first, 20.9), doc.meter(minutes, then, 20.9))

    rules = {found["rule"] for found in judged(*log).entry("e02")["findings"]}

    assert ("lel_spike_then_fall" in rules) is spiked
    assert (
        held("SPIKE_FROM"),
        held("SPIKE_TO"),
        held("SPIKE_WITHIN").total_seconds(),
    ) == (50, 10, 120)


@pytest.mark.parametrize(
    ("pressure", "gives"),
    [
        check(f"{PRACTICE}: 0.001 mmHg is about 1 ppm", "0.001 mmHg", False),
        check(f"{PRACTICE}: a little more", "0.0011 mmHg", True),
        check("NLM toxicology page: sulfuric acid", "5.93e-5 mmHg", False),
        check("a page without a figure gives none", ">1 atm", True),
    ],
)
def test_below_a_thousandth_of_a_millimetre_there_is_no_vapour_to_find(pressure, gives):
    cell: Cell[str] = Cell(pressure, "this test", "read")
    substance = replace(
        row("iodine"), vapour_pressure=None, vapour_pressure_published=cell
    )

    assert substance.gives_vapour is gives
    assert Decimal("0.001") == held("NEXT_TO_NO_VAPOUR_MMHG")


# --- people ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["chlorine", "phosgene", "chlorine dioxide"])
def test_scba_may_be_worn_above_the_idlh_with_a_factor_of_ten_thousand(name):
    # 29 CFR 1910.134(d)(3)(i)(A), Table 1; the Pocket Guide's rows of these three
    def said(ensemble):
        (text,) = (
            fact.text
            for fact in suspects.about(row(name), ensemble=ensemble)
            if fact.topic == "Ensemble"
        )
        return text

    for scba in ("level_a", "level_b", "turnout_scba"):
        assert "may be worn above the IDLH" in said(scba)
        assert "10,000" in said(scba)
    for none in ("level_c", "level_d"):
        assert "not for use at or above the IDLH" in said(none)
        assert "10,000" not in said(none)
    assert held("APF_SCBA") == 10_000


@pytest.mark.parametrize(
    ("seconds_left", "action"),
    [
        check(f"{PRACTICE}: more than five minutes before", 301, None),
        check(f"{PRACTICE}: five minutes before", 299, "caution"),
    ],
)
def test_rule_24_warns_five_minutes_before_the_turn(seconds_left, action):
    # In with 4,400; 4,000 at the place, so turn at 1,485 + 400; then 200 psi a minute: at
    # minute 6 the 1,115 left of 3,000 last 334.5 s.
    teams = [doc.team(members=[doc.member(start=4400)])]
    log = (doc.enter(0), doc.air(1, 4000), doc.air(6, 3000))

    found = judged(*log, teams=teams, minutes=6 + (334.5 - seconds_left) / 60)

    assert found.on("low_air") == action
    assert held("FORECAST_WARNING_S") == 300


# --- trends ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "readings"),
    [
        check(f"{PRACTICE}: ten minutes back", 10, 3),
        check(f"{PRACTICE}: longer ago", 10.1, 2),
    ],
)
def test_a_trend_looks_ten_minutes_back_and_needs_three_readings(at, readings):
    log = [doc.meter(m, v, 20.9) for m, v in [(0, 2), (4, 4), (8, 6)]]

    lines = judged(*log, minutes=at).team()["trends"]

    assert any(line.startswith("LEL") for line in lines) is (readings >= 3)
    assert (held("WINDOW").total_seconds(), held("FEWEST")) == (600, 3)


def test_a_trend_is_said_at_ninety_five_percent():
    # scipy.stats: the same rise with noise that leaves it at p = 0.048 and p = 0.061
    stats = pytest.importorskip("scipy.stats")
    times = [0, 60, 120, 180, 240, 300]
    sure = [5.0, 5.23, 5.07, 5.43, 5.27, 5.5]
    unsure = [5.0, 5.24, 5.06, 5.44, 5.26, 5.5]

    p_values = [stats.linregress(times, values).pvalue for values in (sure, unsure)]

    assert p_values[0] < 0.05 < p_values[1]
    assert trends.trend(times, sure).direction == "rising"
    assert trends.trend(times, unsure).direction == "cannot_say"
    assert held("ALPHA") == 0.05


def test_two_readings_are_no_trend_and_three_are():
    # arithmetic: two points always lie on a line
    assert trends.trend([0, 60], [1, 2]).direction == "cannot_say"
    assert trends.trend([0, 60, 120], [1, 2, 3]).direction == "rising"
    assert held("FEWEST") == 3


def test_a_wild_reading_is_left_out_of_five_but_not_of_four():
    # common practice, no source
    four = trends.trend([0, 60, 120, 180], [2, 2, 40, 2], 1)
    five = trends.trend([0, 60, 120, 180, 240], [2, 2, 40, 2, 2], 1)

    assert four.dropped is None
    assert five.dropped == 2
    assert held("FEWEST_TO_DROP") == 5


def test_steady_is_within_two_steps_of_the_display():
    # common practice, no source; how far the line may have moved is worked out by scipy
    stats = pytest.importorskip("scipy.stats")
    times, values = [0, 60, 120, 180, 240], [5.0, 5.2, 4.9, 5.1, 5.0]
    fit = stats.linregress(times, values)
    moved = (abs(fit.slope) + stats.t.ppf(0.975, 3) * fit.stderr) * 240

    assert trends.trend(times, values, moved / 2 * 1.01).direction == "steady"
    assert trends.trend(times, values, moved / 2 * 0.99).direction == "cannot_say"
    assert held("STEADY_STEPS") == 2


def test_a_rise_of_the_last_bits_of_a_float_is_no_rise():
    # arithmetic: a float keeps about sixteen figures
    def reach(rise: float) -> Any:
        return planning.time_to_limit([0, 60, 120], [1, 1 + rise, 1 + 2 * rise], 2)

    assert reach(1e-13) is None
    assert reach(1e-9) is not None
    assert 1e-13 < held("ROUND_OFF") < 1e-9
