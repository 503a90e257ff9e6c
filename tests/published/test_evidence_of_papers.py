"""What papers and lamps can show, by the published behaviour of each."""

from decimal import Decimal

import pytest

from screening.evidence import evidence
from screening.statements import PaperSeen, SensorSeen
from tests.published.sources import check, row


def weigh(name, *readings):
    (found,) = evidence(readings, [row(name)])
    return found


def ph(value, **more):
    return PaperSeen(
        paper="ph", sample="vapour", low=Decimal(value), high=Decimal(value), **more
    )


BLUE = PaperSeen(paper="ki_starch", sample="vapour", changed=True)
NO_BLUE = PaperSeen(paper="ki_starch", sample="vapour")
WHITE = PaperSeen(paper="ph", sample="vapour", bleached=True)
FLUORIDE = PaperSeen(paper="fluoride", sample="vapour", changed=True)
LAMP = SensorSeen(sensor="voc", value=Decimal(0), lamp_ev=Decimal("10.6"))


@pytest.mark.parametrize(
    ("name", "readings", "weight"),
    [
        check(
            "hobby-chemistry thread with photographs: chlorine bleaches pH paper",
            "chlorine",
            (WHITE, BLUE),
            "not_excluded",
        ),
        check(
            "supplier text: chlorine turns moist KI-starch paper",
            "chlorine",
            (NO_BLUE,),
            "contradicted",
        ),
        check(
            "supplier text: only a moist strip is a test",
            "chlorine",
            (PaperSeen(paper="ki_starch", sample="vapour", moist=False),),
            "not_seen",
        ),
        check(
            "common practice, chemistry: hydrogen cyanide leaves the paper near neutral",
            "hydrogen cyanide",
            (ph(5), NO_BLUE),
            "not_seen",
        ),
        check(
            "ionisation table: a 10.6 eV lamp cannot see hydrogen cyanide",
            "hydrogen cyanide",
            (LAMP,),
            "not_seen",
        ),
        check(
            "IDLH 50 ppm: its own cell sees hydrogen cyanide where papers do not",
            "hydrogen cyanide",
            (ph(5), NO_BLUE, LAMP, SensorSeen(sensor="HCN", value=Decimal(60))),
            "not_excluded",
        ),
        check(
            "WHO 1984 principle: acid, fluoride turned, no oxidiser",
            "hydrogen fluoride",
            (ph(2), FLUORIDE, NO_BLUE),
            "not_excluded",
        ),
        check(
            "common practice, chemistry: fluorine turns all three papers",
            "fluorine",
            (ph(2), FLUORIDE, BLUE),
            "not_excluded",
        ),
        check(
            "common practice, chemistry: ammonia is a base",
            "ammonia",
            (ph(2),),
            "contradicted",
        ),
        check(
            "instrument manual 1992: hydrogen reads on a CO cell",
            "hydrogen",
            (SensorSeen(sensor="co", value=Decimal(600)),),
            "not_excluded",
        ),
        check(
            "instrument manual 1992: chlorine pulls an H2S cell down",
            "chlorine",
            (SensorSeen(sensor="h2s", value=Decimal(0)),),
            "not_seen",
        ),
        check(
            "NIOSH IDLH documentation 1994: a quiet LEL sensor hides a deadly ammonia",
            "ammonia",
            (SensorSeen(sensor="lel", value=Decimal(0)),),
            "not_excluded",
        ),
    ],
)
def test_what_readings_say_of_a_substance(name, readings, weight):
    assert weigh(name, *readings).weight == weight


CHEMISTRY = "common practice, chemistry"
ACIDS = (
    "hydrogen chloride",
    "hydrogen fluoride",
    "nitric acid",
    "NO2",
    "SO2",
    "fluorine",
)
BASES = ("ammonia", "methylamine")
BLEACHERS = ("chlorine", "bromine", "chlorine dioxide")
OXIDISERS = (*BLEACHERS, "fluorine", "iodine", "ozone", "nitrogen dioxide")
NEUTRAL = (
    "carbon monoxide", "methane", "propane", "hexane", "acetone", "toluene", "benzene",
    "methanol", "ethanol", "gasoline", "hydrogen", "acetylene", "ethylene oxide",
    "hydrogen cyanide", "ether",
)  # fmt: skip
# Strong oxidisers that leave cold or neutral KI-starch white: false negatives.
SILENT_OXIDISERS = ("perchloric acid", "ammonium nitrate")


def shows(name, paper, sample):
    response = row(name).papers.get((paper, sample))
    return response.shows if response else frozenset()


@pytest.mark.parametrize(
    ("names", "paper", "must", "must_not"),
    [
        check(f"{CHEMISTRY}: acids redden wet paper", ACIDS, "ph", "acid", "base"),
        check(f"{CHEMISTRY}: amines turn it blue", BASES, "ph", "base", "acid"),
        check(f"{CHEMISTRY}: halogens bleach it", BLEACHERS, "ph", "bleached", "base"),
        check(f"{CHEMISTRY}: no ions, no colour", NEUTRAL, "ph", "neutral", "acid"),
        check(f"{CHEMISTRY}: nor the other", NEUTRAL, "ph", "neutral", "base"),
        check(
            "supplier text, chemistry: these free iodine",
            OXIDISERS,
            "ki_starch",
            "positive",
            None,
        ),
        check(
            f"{CHEMISTRY}: these do not",
            (*NEUTRAL, *BASES, "hydrogen chloride", "SO2", "H2S", "phosgene"),
            "ki_starch",
            "no_change",
            "positive",
        ),
        check(
            "WHO 1984 principle: fluoride takes the zirconium",
            ("hydrogen fluoride", "fluorine"),
            "fluoride",
            "changed",
            "no_change",
        ),
        check(
            f"{CHEMISTRY}: nothing else holds fluoride",
            (*NEUTRAL, *BASES, "hydrogen chloride", "SO2", "H2S", "phosgene"),
            "fluoride",
            "no_change",
            "changed",
        ),
    ],
)
def test_what_wet_paper_shows_in_the_vapour(names, paper, must, must_not):
    for name in names:
        assert must in shows(name, paper, "vapour"), name
        assert must_not not in shows(name, paper, "vapour"), name


@pytest.mark.parametrize("name", SILENT_OXIDISERS)
def test_a_white_strip_does_not_clear_a_strong_oxidiser(name):
    # common practice, chemistry: cold perchlorate and neutral nitrate free no iodine
    white = PaperSeen(paper="ki_starch", sample="liquid")

    assert "no_change" in shows(name, "ki_starch", "liquid")
    assert weigh(name, white).weight != "contradicted"


def test_perchloric_acid_is_an_acid_whose_vapour_papers_may_miss():
    # common practice, chemistry
    liquid = PaperSeen(paper="ph", sample="liquid", low=Decimal(1), high=Decimal(1))
    base = PaperSeen(paper="ph", sample="liquid", low=Decimal(12), high=Decimal(12))

    assert weigh("perchloric acid", liquid).weight == "not_excluded"
    assert weigh("perchloric acid", base).weight == "contradicted"
    assert weigh("perchloric acid", ph(7)).weight != "contradicted"


def test_a_fluoride_paper_does_not_decide_where_an_oxidiser_bleaches_it():
    # common practice, chemistry: oxidisers destroy the dye
    assert weigh("chlorine", WHITE, BLUE, FLUORIDE).weight == "not_excluded"
    assert weigh("hydrogen fluoride", FLUORIDE, BLUE).weight == "not_excluded"
