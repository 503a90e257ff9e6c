"""Evidence: contradicted, not excluded, could not have been seen; never a name."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.evidence import EVIDENCE_CAUTION, evidence
from screening.statements import CROSS_SENSITIVITY, PaperSeen, SensorSeen
from screening.substances import SUBSTANCES
from tests.published.sources import row

ph_values = st.decimals(0, 14, places=1)
papers = st.one_of(
    st.builds(
        PaperSeen,
        paper=st.just("ph"),
        sample=st.sampled_from(["liquid", "vapour"]),
        moist=st.booleans(),
        low=ph_values,
        high=ph_values,
        bleached=st.booleans(),
    ),
    st.builds(
        PaperSeen,
        paper=st.sampled_from(["ki_starch", "fluoride"]),
        sample=st.sampled_from(["liquid", "vapour"]),
        moist=st.booleans(),
        changed=st.booleans(),
    ),
)

sensors = st.builds(
    SensorSeen,
    sensor=st.sampled_from(["lel", "voc", "co", "h2s", "chlorine", "mystery"]),
    value=st.decimals(0, 500, places=0),
    over_range=st.booleans(),
    lamp_ev=st.sampled_from([None, Decimal("10.0"), Decimal("10.6"), Decimal("11.7")]),
    trusted=st.booleans(),
)


def weigh(name, *readings):
    (found,) = evidence(readings, [row(name)])
    return found


def ph(value, **more):
    """A wet strip in the air."""
    return PaperSeen(
        paper="ph", sample="vapour", low=Decimal(value), high=Decimal(value), **more
    )


def test_without_a_reading_nothing_could_have_been_seen():
    assert {found.weight for found in evidence([])} == {"not_seen"}
    assert len(evidence([])) == len(SUBSTANCES)


@given(st.lists(st.one_of(papers, sensors), max_size=6))
def test_no_readings_ever_name_a_substance(readings):
    for found in evidence(readings):
        assert found.weight in {"contradicted", "not_excluded", "not_seen"}
        assert len(found.said) == len(readings)
        for said in found.said:
            assert f"{found.substance.name} is present" not in said.because
            assert f"it is {found.substance.name}" not in said.because.lower()


@given(st.lists(st.one_of(papers, sensors), min_size=1, max_size=6))
def test_the_order_of_readings_does_not_matter(readings):
    forwards = {found.substance.name: found.weight for found in evidence(readings)}
    backwards = {
        found.substance.name: found.weight for found in evidence(readings[::-1])
    }

    assert forwards == backwards


def test_the_caution_says_that_readings_never_prove():
    assert "never prove one" in EVIDENCE_CAUTION
    assert "incident commander govern" in EVIDENCE_CAUTION


def test_each_statement_names_the_reading_that_says_so():
    found = weigh("ammonia", ph(2, label="pH 2 in the tank room, 14:02"))

    assert found.said[0].because.startswith("pH 2 in the tank room, 14:02: ")


def test_a_dry_strip_that_changed_still_counts():
    assert weigh("hydrogen chloride", ph(2, moist=False)).weight == "not_excluded"
    assert weigh("hydrogen chloride", ph(7, moist=False)).weight == "not_seen"


def test_a_weakly_acid_strip_speaks_neither_for_nor_against_an_acid():
    assert weigh("hydrogen chloride", ph(5)).weight == "not_excluded"
    assert weigh("hydrogen chloride", ph(7)).weight == "contradicted"


def test_something_else_beside_it_does_not_contradict_what_explains_a_reading():
    blue = PaperSeen(paper="ki_starch", sample="vapour", changed=True)

    assert weigh("hydrogen chloride", blue).weight == "contradicted"
    assert weigh("hydrogen chloride", ph(2), blue).weight == "not_excluded"


def test_a_liquid_test_says_nothing_of_a_gas():
    strip = PaperSeen(paper="ph", sample="liquid", low=Decimal(7), high=Decimal(7))

    assert weigh("carbon monoxide", strip).weight == "not_seen"


def test_what_gives_no_vapour_is_never_ruled_out_by_the_air():
    quiet = [
        ph(7),
        SensorSeen(sensor="voc", value=Decimal(0), lamp_ev=Decimal("11.7")),
        SensorSeen(sensor="lel", value=Decimal(0)),
    ]

    assert weigh("sulfuric acid", *quiet).weight == "not_seen"


@pytest.mark.parametrize(
    ("lamp", "weight"),
    [
        pytest.param("10.0", "not_seen", id="too weak"),
        pytest.param("10.45", "not_seen", id="no stronger than needed"),
        pytest.param("10.46", "contradicted", id="strong enough"),
        pytest.param(None, "not_seen", id="not recorded"),
    ],
)
def test_a_quiet_lamp_speaks_only_of_what_it_can_see(lamp, weight):
    sensor = SensorSeen(sensor="voc", value=Decimal(0), lamp_ev=lamp and Decimal(lamp))

    assert weigh("hydrogen sulfide", sensor).weight == weight


def test_a_sensor_that_could_not_tell_rules_nothing_out():
    sensor = SensorSeen(sensor="co", value=Decimal(0), trusted=False)

    assert weigh("carbon monoxide", sensor).weight == "not_seen"


def test_a_quiet_cell_contradicts_its_own_gas_and_names_what_can_hide_it():
    found = weigh("hydrogen sulfide", SensorSeen(sensor="h2s", value=Decimal(0)))

    assert found.weight == "contradicted"
    assert "nitrogen dioxide or chlorine can hide it" in found.said[0].because


def test_over_range_is_not_quiet():
    sensor = SensorSeen(sensor="co", value=Decimal(0), over_range=True)

    assert weigh("carbon monoxide", sensor).weight == "not_excluded"


def test_ph_needs_a_figure_unless_the_paper_was_bleached():
    with pytest.raises(ValueError, match="low and high"):
        weigh("ammonia", PaperSeen(paper="ph", sample="vapour"))


def test_every_cross_sensitivity_names_rows_of_the_table():
    for cell, others in CROSS_SENSITIVITY.items():
        assert row(cell).name == cell
        for name in others:
            assert row(name).name == name


def lel(value, **more):
    return SensorSeen(sensor="lel", value=Decimal(value), **more)


def test_a_later_find_by_the_same_method_outweighs_an_earlier_quiet_strip():
    assert weigh("hydrogen chloride", ph(7), ph(2)).weight == "not_excluded"
    assert weigh("hydrogen chloride", ph(2), ph(7)).weight == "not_excluded"


def test_a_quiet_paper_of_another_kind_still_speaks_against_it():
    quiet = PaperSeen(paper="fluoride", sample="vapour")

    assert weigh("hydrogen fluoride", ph(2), quiet).weight == "contradicted"


def test_a_quiet_strip_at_one_place_says_nothing_of_another():
    here = ph(7, place="drum bay")

    assert weigh("ammonia", here).weight == "contradicted"
    assert weigh("ammonia", here, ph(7, place="store room")).weight == "contradicted"
    elsewhere = lel(0, place="store room")
    assert weigh("ammonia", here, elsewhere).weight == "not_excluded"


def test_a_place_where_nothing_could_have_shown_it_keeps_it_open():
    dry = ph(7, place="store room", moist=False)

    found = weigh("ammonia", ph(7, place="drum bay"), dry)

    assert found.weight == "not_excluded"
    assert [place.weight for place in found.places] == ["contradicted", "not_seen"]


def test_places_that_differ_in_capitals_are_one():
    found = weigh("ammonia", ph(7, place="Drum bay"), ph(7, place="drum bay"))

    assert len(found.places) == 1


def test_the_statements_that_decide_are_those_of_the_weight():
    found = weigh(
        "hydrogen fluoride", ph(2), PaperSeen(paper="fluoride", sample="vapour")
    )

    assert found.weight == "contradicted"
    assert [said.reading for said in found.deciding] == [
        "Fluoride paper, vapour: no change"
    ]
    assert all("hydrogen fluoride" not in said.short for said in found.said)


def test_the_caution_says_that_a_reading_speaks_for_its_place_and_time():
    assert "its place and its time" in EVIDENCE_CAUTION
