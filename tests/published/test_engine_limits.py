"""Published limits, judged through the engine: at, just under and just over each."""

from decimal import Decimal

import pytest

from screening.profile import LIMITS
from tests.engine import documents as doc
from tests.published.sources import check

CFR_146 = "29 CFR 1910.146(b)"
EPA = "EPA-400/R-17/001 Table 3-1"
NCRP = "NCRP Commentary 19"
IDLH = "NIOSH IDLH documentation 1994"
FOUR = "four-agency manual 1985"


def judged(*log, ensemble="level_d", **setup):
    return doc.judge(doc.worksheet(*log, ensemble=ensemble, **setup))


@pytest.mark.parametrize(
    ("key", "value"),
    [
        check(f"{CFR_146}: more than 10 % of the limit", "lel_withdraw_percent", "10"),
        check(f"{CFR_146}: enriched", "oxygen_enriched_percent", "23.5"),
        check(f"{CFR_146}: deficient", "oxygen_deficient_percent", "19.5"),
        check(f"{FOUR}: combustible readings", "oxygen_min_for_lel", "19.5"),
        check(f"{EPA}: all occupational", "dose_turn_back_other", "5"),
        check(f"{EPA}: infrastructure", "dose_turn_back_product_control", "10"),
        check(f"{EPA}: lifesaving", "dose_turn_back_rescue", "25"),
        check(f"{NCRP}: outer perimeter, 10 mR/h", "dose_rate_hot_line", "0.01"),
        check(f"{NCRP}: inner perimeter, 10 R/h", "dose_rate_turn_back", "10"),
        check("NFPA 1981 (2013), trade pages: 33 %", "low_air_fraction", "0.33"),
        check(f"{IDLH}: CO, REL C", "co_ceiling_ppm", "200"),
        check(f"{IDLH}: H2S, REL C", "h2s_ceiling_ppm", "10"),
        check(f"{IDLH}: CO", "co_idlh_ppm", "1200"),
        check(f"{IDLH}: H2S", "h2s_idlh_ppm", "100"),
        check("sensor maker's article: fresh air", "oxygen_ambient", "20.9"),
    ],
)
def test_the_default_is_the_published_limit(key, value):
    assert LIMITS[key].default == Decimal(value)


@pytest.mark.parametrize(
    ("oxygen", "on_filter", "on_scba"),
    [
        check(f"{CFR_146}: 19.5 % is not deficient", 19.5, "caution", "caution"),
        check(f"{CFR_146}: 19.4 % is deficient", 19.4, "withdraw", "caution"),
    ],
)
def test_oxygen_deficient_is_below_19_5(oxygen, on_filter, on_scba):
    log = doc.meter(1, oxygen=oxygen)

    assert judged(log, ensemble="level_c").on("oxygen_deficient") == on_filter
    assert judged(log, ensemble="level_b").on("oxygen_deficient") == on_scba


@pytest.mark.parametrize(
    ("oxygen", "action"),
    [
        check(f"{CFR_146}: 23.5 % is not enriched", 23.5, "caution"),
        check(f"{CFR_146}: 23.6 % is enriched", 23.6, "withdraw"),
    ],
)
@pytest.mark.parametrize("ensemble", doc.ENSEMBLES)
def test_oxygen_enriched_is_above_23_5_in_any_ensemble(oxygen, action, ensemble):
    found = judged(doc.meter(1, oxygen=oxygen), ensemble=ensemble)

    assert found.on("oxygen_enriched") == action


@pytest.mark.parametrize("oxygen", [20.8, 20.9, 21.0])
def test_fresh_air_raises_no_oxygen_finding(oxygen):
    # sensor maker's article: normal oxygen is 20.9 %; do not alarm on 20.8 to 21.0
    found = judged(doc.meter(1, lel=0, oxygen=oxygen))

    assert found.on("oxygen_deficient") is None
    assert found.on("oxygen_enriched") is None


def test_oxygen_of_19_5_tells_of_the_seven_percent_that_is_something_else():
    # common practice, arithmetic: (20.9 − 19.5) / 20.9 = 6.70 %, 66,986 ppm
    said = judged(doc.meter(1, oxygen=19.5)).said("oxygen_deficient")

    assert "6.7" in said


