"""From the log to the evidence: what is trusted there is what the coverage trusts."""

from types import MappingProxyType

from screening.evidence import evidence
from screening.observed import observed
from screening.worksheet import load_json, parse_worksheet
from tests.engine import documents as doc
from tests.published.sources import row


def weights(*log, distrusted=MappingProxyType({}), **setup):
    worksheet = parse_worksheet(load_json(doc.as_bytes(doc.worksheet(*log, **setup))))
    seen = observed(worksheet.log, worksheet.context, distrusted)
    return {found.substance.name: found for found in evidence(seen)}


def test_an_acid_fluoride_room_leaves_hydrogen_fluoride_open_and_ammonia_out():
    found = weights(doc.ph(1, 2), doc.fluoride(2, "changed"), doc.ki(3))

    assert found["hydrogen fluoride"].weight == "not_excluded"
    assert found["ammonia (anhydrous)"].weight == "contradicted"
    assert found["chlorine"].weight == "contradicted"
    assert (
        found["hydrogen fluoride"]
        .said[0]
        .because.startswith("pH 2, tank room, 14:01: ")
    )


def test_a_dry_strip_in_dry_air_rules_nothing_out():
    dry = doc.ph(1, 7, moistened=False)

    assert weights(dry, humidity=20)["ammonia (anhydrous)"].weight == "not_seen"
    assert weights(dry, humidity=60)["ammonia (anhydrous)"].weight == "contradicted"


def test_a_faded_strip_rules_nothing_out():
    found = weights(doc.ph(1, 7, faded=True))["ammonia (anhydrous)"]

    assert found.weight == "not_seen"
    assert "faded" in found.said[0].because


def test_a_struck_reading_says_nothing():
    found = weights(doc.ph(1, 2), doc.strike(2, "e01"))

    assert {row.weight for row in found.values()} == {"not_seen"}
    assert found["ammonia (anhydrous)"].said == ()


def test_a_cell_that_shows_anything_is_not_quiet():
    assert weights(doc.meter(1, co_ppm=0.5))["carbon monoxide"].weight == "not_excluded"
    assert weights(doc.meter(1, co_ppm=0))["carbon monoxide"].weight == "contradicted"


def test_a_distrusted_meter_rules_nothing_out_but_still_finds():
    quiet, loud = doc.meter(1, co_ppm=0), doc.meter(1, co_ppm=90)
    never = {"e01": "all"}

    assert weights(quiet, distrusted=never)["carbon monoxide"].weight == "not_seen"
    assert weights(loud, distrusted=never)["carbon monoxide"].weight == "not_excluded"


def test_the_lamp_is_the_readings_or_else_the_instruments():
    listed = {
        "id": "pid", "kind": "gas_meter", "sensors": ["voc"], "lamp_ev": 9.8,
    }  # fmt: skip
    by_entry = doc.meter(1, voc_ppm=0, lamp_ev=10.6)
    by_list = doc.meter(1, voc_ppm=0, instrument="pid")

    assert weights(by_entry)["ammonia (anhydrous)"].weight == "contradicted"
    assert (
        weights(by_list, instruments=[listed])["ammonia (anhydrous)"].weight
        == "not_seen"
    )


def test_an_lel_over_range_is_a_find_without_a_figure():
    found = weights(doc.meter(1, over_range=["lel"], oxygen=20.9))["methane"]

    assert found.weight == "not_excluded"
    assert "over range" in found.said[0].because


def test_a_quiet_lel_without_oxygen_could_not_tell():
    assert weights(doc.meter(1, lel=0))["methane"].weight == "not_seen"
    assert weights(doc.meter(1, lel=0, oxygen=20.9))["methane"].weight == "not_excluded"


def test_a_band_of_a_colour_card_counts_for_both_its_ends():
    assert weights(doc.ph(1, band="yellow"))["hydrogen chloride"].weight == (
        "not_excluded"
    )


def test_every_gas_of_the_meter_is_weighed_by_its_own_name():
    found = weights(doc.meter(1, gases={"hydrogen cyanide": 60}))

    assert found["hydrogen cyanide"].weight == "not_excluded"
    assert row("HCN").name in found


def test_a_meter_whose_lel_sensor_alone_is_in_doubt_still_speaks_by_its_cells():
    quiet = doc.meter(1, 0, 20.9, co_ppm=0)
    bead = {"e01": "lel"}

    assert weights(quiet, distrusted=bead)["carbon monoxide"].weight == "contradicted"
    assert weights(quiet)["methane"].weight == "not_excluded"
    assert weights(quiet, distrusted=bead)["methane"].weight == "not_seen"
