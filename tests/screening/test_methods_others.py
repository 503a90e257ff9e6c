"""Rows on imager, dosimeter, signs and words, and what no instrument of ours can see.

Where the worksheet has no field for what a row is about, the test shows that it refuses
the entry, or that the row is listed among what cannot be found.
"""

import pytest

from screening.methods import by_id, recognise
from screening.methods.beyond import beyond_our_tools
from tests.engine.documents import (
    enter,
    entry,
    imager,
    judge,
    meter,
    quantity,
    rate,
    refused,
    sign,
    worksheet,
)
from tests.screening.test_beyond_our_tools import instrument, parsed


def beyond(*instruments):
    document = worksheet(enter(0), instruments=instruments)
    return {blind.key: blind for blind in beyond_our_tools(parsed(document).context)}


EVERYTHING = (
    instrument("gas_meter", "lel", "oxygen", "co", "h2s", "voc", lamp_ev=11.7),
    instrument("dosimeter", id="two"),
    instrument("thermal_imager", id="three"),
)


@pytest.mark.parametrize("row_id", ["C59", "C60", "C61", "C62", "C24"])
def test_what_no_instrument_here_can_see_is_listed_whatever_is_carried(row_id):
    found = beyond(*EVERYTHING)[row_id]

    assert found.because == by_id(row_id).never_when
    assert found.would_see == by_id(row_id).next_step


@pytest.mark.parametrize(
    ("row_id", "sensor"),
    [
        pytest.param("C51", "sodium iodide", id="low-energy gamma"),
        pytest.param("C53", "pancake", id="contamination"),
    ],
)
def test_c51_c53_a_dosimeter_is_no_probe_for_them(row_id, sensor):
    with_probe = (*EVERYTHING, instrument("other", sensor, id="four"))

    assert row_id in beyond(*EVERYTHING)
    assert row_id not in beyond(*with_probe)
    quiet = judge(worksheet(rate(0, 0.01))).row("gamma_radiation")
    assert quiet["status"] == "not_found"
    assert "says nothing of alpha, beta or neutrons" in quiet["because"]


# --- Imager ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "note", ["through the window", "seen through glass", "steam in between", "wet wall"]
)
def test_c54_glass_water_and_steam_hide_what_is_behind(note):
    quiet = judge(worksheet(imager(0, 70, note=note))).row("container_heating")
    warm = judge(worksheet(imager(0, 90, note=note)))

    assert quiet["status"] == "cannot_tell"
    assert recognise(quiet["because"])[0].row is by_id("C54")
    assert "nothing in between" in quiet["next_check"]
    assert warm.on("container_heating") == "stop"


def test_c55_a_level_is_no_look_for_heat():
    """The level of a liquid is a picture of something else: no row speaks of it."""
    assert by_id("C55").hazards == ()
    seen = judge(worksheet(imager(0, 40, target="other", container="level of tank 2")))

    assert "container_heating" not in {r["hazard"] for r in seen.team()["coverage"]}
    assert seen.findings("container_heating") == []


def test_c56_one_picture_says_nothing_of_a_rate():
    once = judge(worksheet(imager(0, 70))).row("container_heating")
    again = judge(worksheet(imager(0, 70), imager(5, 74)))

    assert "shows the skin, not the middle" in once["because"]
    assert again.on("container_heating") == "withdraw"


def test_c57_a_quiet_relief_valve_clears_no_container():
    """Nobody can log that a valve is quiet; a cool discharge leaves the drum as it is."""
    assert "silence does not" in by_id("C57").next_step
    cool = imager(1, 60, target="relief_valve_discharge", container=None)
    seen = judge(worksheet(imager(0, 90), cool))

    assert seen.on("container_heating") == "stop"
    assert "/log/0/what" in refused(worksheet(sign(0, "relief_device_quiet")))


def test_c58_a_hot_valve_counts_although_the_sun_may_have_warmed_it():
    assert "sun" in by_id("C58").cannot_when
    hot = imager(1, 95, target="relief_valve_discharge", container=None,
                 note="black cap, in the sun")  # fmt: skip

    assert judge(worksheet(enter(0), hot)).on("hot_relief_discharge") == "withdraw"


def test_w9_without_an_imager_nothing_shows_that_a_container_warms_up():
    without = (*EVERYTHING[:2],)

    assert by_id("W9").never_when in beyond(*without)["W9"].because
    assert "W9" not in beyond(*EVERYTHING)


# --- Words ----------------------------------------------------------------------------


def test_c46_a_figure_by_radio_is_stored_as_it_was_sent():
    """Whether it was read back is no field: a figure that was misheard is struck."""
    assert "read back" in by_id("C46").cannot_when
    unsure = {**meter(0, 5, 20.9), "confirmed": False}

    assert refused(worksheet(unsure)) == ["/log/0/confirmed"]


@pytest.mark.parametrize(
    "line",
    [
        pytest.param(entry("note", 0, note="all clear"), id="a message"),
        pytest.param(entry("gas_meter", 0, note="clear"), id="no figure"),
        pytest.param(entry("ph_paper", 0, sample="vapour", note="clear"), id="no pH"),
        pytest.param(
            entry("gas_meter", 0, lel_percent="clear"), id="a word for a figure"
        ),
    ],
)
def test_c66_clear_without_a_figure_is_no_reading(line):
    assert "no reading" in by_id("C66").never_when
    assert refused(worksheet(line))


def test_c65_no_odour_is_no_finding():
    assert "no odour is no finding" in by_id("C65").never_when
    smelled = judge(worksheet(sign(0, "odour")))

    assert refused(worksheet(sign(0, "no_odour"))) == ["/log/0/what"]
    assert smelled.on("unexplained_sign") == "caution"
    assert {row["status"] for row in smelled.team()["coverage"]} == {"not_checked"}


def test_c52_a_rate_from_afar_says_how_far():
    line = rate(0, 0.01, distance=quantity(20, "ft"))
    row = judge(worksheet(line)).row("gamma_radiation")

    assert recognise(row["because"])[-1].row is by_id("C52")
    assert "where a weak source does not show" in row["because"]
