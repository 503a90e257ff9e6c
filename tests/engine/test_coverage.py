"""Section 6: found, not found, out of date, cannot tell, not checked, and why."""

import pytest

from tests.engine.documents import (
    COVERED,
    dose,
    enter,
    entry,
    fluoride,
    imager,
    judge,
    ki,
    leave,
    meter,
    ph,
    quantity,
    rate,
    team,
    ventilate,
    worksheet,
)

TWO = [team(), team("entry-2")]


def test_before_anyone_looks_nothing_is_checked():
    seen = judge(worksheet(enter(0)))
    rows = {row["hazard"]: row for row in seen.team()["coverage"]}

    assert set(rows) == set(COVERED)
    for row in rows.values():
        assert row["status"] == "not_checked"
        assert row["next_check"]


def test_continue_always_stands_with_what_was_not_looked_at():
    seen = judge(worksheet(enter(0), meter(1, 0, 20.9)))

    assert seen.action() == "continue"
    assert seen.status("gamma_radiation") == "not_checked"
    assert not any("safe" in s.lower().split() for s in seen.sentences())


def test_a_container_is_a_row_once_one_is_named():
    assert "container_heating" not in {
        row["hazard"] for row in judge(worksheet(enter(0))).team()["coverage"]
    }
    assert judge(worksheet(imager(0, 70))).status("container_heating") == "not_found"


# reading, humidity, hazard, status
QUIET = [
    pytest.param(ph(0, 7), None, "acid_vapour", "not_found", id="wet pH, any air"),
    pytest.param(ph(0, 7), 5, "base_vapour", "not_found", id="wet pH, dry air"),
    pytest.param(
        ph(0, 7, moistened=False), None, "acid_vapour", "cannot_tell",
        id="dry pH, humidity unknown",
    ),
    pytest.param(
        ph(0, 7, moistened=False), 29.9, "acid_vapour", "cannot_tell",
        id="dry pH, under dry_air_percent",
    ),
    pytest.param(
        ph(0, 7, moistened=False), 29.9, "base_vapour", "cannot_tell",
        id="dry pH, under it, of base",
    ),
    pytest.param(
        ph(0, 7, moistened=False), 30, "acid_vapour", "not_found",
        id="dry pH, at dry_air_percent",
    ),
    pytest.param(
        ph(0, 7, moistened=None), 29.9, "acid_vapour", "cannot_tell",
        id="pH, moistened not said",
    ),
    pytest.param(ki(0), None, "oxidiser_vapour", "not_found", id="wet KI-starch"),
    pytest.param(
        ki(0, moistened=False), 90, "oxidiser_vapour", "cannot_tell", id="dry KI-starch"
    ),
    pytest.param(fluoride(0), None, "fluoride_vapour", "not_found", id="wet fluoride"),
    pytest.param(
        fluoride(0, moistened=False), 90, "fluoride_vapour", "cannot_tell",
        id="dry fluoride",
    ),
    pytest.param(
        ph(0, 7, sample="liquid"), 90, "acid_vapour", "cannot_tell", id="liquid, acid"
    ),
    pytest.param(
        ph(0, 7, sample="liquid"), 90, "base_vapour", "cannot_tell", id="liquid, base"
    ),
    pytest.param(
        ki(0, sample="liquid", edge_checked=True), 90, "oxidiser_vapour", "cannot_tell",
        id="liquid, oxidiser",
    ),
    pytest.param(
        fluoride(0, sample="liquid"), 90, "fluoride_vapour", "cannot_tell",
        id="liquid, fluoride",
    ),
    pytest.param(
        meter(0, 0, 20.9), None, "flammable_atmosphere", "not_found", id="LEL"
    ),
    pytest.param(
        meter(0, 0, 19.5), None, "flammable_atmosphere", "not_found",
        id="LEL, oxygen at oxygen_min_for_lel",
    ),
    pytest.param(
        meter(0, 0, 19.4), None, "flammable_atmosphere", "cannot_tell",
        id="LEL, oxygen under it",
    ),
    pytest.param(
        meter(0, 0, 23.5), None, "flammable_atmosphere", "not_found",
        id="LEL, oxygen at oxygen_enriched_percent",
    ),
    pytest.param(
        meter(0, 0, 23.6), None, "flammable_atmosphere", "cannot_tell",
        id="LEL, oxygen over it",
    ),
    pytest.param(
        meter(0, 0), None, "flammable_atmosphere", "cannot_tell",
        id="LEL, oxygen not measured with it",
    ),
    pytest.param(
        meter(0, 0), None, "oxygen_deficient", "not_checked", id="LEL says no oxygen"
    ),
    pytest.param(
        meter(0, oxygen=20.9), None, "flammable_atmosphere", "not_checked",
        id="oxygen says no LEL",
    ),
    pytest.param(meter(0, oxygen=20.9), None, "oxygen_deficient", "not_found", id="O2"),
    pytest.param(meter(0, oxygen=20.9), None, "oxygen_enriched", "not_found", id="O2 "),
    pytest.param(
        meter(0, oxygen=22), None, "oxygen_deficient", "not_found", id="O2 high"
    ),
    pytest.param(
        meter(0, voc_ppm=0), None, "toxic_gas", "cannot_tell", id="VOC alone"
    ),
    pytest.param(meter(0, co_ppm=0), None, "toxic_gas", "not_found", id="CO"),
    pytest.param(meter(0, h2s_ppm=0), None, "toxic_gas", "not_found", id="H2S"),
    pytest.param(
        meter(0, gases={"ammonia": 0}), None, "toxic_gas", "not_found", id="named gas"
    ),
    pytest.param(
        meter(0, 0, 20.9), None, "toxic_gas", "not_checked", id="LEL says no toxic"
    ),
    pytest.param(
        imager(0, 70, shiny=True), None, "container_heating", "cannot_tell",
        id="shiny surface",
    ),
    pytest.param(
        rate(0, 0.01), None, "gamma_radiation", "not_found", id="dose rate"
    ),
    pytest.param(
        entry("dosimeter", 0, alarm=False), None, "gamma_radiation", "not_found",
        id="alarm, silent",
    ),
    pytest.param(
        dose(0, 0), None, "gamma_radiation", "cannot_tell", id="dose alone"
    ),
]  # fmt: skip


