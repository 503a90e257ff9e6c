"""Rules 1 to 9, 27 and 31: pH, KI-starch and fluoride paper.

The figures are the defaults of the profile: 5.5 and 4, 8 and 9 on the pH scale (common
practice, no source).
"""

import pytest

from tests.engine.documents import (
    ENSEMBLES,
    change,
    enter,
    fluoride,
    judge,
    ki,
    ph,
    worksheet,
)

SPLASH = ("level_a", "level_b", "level_c")


def stop_unless_vapour_tight(ensemble: str) -> str:
    return "caution" if ensemble == "level_a" else "stop"


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("value", "hazard"),
    [
        pytest.param(0, "acid_vapour", id="rule 1: bottom of the scale"),
        pytest.param(3.9, "acid_vapour", id="rule 1: under acid_stop_ph"),
        pytest.param(4, "acid_vapour", id="rule 1: at acid_stop_ph"),
        pytest.param(9, "base_vapour", id="rule 3: at base_stop_ph"),
        pytest.param(9.1, "base_vapour", id="rule 3: over base_stop_ph"),
        pytest.param(14, "base_vapour", id="rule 3: top of the scale"),
    ],
)
def test_strong_vapour_stops_all_but_the_vapour_tight(value, hazard, ensemble):
    seen = judge(worksheet(ph(0, value), ensemble=ensemble))

    assert seen.on(hazard) == stop_unless_vapour_tight(ensemble)
    assert seen.action() == stop_unless_vapour_tight(ensemble)
    assert seen.hazards() == {hazard}


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("value", "hazard"),
    [
        pytest.param(4.1, "acid_vapour", id="rule 2: over acid_stop_ph"),
        pytest.param(5, "acid_vapour", id="rule 2: between the two"),
        pytest.param(5.4, "acid_vapour", id="rule 2: under acid_caution_ph"),
        pytest.param(5.5, "acid_vapour", id="rule 2: at it, the safer reading"),
        pytest.param(8, "base_vapour", id="rule 3: at it, the safer reading"),
        pytest.param(8.1, "base_vapour", id="rule 3: over base_caution_ph"),
        pytest.param(8.9, "base_vapour", id="rule 3: under base_stop_ph"),
    ],
)
def test_weak_vapour_is_a_caution_in_any_ensemble(value, hazard, ensemble):
    seen = judge(worksheet(ph(0, value), ensemble=ensemble))

    assert seen.on(hazard) == "caution"
    assert seen.action() == "caution"
    assert seen.hazards() == {hazard}


@pytest.mark.parametrize("value", [5.6, 6, 7, 7.5, 7.9])
def test_paper_between_the_cautions_finds_nothing(value):
    seen = judge(worksheet(ph(0, value)))

    assert seen.action() == "continue"
    assert seen.hazards() == set()
    assert seen.status("acid_vapour") == "not_found"
    assert seen.status("base_vapour") == "not_found"


@pytest.mark.parametrize(
    ("band", "hazard", "action"),
    [
        pytest.param("red", "acid_vapour", "stop", id="red 0-3"),
        pytest.param("orange", "acid_vapour", "stop", id="orange 4"),
        pytest.param("yellow", "acid_vapour", "caution", id="yellow 5-6: 5 governs"),
        pytest.param("green", None, "continue", id="green 7"),
        pytest.param(
            "blue_green", "base_vapour", "stop", id="blue_green 8-9: 9 governs"
        ),
        pytest.param("blue", "base_vapour", "stop", id="blue 10-12"),
        pytest.param("dark_blue", "base_vapour", "stop", id="dark_blue 13-14"),
    ],
)
def test_a_colour_is_judged_by_its_worse_end(band, hazard, action):
    seen = judge(worksheet(ph(0, band=band)))

    assert seen.action() == action
    assert seen.hazards() == ({hazard} if hazard else set())


@pytest.mark.parametrize("moistened", [True, False, None])
@pytest.mark.parametrize("humidity", [None, 10, 90])
def test_a_colour_change_counts_wet_or_dry_in_any_air(moistened, humidity):
    seen = judge(worksheet(ph(0, 2, moistened=moistened), humidity=humidity))

    assert seen.on("acid_vapour") == "stop"


