"""What is said of a named suspect, and that its doubts are said too."""

import re
from decimal import Decimal

import pytest

from screening.ensembles import Ensemble
from screening.substances import SUBSTANCES
from screening.suspects import SUSPECT_CAUTION, about
from tests.published.sources import row

LAMP = Decimal("10.6")


def texts(name, topic, **carried):
    return [fact.text for fact in about(row(name), **carried) if fact.topic == topic]


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
@pytest.mark.parametrize("ensemble", Ensemble)
def test_every_suspect_can_be_described_for_every_ensemble(substance, ensemble):
    facts = about(substance, lamp_ev=LAMP, ensemble=ensemble)

    assert {"LEL reading", "Vapour", "Papers", "Lamp", "IDLH", "Ensemble"} <= {
        fact.topic for fact in facts
    }
    for fact in facts:
        assert fact.text.endswith(".")
        assert fact.source
        assert "safe" not in fact.text.lower()


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_a_value_from_memory_is_never_shown_without_its_mark(substance):
    words = " ".join(
        fact.text for fact in about(substance, lamp_ev=LAMP, ensemble="level_b")
    )

    cells = (substance.idlh, substance.ceiling, substance.ionisation)
    for cell in cells:
        if cell is not None and cell.status == "memory":
            assert f"{cell.value:,f} {cell.unit} [memory]" in words


def test_a_known_factor_turns_the_reading_into_the_suspect():
    (text,) = texts(
        "benzene",
        "LEL reading",
        correction_factors={"Benzene": Decimal("1.90")},
        lel_basis="methane",
    )

    assert text == (
        "10 % LEL on this meter, in terms of methane, is 19 % LEL (factor 1.90)."
    )


def test_an_unknown_factor_is_said_to_be_unknown():
    (text,) = texts("benzene", "LEL reading", lel_basis="methane")

    assert "factor for benzene unknown" in text


def test_ten_percent_of_each_list_stands_against_the_idlh():
    us, iec = texts("carbon monoxide", "Flammable limits")

    assert "(NFPA 497)" in us
    assert "12,500 ppm, 10.42 times the IDLH of 1,200 ppm" in us
    assert "(IEC 60079-20-1)" in iec
    assert "10,900 ppm, 9.08 times" in iec


@pytest.mark.parametrize(
    ("name", "way"),
    [
        ("chlorine", "sinks"),
        ("hydrogen fluoride", "sinks"),
        ("ammonia", "rises when warm"),
        ("carbon monoxide", "mixes with air at every height"),
        ("sulfuric acid", "next to no vapour"),
    ],
)
def test_where_the_vapour_goes(name, way):
    (text,) = texts(name, "Vapour")

    assert way in text


def test_a_light_gas_is_not_looked_for_at_the_ceiling_only():
    (text,) = texts("ammonia", "Vapour")

    assert "Cold gas and fog sink" in text


@pytest.mark.parametrize(
    ("name", "lamp", "words"),
    [
        ("hydrogen cyanide", LAMP, "cannot see it: it needs 13.60 eV"),
        ("toluene", LAMP, "can see it: it needs 8.82 eV"),
        ("toluene", None, "the lamp carried is not recorded"),
        ("gasoline", LAMP, "Ionisation energy unknown"),
    ],
)
def test_whether_the_lamp_sees_it(name, lamp, words):
    (text,) = texts(name, "Lamp", lamp_ev=lamp)

    assert words in text


def test_papers_that_cannot_see_it_say_so():
    ph, ki_starch, fluoride = texts("hydrogen cyanide", "Papers")

    assert ph.startswith("pH paper cannot see it")
    assert ki_starch.startswith("KI-starch paper cannot see it")
    assert fluoride.startswith("Fluoride paper cannot see it")


def test_scba_protects_breathing_and_the_text_says_what_it_leaves_open():
    (splash,) = texts("hydrogen fluoride", "Ensemble", ensemble="level_b")
    (tight,) = texts("hydrogen fluoride", "Ensemble", ensemble="level_a")
    (filters,) = texts("hydrogen fluoride", "Ensemble", ensemble="level_c")

    assert "10,000" in splash
    assert "says nothing of skin and eyes" in splash
    assert "vapour gets through to the skin" in splash
    assert "permeation data" in tight
    assert "not for use at or above the IDLH of 30 ppm" in filters


def test_an_unknown_ensemble_is_refused():
    with pytest.raises(ValueError, match="level_z"):
        about(row("ammonia"), ensemble="level_z")


def test_a_suspect_stands_with_its_caution():
    assert "A suspect is a guess" in SUSPECT_CAUTION


@pytest.mark.parametrize("substance", SUBSTANCES, ids=lambda s: s.name)
def test_isolation_is_given_with_its_edition_or_said_to_be_unread(substance):
    (fact,) = [fact for fact in about(substance) if fact.topic == "Isolation"]

    assert "The current Emergency Response Guidebook governs." in fact.text
    if substance.isolation is None:
        assert "No public figure read with its edition; use the current" in fact.text
        assert not re.search(r"\d+ (m|km|ft)\b", fact.text)
    else:
        assert f"At least {substance.isolation.text} in all directions" in fact.text
        assert "edition of" in fact.text
        assert fact.source == substance.isolation.source


def test_the_number_to_look_up_stands_beside_the_isolation_with_its_mark():
    def isolation(name):
        return texts(name, "Isolation")[0]

    assert "under UN 1017." in isolation("chlorine")
    bleach = row("sodium hypochlorite (solution)")
    assert f"under UN {bleach.un_number.text}." in isolation(bleach.name)
    assert "under" not in isolation("ozone")
