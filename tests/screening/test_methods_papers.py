"""Rows of the table of methods that a strip can meet, each by a worksheet that meets it.

A row that no field of a strip's entry can meet is shown to be so: what would be needed is
refused, or the quiet strip leaves open what the row says.
"""

import pytest

from screening.methods import by_id, recognise
from screening.methods.beyond import beyond_our_tools
from tests.engine.documents import (
    clear,
    enter,
    fluoride,
    judge,
    ki,
    ph,
    refused,
    strike,
    worksheet,
)
from tests.screening.test_beyond_our_tools import parsed
from tests.screening.test_observed import weights


def liquid(paper, *args, **fields):
    return paper(*args, sample="liquid", moistened=None, **fields)


def row_behind(row):
    """The row of the table whose sentence a row of the coverage shows first."""
    return recognise(row["because"])[0].row


def test_c3_a_quiet_strip_on_a_layer_of_oil_ends_nothing():
    """What the layer was is no field of the entry, so a liquid never ends by itself."""
    assert "oil" in by_id("C3").cannot_when
    seen = judge(worksheet(liquid(ph, 0, 1), liquid(ph, 1, 7)))

    assert seen.on("corrosive_liquid") == "stop"
    assert seen.status("acid_vapour") == "cannot_tell"
    assert refused(worksheet(ph(0, 7, sample="solvent"))) == ["/log/0/sample"]


def test_c4_what_turns_acid_only_with_water_is_not_contradicted_by_a_neutral_strip():
    """Phosgene in very dry air: the wet strip tells of acid vapour, not of phosgene."""
    assert "very dry" in by_id("C4").cannot_when
    strip = ph(0, 7)
    seen = judge(worksheet(strip, humidity=12, suspects=["phosgene"]))

    assert seen.status("acid_vapour") == "not_found"
    assert seen.status("toxic_gas") == "not_checked"
    assert weights(strip, humidity=12)["phosgene"].weight == "not_excluded"


def test_c7_caustic_gives_no_vapour_so_the_strip_must_touch_it():
    assert "no vapour" in by_id("C7").never_when
    row = judge(worksheet(ph(0, 7), suspects=["caustic soda"])).row("base_vapour")
    touched = worksheet(ph(0, 7), liquid(ph, 1, 13), suspects=["caustic soda"])

    assert row["status"] == "cannot_tell"
    assert "caustic soda would give next to no vapour" in row["because"]
    assert row["next_check"].startswith("Touch the liquid, or the wetted solid")
    assert judge(touched).status("base_vapour") == "not_found"
    assert judge(touched).on("corrosive_liquid") == "stop"


def test_c8_beyond_the_range_of_the_paper_there_is_no_figure():
    """A charred or washed-out strip is logged as white: it says nothing of acid or base."""
    assert "0 to 14" in by_id("C8").tells_when
    charred = liquid(ph, 1, bleached=True)
    seen = judge(worksheet(liquid(ph, 0, 0), charred, clear(2, "corrosive_liquid")))

    assert refused(worksheet(ph(0, 14.5))) == ["/log/0/ph"]
    assert refused(worksheet(ph(0, -1))) == ["/log/0/ph"]
    assert seen.on("corrosive_liquid") == "stop"


def test_c11_a_nitrate_is_not_excluded_by_a_strip_that_stays_white():
    assert "Nitrate" in by_id("C11").never_when
    white = liquid(ki, 0, edge_checked=True)
    seen = judge(worksheet(ki(0), suspects=["ammonium nitrate"]))

    assert weights(white)["ammonium nitrate"].weight != "contradicted"
    assert seen.status("oxidiser_vapour") == "cannot_tell"
    assert (
        "ammonium nitrate may give too little"
        in (seen.row("oxidiser_vapour")["because"])
    )
    assert "C11" in {blind.key for blind in beyond_our_tools(parsed(WHATEVER).context)}


WHATEVER = worksheet(enter(0))


def test_c12_an_organic_peroxide_is_never_ruled_out_by_a_strip():
    """No row of the table of substances is one: as a suspect it stays not known."""
    assert "hardly react" in by_id("C12").never_when
    document = worksheet(ki(0), suspects=["organic peroxide"])
    found = {blind.key: blind for blind in beyond_our_tools(parsed(document).context)}

    assert "not in the table" in found["suspect: organic peroxide"].because
    assert found["C12"].would_see == by_id("C12").next_step


@pytest.mark.parametrize("paper", [ph, ki, fluoride])
@pytest.mark.parametrize(
    ("note", "tells"),
    [
        pytest.param("Expired lot", False, id="expired"),
        pytest.param("strips browned, from the truck", False, id="browned"),
        pytest.param("this lot is past its date", False, id="past its date"),
        pytest.param("brown bottle beside the drum", True, id="something else brown"),
        pytest.param("fresh lot", True, id="fresh"),
    ],
)
def test_c13_an_old_strip_is_no_test_and_finds_as_ever(paper, note, tells):
    hazard = {ph: "acid_vapour", ki: "oxidiser_vapour", fluoride: "fluoride_vapour"}
    quiet = paper(0, 7, note=note) if paper is ph else paper(0, note=note)
    row = judge(worksheet(quiet)).row(hazard[paper])

    assert row["status"] == ("not_found" if tells else "cannot_tell")
    if not tells:
        assert row_behind(row) is by_id("C13")
        assert "fresh lot" in row["next_check"]
    blue = judge(worksheet(ki(0, "blue_black", note=note)))
    assert blue.on("oxidiser_vapour") == "stop"


def test_c13_an_old_strip_on_a_liquid_supports_no_clear():
    log = [liquid(ph, 0, 1), liquid(ph, 1, 7, note="expired lot")]
    decision = {**clear(2, "corrosive_liquid"), "id": "decision"}

    assert judge(worksheet(*log, decision)).on("corrosive_liquid") == "stop"
    fresh = [log[0], liquid(ph, 1, 7), decision]
    assert judge(worksheet(*fresh)).on("corrosive_liquid") is None


def test_c14_blue_is_looked_into_whatever_may_have_turned_it():
    """Acid, air or copper turn it too: only people can say so, by a strike or a clear."""
    assert "copper" in by_id("C14").cannot_when
    blue = ki(0, "blue_black", note="copper sheet beside it")

    assert judge(worksheet(blue)).on("oxidiser_vapour") == "stop"
    assert judge(worksheet(blue, strike(1, "e01"))).on("oxidiser_vapour") is None


@pytest.mark.parametrize("moistened", [True, False])
def test_c17_with_acid_found_fluoride_comes_next_until_a_wet_strip_was_read(moistened):
    """Bound fluoride comes free with water: a dry strip in a dry gas is no test."""
    assert "dry gas" in by_id("C17").never_when
    log = [enter(0), ph(1, 3), fluoride(2, moistened=moistened)]
    seen = judge(worksheet(*log))

    assert seen.status("fluoride_vapour") == (
        "not_found" if moistened else "cannot_tell"
    )
    assert ("fluoride" in seen.team()["look_next"]) is not moistened


def test_w1_a_strip_on_a_liquid_says_nothing_of_the_air_whatever_the_paper():
    for line, hazard in (
        (liquid(ph, 0, 7), "acid_vapour"),
        (liquid(ki, 0, edge_checked=True), "oxidiser_vapour"),
        (liquid(fluoride, 0), "fluoride_vapour"),
    ):
        row = judge(worksheet(line)).row(hazard)
        assert row["status"] == "cannot_tell"
        assert row_behind(row) is by_id("W1")