def test_the_limits_are_the_profiles():
    limits = {"acid_stop_ph": 3, "base_stop_ph": 10}

    assert judge(worksheet(ph(0, 3.1), limits=limits)).action() == "caution"
    assert judge(worksheet(ph(0, 3), limits=limits)).action() == "stop"
    assert judge(worksheet(ph(0, 9.9), limits=limits)).action() == "caution"
    assert judge(worksheet(ph(0, 10), limits=limits)).action() == "stop"


@pytest.mark.parametrize("carried_on", ["facepiece", "hook", "hand", None])
def test_where_the_paper_is_carried_does_not_soften_it(carried_on):
    assert judge(worksheet(ph(0, 2, carried_on=carried_on))).action() == "stop"


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("value", [0, 3.9, 4, 9, 9.1, 14])
def test_rule_4_a_corrosive_liquid_asks_for_no_contact(value, ensemble):
    seen = judge(worksheet(ph(0, value, sample="liquid"), ensemble=ensemble))

    expected = "caution" if ensemble in SPLASH else "stop"
    assert seen.on("corrosive_liquid") == expected
    assert seen.action() == expected
    assert seen.hazards() == {"corrosive_liquid"}
    assert "vapour" in seen.said("corrosive_liquid")
    assert "contact" in seen.said("corrosive_liquid")


@pytest.mark.parametrize("value", [4.1, 5, 7, 8.9])
def test_rule_4_a_liquid_outside_the_stop_ranges_finds_nothing(value):
    seen = judge(worksheet(ph(0, value, sample="liquid")))

    assert seen.on("corrosive_liquid") is None
    assert seen.on("acid_vapour") is None
    assert seen.on("base_vapour") is None


def test_rule_5_a_faded_paper_stands_as_first_read():
    seen = judge(worksheet(ph(0, 2, faded=True)))

    assert seen.on("acid_vapour") == "stop"
    assert "humid" in seen.said("acid_vapour")


def test_rule_5_a_faded_paper_ends_no_caution():
    seen = judge(worksheet(ph(0, 5), ph(1, 7, faded=True)))

    assert seen.on("acid_vapour") == "caution"


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("moistened", [True, False])
def test_rule_6_blue_starch_in_the_air_is_an_oxidiser(moistened, ensemble):
    seen = judge(worksheet(ki(0, "blue_black", moistened=moistened), ensemble=ensemble))

    assert seen.on("oxidiser_vapour") == stop_unless_vapour_tight(ensemble)
    assert seen.hazards() == {"oxidiser_vapour"}
    assert "halogen" in seen.said("oxidiser_vapour")


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("result", ["blue_black", "line_at_wet_edge"])
def test_rule_7_an_oxidising_liquid_is_kept_from_fuel(result, ensemble):
    seen = judge(worksheet(ki(0, result, sample="liquid"), ensemble=ensemble))

    assert seen.on("oxidiser_liquid") == "caution"
    assert seen.hazards() == {"oxidiser_liquid"}
    assert "organic" in seen.said("oxidiser_liquid")
    assert ("bleach" in seen.said("oxidiser_liquid")) or result == "blue_black"


@pytest.mark.parametrize("edge_checked", [False, None])
def test_rule_8_an_unchecked_edge_finds_nothing_and_asks_for_the_edge(edge_checked):
    seen = judge(worksheet(ki(0, sample="liquid", edge_checked=edge_checked)))

    assert seen.on("oxidiser_liquid") is None
    rows = seen.team()["coverage"]
    assert any("edge" in row["because"] + row["next_check"] for row in rows)


def test_rule_8_a_checked_edge_is_not_asked_for_again():
    seen = judge(worksheet(ki(0, sample="liquid", edge_checked=True)))

    assert seen.on("oxidiser_liquid") is None
    rows = seen.team()["coverage"]
    assert not any("edge" in row["because"] + row["next_check"] for row in rows)


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("moistened", [True, False])
def test_rule_9_fluoride_in_the_air(moistened, ensemble):
    seen = judge(
        worksheet(fluoride(0, "changed", moistened=moistened), ensemble=ensemble)
    )

    assert seen.on("fluoride_vapour") == stop_unless_vapour_tight(ensemble)
    assert seen.hazards() == {"fluoride_vapour"}


@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_rule_9_fluoride_in_a_liquid(ensemble):
    seen = judge(worksheet(fluoride(0, "changed", sample="liquid"), ensemble=ensemble))

    expected = "caution" if ensemble in ("level_a", "level_b") else "stop"
    assert seen.on("fluoride_liquid") == expected
    assert seen.hazards() == {"fluoride_liquid"}