@pytest.mark.parametrize(("reading", "humidity", "hazard", "status"), QUIET)
def test_what_a_quiet_reading_tells(reading, humidity, hazard, status):
    seen = judge(worksheet(reading, humidity=humidity))

    assert seen.status(hazard) == status
    assert seen.row(hazard)["because"]
    assert seen.row(hazard)["next_check"] or status == "not_found"


def test_the_limit_for_dry_air_is_the_profiles():
    line = ph(0, 7, moistened=False)
    limits = {"dry_air_percent": 50}

    assert judge(worksheet(line, humidity=49, limits=limits)).status("acid_vapour") == (
        "cannot_tell"
    )
    assert judge(worksheet(line, humidity=50, limits=limits)).status("acid_vapour") == (
        "not_found"
    )


@pytest.mark.parametrize(
    ("reading", "hazard", "words"),
    [
        pytest.param(ph(0, 7, moistened=False), "acid_vapour", ["wet"], id="dry pH"),
        pytest.param(meter(0, co_ppm=0), "toxic_gas", ["carbon monoxide"], id="CO named"),
        pytest.param(
            meter(0, h2s_ppm=0), "toxic_gas", ["hydrogen sulfide"], id="H2S named"
        ),
        pytest.param(
            meter(0, gases={"ammonia": 0}), "toxic_gas", ["ammonia"], id="gas named"
        ),
        pytest.param(
            rate(0, 0.01), "gamma_radiation", ["alpha", "beta", "neutron"],
            id="dosimeter",
        ),
    ],
)  # fmt: skip
def test_the_reason_says_how_far_it_goes(reading, hazard, words):
    row = judge(worksheet(reading, humidity=60)).row(hazard)

    for word in words:
        assert word in (row["because"] + " " + row["next_check"]).lower()