@pytest.mark.parametrize(
    ("lel", "action"),
    [
        check(f"{CFR_146}: under 10 % of the limit", 9.9, "caution"),
        check("common practice: crews turn at 10 % itself", 10, "withdraw"),
        check(f"{CFR_146}: in excess of 10 %", 10.1, "withdraw"),
    ],
)
@pytest.mark.parametrize("ensemble", doc.ENSEMBLES)
def test_ten_percent_of_the_explosive_limit(lel, action, ensemble):
    found = judged(doc.meter(1, lel=lel, oxygen=20.9), ensemble=ensemble)

    assert found.on("flammable_atmosphere") == action


@pytest.mark.parametrize(
    ("lel", "action"),
    [
        check(f"{FOUR}, atmospheric hazards: below 10 %, continue", 9.9, None),
        check(f"{FOUR}, atmospheric hazards: 10 %, caution", 10, "caution"),
        check(f"{FOUR}, atmospheric hazards: 25 %, caution", 25, "caution"),
        check(f"{FOUR}, atmospheric hazards: over 25 %, withdraw", 25.1, "withdraw"),
    ],
)
def test_the_four_agency_table_can_be_had_as_a_profile_and_is_called_loose(lel, action):
    limits = {"lel_caution_percent": 10, "lel_withdraw_percent": 25.1}

    found = judged(doc.meter(1, lel=lel, oxygen=20.9), limits=limits)

    assert found.on("flammable_atmosphere") == action
    assert found.result["profile"]["looser_than_published"]


@pytest.mark.parametrize(
    ("oxygen", "status"),
    [
        check(f"{FOUR}: below 19.5 % no combustible reading is valid", 19.4, None),
        check(f"{FOUR}: at 19.5 % it is", 19.5, "not_found"),
    ],
)
def test_a_quiet_lel_needs_oxygen(oxygen, status):
    found = judged(doc.meter(1, lel=0, oxygen=oxygen), ensemble="level_b")

    assert found.status("flammable_atmosphere") == (status or "cannot_tell")


@pytest.mark.parametrize(
    ("sensor", "ppm", "action"),
    [
        check(f"{IDLH}: CO at the IDLH", "co_ppm", 1200, "withdraw"),
        check(f"{IDLH}: CO under the IDLH", "co_ppm", 1199, "stop"),
        check(f"{IDLH}: CO at the ceiling", "co_ppm", 200, "stop"),
        check(f"{IDLH}: CO under the ceiling", "co_ppm", 199, "caution"),
        check(f"{IDLH}: H2S at the IDLH", "h2s_ppm", 100, "withdraw"),
        check(f"{IDLH}: H2S under the IDLH", "h2s_ppm", 99, "stop"),
        check(f"{IDLH}: H2S at the ceiling", "h2s_ppm", 10, "stop"),
        check(f"{IDLH}: H2S under the ceiling", "h2s_ppm", 9.9, "caution"),
    ],
)
def test_carbon_monoxide_and_hydrogen_sulfide_without_scba(sensor, ppm, action):
    found = judged(doc.meter(1, **{sensor: ppm}), ensemble="level_c")

    assert found.on("toxic_gas") == action