@pytest.mark.parametrize("sample", ["vapour", "liquid"])
def test_rule_9_names_the_injury_and_its_treatment(sample):
    said = judge(worksheet(fluoride(0, "changed", sample=sample))).said(
        f"fluoride_{sample}"
    )

    for words in ("hydrogen fluoride", "skin", "pain", "medical control"):
        assert words in said
    assert "calcium gluconate" in said


@pytest.mark.parametrize("sample", ["vapour", "liquid"])
def test_quiet_starch_and_fluoride_paper_find_nothing(sample):
    seen = judge(
        worksheet(
            ki(0, sample=sample, edge_checked=True if sample == "liquid" else None),
            fluoride(0, sample=sample),
        )
    )

    assert seen.hazards() == set()
    assert seen.action() == "continue"


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("sample", ["vapour", "liquid"])
def test_rule_27_white_paper_points_to_an_oxidiser(sample, ensemble):
    seen = judge(worksheet(ph(0, bleached=True, sample=sample), ensemble=ensemble))

    assert seen.hazards() == {f"oxidiser_{sample}"}
    assert seen.on(f"oxidiser_{sample}") == "caution"
    assert "starch" in seen.said(f"oxidiser_{sample}")


def test_rule_27_white_paper_says_nothing_of_acid_or_base():
    seen = judge(worksheet(ph(0, bleached=True)))

    assert seen.status("acid_vapour") == "cannot_tell"
    assert seen.status("base_vapour") == "cannot_tell"


def test_rule_27_white_paper_ends_no_acid_caution():
    assert judge(worksheet(ph(0, 5), ph(1, bleached=True))).on("acid_vapour") == (
        "caution"
    )


def test_rule_27_a_wet_quiet_starch_paper_answers_white_paper():
    seen = judge(worksheet(ph(0, bleached=True), ki(1)))

    assert seen.on("oxidiser_vapour") is None


def test_rule_27_a_dry_quiet_starch_paper_does_not_answer_it():
    seen = judge(worksheet(ph(0, bleached=True), ki(1, moistened=False)))

    assert seen.on("oxidiser_vapour") == "caution"


ACID = {
    "acid vapour at stop": ph(0, 2),
    "acid vapour at caution": ph(0, 5),
    "acid liquid": ph(0, 1, sample="liquid"),
}


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("sample", ["vapour", "liquid"])
@pytest.mark.parametrize("acid", ACID.values(), ids=ACID.keys())
@pytest.mark.parametrize("acid_first", [True, False])
def test_rule_31_fluoride_with_acid_is_hydrogen_fluoride(
    acid, acid_first, sample, ensemble
):
    found = fluoride(0.5 if acid_first else -0.5, "changed", sample=sample)
    seen = judge(worksheet(acid, found, ensemble=ensemble))

    expected = "stop" if ensemble == "level_a" else "withdraw"
    assert seen.action() == expected
    assert expected in {seen.on("fluoride_vapour"), seen.on("fluoride_liquid")}


NOT_AN_ACID = {
    "a basic liquid": ph(0, 13, sample="liquid"),
    "basic vapour": ph(0, 12),
    "neutral vapour": ph(0, 7),
    "a weakly acid liquid, no finding": ph(0, 5, sample="liquid"),
    "white paper": ph(0, bleached=True),
}


@pytest.mark.parametrize("other", NOT_AN_ACID.values(), ids=NOT_AN_ACID.keys())
def test_rule_31_counts_the_acid_side_only(other):
    seen = judge(worksheet(other, fluoride(0.5, "changed")))

    assert seen.action() == "stop"
    assert seen.on("fluoride_vapour") == "stop"


def test_rule_31_needs_both_at_one_place():
    seen = judge(
        worksheet(ph(0, 2, place="hall"), fluoride(1, "changed", place="tank room"))
    )

    assert seen.on("fluoride_vapour") == "stop"
    assert seen.action() == "stop"


def test_rule_31_does_not_count_an_acid_caution_that_has_ended():
    seen = judge(worksheet(ph(0, 5), ph(1, 7), fluoride(2, "changed")))

    assert seen.on("fluoride_vapour") == "stop"


def test_rule_31_judges_again_when_the_team_changes():
    log = [enter(0), ph(0, 2), fluoride(1, "changed")]

    assert judge(worksheet(*log, change(2, "level_a"))).action() == "stop"
    assert (
        judge(worksheet(*log, change(2, "level_c"), ensemble="level_a")).action()
        == "withdraw"
    )