@pytest.mark.parametrize(
    ("lamp", "suspect", "blind"),
    [
        pytest.param(10.6, "hydrogen chloride", True, id="12.74 eV, lamp 10.6"),
        pytest.param(10.6, "ammonia", False, id="10.18 eV, lamp 10.6"),
        pytest.param(9.8, "ammonia", True, id="10.18 eV, lamp 9.8"),
    ],
)
def test_a_lamp_too_weak_for_the_suspect_is_named(lamp, suspect, blind):
    line = meter(0, voc_ppm=0, lamp_ev=lamp)
    row = judge(worksheet(line, suspects=[suspect])).row("toxic_gas")

    assert row["status"] == "cannot_tell"
    said = (row["because"] + " " + row["next_check"]).lower()
    assert (suspect in said and ("lamp" in said or "ev" in said.split())) or not blind


# --- found ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reading", "hazard"),
    [
        (ph(0, 5), "acid_vapour"),
        (ph(0, 12), "base_vapour"),
        (ki(0, "blue_black", moistened=False), "oxidiser_vapour"),
        (ph(0, bleached=True), "oxidiser_vapour"),
        (fluoride(0, "changed"), "fluoride_vapour"),
        (meter(0, 5), "flammable_atmosphere"),
        (meter(0, oxygen=24), "oxygen_enriched"),
        (meter(0, oxygen=22), "oxygen_enriched"),
        (meter(0, oxygen=20.4), "oxygen_deficient"),
        (meter(0, voc_ppm=3), "toxic_gas"),
        (meter(0, gases={"ammonia": 30}), "toxic_gas"),
        (rate(0, 5), "gamma_radiation"),
        (entry("dosimeter", 0, alarm=True), "gamma_radiation"),
        (dose(0, 13), "gamma_radiation"),
        (imager(0, 90), "container_heating"),
        (imager(0, 90, shiny=True), "container_heating"),
    ],
)
def test_what_stands_is_found_however_old(reading, hazard):
    document = worksheet(reading)

    assert judge(document).status(hazard) == "found"
    assert judge(document, 300).status(hazard) == "found"


def test_a_hazard_found_for_every_place_is_found_everywhere():
    log = [enter(0, team="entry-2", place="far yard"), meter(1, 12, 20.9)]
    seen = judge(worksheet(*log, teams=TWO))

    assert seen.status("flammable_atmosphere", "entry-2") == "found"


def test_a_hazard_found_at_another_place_is_not_found_here():
    log = [enter(0, team="entry-2", place="far yard"), ph(1, 2)]
    seen = judge(worksheet(*log, teams=TWO))

    assert seen.on("acid_vapour", "entry-2") == "caution"
    assert seen.status("acid_vapour", "entry-2") == "not_checked"


def test_a_dose_is_found_with_its_team_only():
    log = [enter(0, team="entry-2"), dose(1, 13)]
    seen = judge(worksheet(*log, teams=TWO))

    assert seen.status("gamma_radiation", "entry-1") == "found"
    assert seen.status("gamma_radiation", "entry-2") != "found"


# --- age and ventilation -------------------------------------------------------------

AGES = [
    (ph(0, 7), "acid_vapour", 10),
    (ki(0), "oxidiser_vapour", 10),
    (fluoride(0), "fluoride_vapour", 10),
    (meter(0, 0, 20.9), "flammable_atmosphere", 5),
    (meter(0, 0, 20.9), "oxygen_deficient", 5),
    (meter(0, co_ppm=0), "toxic_gas", 5),
    (imager(0, 70), "container_heating", 2),
    (rate(0, 0.01), "gamma_radiation", 15),
]
AGE_IDS = [hazard for _, hazard, _ in AGES]