@pytest.mark.parametrize(
    ("gas", "ceiling", "idlh"),
    [
        check("NIOSH Pocket Guide: chlorine", "chlorine", 0.5, 10),
        check(f"{IDLH}: ammonia", "ammonia", 35, 300),
        check(f"{IDLH}: hydrogen cyanide", "hydrogen cyanide", 4.7, 50),
        check("OSHA chemical sampling page: HF", "hydrogen fluoride", 6, 30),
        check("NIOSH profile 2025, by the AIHA: HCl", "hydrogen chloride", 5, 45),
        check("NIOSH profile 2017-202: NO2", "nitrogen dioxide", 1, 13),
        check(f"{IDLH}: sulfur dioxide", "sulfur dioxide", 5, 100),
        check(f"{IDLH}: bromine", "bromine", 0.3, 3),
        check("NIOSH Pocket Guide: phosgene", "phosgene", 0.2, 2),
        check("OSHA chemical sampling page: ozone", "ozone", 0.1, 5),
        check(f"{IDLH}: carbon dioxide", "carbon dioxide", 30_000, 40_000),
    ],
)
def test_a_named_gas_by_its_own_ceiling_and_idlh(gas, ceiling, idlh):
    def action(ppm, ensemble):
        reading = doc.meter(1, gases={gas: ppm})
        return judged(reading, ensemble=ensemble).on("toxic_gas")

    step = idlh / 1000

    assert action(idlh, "level_c") == "withdraw"
    assert action(round(idlh - step, 4), "level_c") == "stop"
    assert action(ceiling, "level_c") == "stop"
    assert action(round(ceiling * 0.9, 4), "level_c") == "caution"
    assert action(idlh, "level_b") == "stop"
    assert action(idlh, "level_a") == "caution"


def test_the_old_idlh_of_ammonia_is_not_used():
    # a web gas sheet still prints 500 ppm of the original list
    assert judged(doc.meter(1, gases={"ammonia": 300})).on("toxic_gas") == "withdraw"


@pytest.mark.parametrize(
    ("mission", "below", "at", "unit"),
    [
        check(f"{EPA}: all occupational, 5 rem", "other", 4.99, 5, "rem"),
        check(f"{EPA}: reconnaissance as other", "reconnaissance", 49.9, 50, "mSv"),
        check(f"{EPA}: infrastructure, 10 rem", "product_control", 9.99, 10, "rem"),
        check(f"{EPA}: lifesaving, 25 rem", "rescue", 24.99, 25, "rem"),
        check(f"{EPA}: lifesaving, 250 mSv", "rescue", 249.9, 250, "mSv"),
    ],
)
def test_the_turn_back_dose_of_the_mission(mission, below, at, unit):
    under = judged(doc.dose(1, below, unit), mission=mission)
    reached = judged(doc.dose(1, at, unit), mission=mission)

    assert under.on("gamma_radiation") == "caution"
    assert reached.on("gamma_radiation") == "withdraw"


@pytest.mark.parametrize(
    ("value", "unit", "action"),
    [
        check(f"{NCRP}: under 10 R/h", 9.99, "rem/h", "caution"),
        check(f"{NCRP}: 10 R/h", 10, "rem/h", "stop"),
        check(f"{NCRP}: 10 R/h, read as rem", 10, "R/h", "stop"),
        check("from memory of 1 Sv = 100 rem: 0.1 Sv/h", 0.1, "Sv/h", "stop"),
    ],
)
def test_the_inner_perimeter(value, unit, action):
    assert judged(doc.rate(1, value, unit)).on("gamma_radiation") == action


@pytest.mark.parametrize(
    ("value", "inside"),
    [
        check(f"{NCRP}: under 10 mR/h, outside the outer perimeter", 9.9, False),
        check(f"{NCRP}: 10 mR/h, within it", 10, True),
    ],
)
def test_the_outer_perimeter_is_told(value, inside):
    said = judged(doc.rate(1, value, "mrem/h")).said("gamma_radiation")

    assert ("hot zone" in said) is inside


@pytest.mark.parametrize(
    ("limit", "rate", "minutes"),
    [
        check("physics; guideline of 5 rem: 10 rem/h is 30 minutes", "other", 10, 30),
        check("physics; guideline of 25 rem: 50 rem/h is 30 minutes", "rescue", 50, 30),
    ],
)
def test_the_stay_time_is_told_in_minutes(limit, rate, minutes):
    found = judged(doc.rate(1, rate, "rem/h"), mission=limit)

    assert f"{minutes} min" in found.said("gamma_radiation")


@pytest.mark.parametrize(
    ("gauge", "action"),
    [
        check("NFPA 1981 (2013): 33 % of 4,500 psi is 1,485 psi", 1485, "withdraw"),
        check("NFPA 1981 (2013): just above the alarm", 1486, "stop"),
    ],
)
def test_the_low_air_alarm(gauge, action):
    teams = [doc.team(ensemble="level_b", members=[doc.member(start=4500)])]

    found = judged(doc.enter(), doc.air(5, gauge), teams=teams)

    assert found.on("low_air") == action


