"""What the team cannot find with what it carries is listed, never left out."""

import json

import pytest

from screening.methods.beyond import beyond_our_tools
from screening.substances import STATUSES
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import enter, worksheet


def parsed(document):
    return parse_worksheet(load_json(json.dumps(document).encode()))


def beyond(*instruments, suspects=None):
    document = worksheet(enter(0), instruments=list(instruments), suspects=suspects)
    return {blind.key: blind for blind in beyond_our_tools(parsed(document).context)}


def instrument(kind="gas_meter", *sensors, id="one", **fields):
    return {"id": id, "kind": kind, "sensors": list(sensors), **fields}


def test_without_a_list_everything_beyond_papers_and_four_gases_is_named():
    found = beyond()

    assert {"C35", "C48", "C49", "C50", "C60", "C61", "W8", "gases"} <= found.keys()
    for name in ("phosgene", "hydrogen cyanide"):
        assert name in found["gases"].because


def test_each_says_why_what_would_and_where_from():
    named = beyond(suspects=["phosgene", "sulfuric acid", "something in drums"])

    for blind in (*beyond().values(), *named.values()):
        assert blind.what
        assert blind.because.endswith(".")
        assert blind.would_see.endswith(".")
        assert blind.source
        assert blind.status in STATUSES
        assert "{" not in blind.because


@pytest.mark.parametrize(
    ("sensor", "row"),
    [("alpha", "C48"), ("beta", "C49"), ("neutron", "C50"), ("co2", "C35")],
)
def test_a_probe_that_is_carried_is_not_called_missing(sensor, row):
    carried = beyond(instrument("other", sensor))
    before, after = beyond()[row], carried.get(row)

    assert after is None or after.because != before.because
    assert (after is None) == (row != "C49")  # tritium stays beyond any probe


def test_a_dosimeter_for_gamma_leaves_alpha_beta_and_neutrons():
    found = beyond(instrument("dosimeter"))

    assert "W8" not in found
    assert {"C48", "C49", "C50"} <= found.keys()


def test_carbon_dioxide_is_named_on_a_four_gas_meter():
    found = beyond(instrument("gas_meter", "lel", "oxygen", "co", "h2s"))

    assert "carbon dioxide" in found["C35"].because
    assert "C35" not in beyond(instrument("gas_meter", "lel", "carbon dioxide"))


def test_suspects_come_first_and_say_why_not():
    found = beyond(
        instrument("gas_meter", "lel", "oxygen", "co", "h2s", "voc", lamp_ev=10.6),
        suspects=["hydrogen cyanide", "ammonia"],
    )
    first = next(iter(found.values()))

    assert first.key == "suspect: hydrogen cyanide"
    assert first.suspect
    # 13.60 eV; 1 % of 5.6 % by volume is 560 ppm, its IDLH 50: NIOSH, table of substances
    for words in ("13.60 eV", "10.6 eV", "560 ppm", "50 ppm"):
        assert words in first.because
    assert "suspect: ammonia" not in found


@pytest.mark.parametrize(
    ("suspect", "carried", "seen"),
    [
        pytest.param("hydrogen cyanide", ["hydrogen cyanide"], True, id="its own cell"),
        pytest.param("HCN", ["hydrogen cyanide"], True, id="its own cell, by formula"),
        pytest.param("hydrogen cyanide", ["co", "h2s"], False, id="others' cells"),
        pytest.param("ammonia", ["co"], True, id="a wet pH strip"),
        pytest.param("chlorine", ["co"], True, id="KI-starch paper"),
        pytest.param("methane", ["lel"], True, id="flammable, no poison"),
        pytest.param("methane", ["co"], False, id="flammable, no LEL sensor"),
        pytest.param("toluene", ["lel"], True, id="1 % LEL 110 ppm, short-term 150"),
        pytest.param("benzene", ["lel"], False, id="1 % LEL 120 ppm, short-term 1"),
        pytest.param("ammonium nitrate", ["lel"], False, id="no vapour"),
        pytest.param("something in drums", ["lel"], False, id="not in the table"),
    ],
)
def test_whether_a_suspect_would_show(suspect, carried, seen):
    found = beyond(instrument("gas_meter", *carried), suspects=[suspect])

    assert (f"suspect: {suspect.lower()}" not in found) is seen


def test_a_lamp_is_not_trusted_with_what_it_sees_only_weakly():
    """Hydrogen peroxide, 10.54 eV: a stronger lamp makes it no better."""
    meter = instrument("gas_meter", "voc", lamp_ev=11.7)
    found = beyond(meter, suspects=["hydrogen peroxide"])["suspect: hydrogen peroxide"]

    assert "sees it only weakly" in found.because
    assert "lamp" not in found.would_see


def test_a_lamp_that_is_not_recorded_is_trusted_with_nothing():
    with_lamp = beyond(
        instrument("gas_meter", "voc", lamp_ev=10.6), suspects=["acetone"]
    )
    without = beyond(instrument("gas_meter", "voc"), suspects=["acetone"])

    assert "suspect: acetone" not in with_lamp
    assert "not recorded" in without["suspect: acetone"].because


def test_more_instruments_never_make_more_that_cannot_be_seen():
    few = beyond(instrument("gas_meter", "lel", "oxygen", "co", "h2s"))
    more = beyond(
        instrument("gas_meter", "lel", "oxygen", "co", "h2s", "voc", lamp_ev=11.7),
        instrument("dosimeter", "beta", id="two"),
        instrument("thermal_imager", id="three"),
    )

    assert more.keys() <= few.keys()
    assert len(more) < len(few)