@pytest.mark.parametrize(("reading", "hazard", "age"), AGES, ids=AGE_IDS)
def test_a_quiet_reading_goes_out_of_date(reading, hazard, age):
    document = worksheet(reading)

    assert judge(document, age - 0.1).status(hazard) == "not_found"
    assert judge(document, age).status(hazard) == "not_found"
    assert judge(document, age + 0.1).status(hazard) == "out_of_date"
    assert judge(document, age + 0.1).row(hazard)["next_check"]


@pytest.mark.parametrize(
    ("key", "reading", "hazard"),
    [
        ("paper_age", ph(0, 7), "acid_vapour"),
        ("meter_age", meter(0, oxygen=20.9), "oxygen_enriched"),
        ("thermal_age", imager(0, 70), "container_heating"),
        ("dosimeter_age", rate(0, 0.01), "gamma_radiation"),
    ],
)
def test_the_ages_are_the_profiles(key, reading, hazard):
    document = worksheet(reading, limits={key: quantity(1, "min")})

    assert judge(document, 1).status(hazard) == "not_found"
    assert judge(document, 1.1).status(hazard) == "out_of_date"


@pytest.mark.parametrize(("reading", "hazard", "age"), AGES, ids=AGE_IDS)
def test_a_ventilation_puts_earlier_readings_out_of_date(reading, hazard, age):
    here = judge(worksheet(reading, ventilate(1)))
    elsewhere = judge(worksheet(reading, ventilate(1, place="hall")))
    again = judge(
        worksheet(reading, ventilate(1), {**reading, "at": ventilate(2)["at"]})
    )

    assert here.status(hazard) == "out_of_date"
    assert elsewhere.status(hazard) == "not_found"
    assert again.status(hazard) == "not_found"


def test_a_ventilation_lifts_nothing():
    assert judge(worksheet(ph(0, 2), ventilate(1))).action() == "stop"
    assert judge(worksheet(ph(0, 5), ventilate(1))).action() == "caution"


# --- precedence ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("log", "at", "status"),
    [
        pytest.param(
            [ph(0, 7), ph(1, 7, moistened=False)], 2, "not_found",
            id="not found before cannot tell",
        ),
        pytest.param(
            [ph(0, 7), ph(10, 7, moistened=False)], 11, "out_of_date",
            id="out of date before cannot tell",
        ),
        pytest.param(
            [ph(0, 7, moistened=False), ph(1, 7)], 2, "not_found",
            id="in whichever order they came",
        ),
        pytest.param([ph(0, 5), ph(1, 7, moistened=False)], 2, "found", id="found first"),
        pytest.param([ph(0, 7), ph(5, 7)], 14, "not_found", id="the latest counts"),
        pytest.param(
            [ph(0, 7, place="hall"), enter(1)], 2, "not_checked", id="another place"
        ),
        pytest.param([ki(0), meter(0, 0, 20.9)], 2, "not_checked", id="another method"),
    ],
)  # fmt: skip
def test_the_first_status_that_fits(log, at, status):
    assert judge(worksheet(*log, humidity=10), at).status("acid_vapour") == status


def test_whichever_team_took_the_reading():
    log = [enter(0), ph(1, 7, team="entry-2")]
    seen = judge(worksheet(*log, teams=TWO))

    assert seen.status("acid_vapour", "entry-1") == "not_found"


def test_a_reading_from_outside_counts_for_its_place():
    seen = judge(worksheet(enter(0), leave(1), ph(2, 7)))

    assert seen.status("acid_vapour") == "not_found"


def test_coverage_follows_the_team_from_place_to_place():
    log = [ph(0, 7), enter(1, place="hall")]

    assert judge(worksheet(*log)).status("acid_vapour") == "not_checked"
    assert judge(worksheet(*log, enter(2))).status("acid_vapour") == "not_found"


def test_a_doubt_after_a_quiet_reading_makes_the_hazard_unknown():
    # Rule 12: "`flammable_atmosphere` not known"; the earlier quiet reading was of other air.
    seen = judge(worksheet(meter(0, 0, 20.9), meter(1, 0, 19)))

    assert seen.status("flammable_atmosphere") == "cannot_tell"