def test_the_trade_prints_the_alarm_as_a_rounded_third():
    # trade table: 1,500 psi of 4,500 and 1,825 of 5,500; pure 33 % is 1,485 and 1,815
    share = LIMITS["low_air_fraction"].default
    assert share is not None

    assert abs(share * 4500 - 1500) <= 15
    assert abs(share * 5500 - 1825) <= 15


@pytest.mark.parametrize(
    ("mission", "with_backup", "action"),
    [
        check("29 CFR 1910.120(q)(3)(vi): no backup", "other", False, "caution"),
        check("29 CFR 1910.120(q)(3)(vi): backup stands by", "other", True, None),
        check(
            "29 CFR 1910.134(g)(4) note 2: a rescue waits not", "rescue", False, None
        ),
    ],
)
def test_an_entry_has_a_backup_team_unless_it_is_a_rescue(mission, with_backup, action):
    teams = [doc.team(ensemble="level_b")]
    if with_backup:
        teams.append(doc.team("backup-1", ensemble="level_b", role="backup"))

    found = judged(doc.enter(), teams=teams, mission=mission)

    assert found.on("accountability") == action


def test_a_strip_that_went_white_is_an_oxidiser_and_says_nothing_of_acid():
    # hobby-chemistry thread with photographs: chlorine destroys the dye
    found = judged(
        doc.ph(1, bleached=True), doc.ki(2, "blue_black"), ensemble="turnout_scba"
    )

    assert found.on("oxidiser_vapour") == "stop"
    assert found.status("acid_vapour") != "not_found"
    assert found.status("base_vapour") != "not_found"


@pytest.mark.parametrize(
    ("ensemble", "action"),
    [
        check(f"{IDLH}: HCN 50 ppm, on a filter", "level_c", "withdraw"),
        check(f"{IDLH}: HCN 50 ppm, on SCBA in turnout gear", "turnout_scba", "stop"),
    ],
)
def test_quiet_papers_and_lamp_give_no_reassurance_of_hydrogen_cyanide(
    ensemble, action
):
    found = judged(
        doc.ph(1, 5.6),
        doc.ki(1),
        doc.fluoride(1),
        doc.meter(2, voc_ppm=0, lamp_ev=10.6, gases={"hydrogen cyanide": 60}),
        ensemble=ensemble,
        suspects=["hydrogen cyanide"],
    )

    assert found.action() == action
    assert found.status("toxic_gas") == "found"


def test_a_quiet_lamp_too_weak_for_the_suspect_cannot_tell():
    # ionisation table: hydrogen cyanide needs 13.60 eV
    found = judged(doc.meter(1, voc_ppm=0, lamp_ev=10.6), suspects=["hydrogen cyanide"])

    assert found.status("toxic_gas") == "cannot_tell"


def test_acid_and_fluoride_at_one_place_are_hydrogen_fluoride():
    # WHO 1984 principle of the fluoride paper; chemistry
    log = (doc.ph(1, 2), doc.fluoride(2, "changed"), doc.ki(3))

    assert judged(*log, ensemble="level_b").on("fluoride_vapour") == "withdraw"
    assert judged(*log, ensemble="level_a").on("fluoride_vapour") == "stop"


def test_fluoride_stands_though_an_oxidiser_may_have_bleached_the_paper():
    # common practice, chemistry: treat as fluoride until excluded
    log = (doc.ki(1, "blue_black"), doc.fluoride(2, "changed"))

    assert judged(*log, ensemble="turnout_scba").on("fluoride_vapour") == "stop"


@pytest.mark.parametrize(
    ("moistened", "status"),
    [
        check("supplier text: a dry strip is no test", False, "cannot_tell"),
        check("supplier text: a moist strip is", True, "not_found"),
    ],
)
def test_only_a_wet_ki_starch_strip_is_a_test_of_the_air(moistened, status):
    found = judged(doc.ki(1, moistened=moistened))

    assert found.status("oxidiser_vapour") == status
