"""Readings that the tables of rules do not spell out, each held to the safer side."""

import pytest

from tests.engine.documents import enter, judge, meter, worksheet

FLAMMABLE = "flammable_atmosphere"


def rules(seen):
    return {finding["rule"] for finding in seen.team()["findings"]}


# --- Rule 12: oxygen over its range is oxygen above the enriched limit ------------------


@pytest.mark.parametrize("figure", [None, 20.9, 25])
def test_a_quiet_lel_beside_oxygen_over_range_is_a_doubt(figure):
    line = meter(1, 0, figure, over_range=["oxygen"])
    seen = judge(worksheet(enter(0), meter(0, 0, 20.9), line))

    assert seen.status(FLAMMABLE) == "cannot_tell"
    assert {"lel_needs_oxygen", "oxygen_enriched"} <= rules(seen)
    assert "over range" in seen.said(FLAMMABLE)


def test_lel_at_a_limit_counts_beside_oxygen_over_range():
    seen = judge(worksheet(meter(0, 12, 20.9, over_range=["oxygen"])))

    assert seen.on(FLAMMABLE) == "withdraw"
    assert "lel_needs_oxygen" not in rules(seen)


# --- Rule 30: what a lamp cannot see explains nothing of its figure ----------------------


@pytest.mark.parametrize(
    ("gas", "lamp", "listed", "explained"),
    [
        # NIOSH Pocket Guide: ammonia 10.18 eV, methane 12.51 eV (a maker's sheet).
        pytest.param("ammonia", 10.6, None, True, id="seen by the lamp"),
        pytest.param("ammonia", 9.8, None, False, id="a weaker lamp"),
        pytest.param("ammonia", None, 10.6, True, id="the listed lamp sees it"),
        pytest.param("ammonia", None, 9.8, False, id="the listed lamp is weaker"),
        pytest.param("ammonia", None, None, False, id="no lamp known"),
        pytest.param("methane", None, None, False, id="no usual lamp sees it"),
    ],
)
def test_a_named_gas_explains_a_vapour_that_the_lamp_can_see(
    gas, lamp, listed, explained
):
    meters = [{"id": "m", "kind": "gas_meter", "sensors": ["voc"], "lamp_ev": listed}]
    line = meter(0, voc_ppm=50, lamp_ev=lamp, gases={gas: 5}, instrument="m")
    known = meters if listed else [{"id": "m", "kind": "gas_meter"}]
    seen = judge(worksheet(line, instruments=known))

    assert ("organic_vapour" in rules(seen)) is not explained
