"""What papers and lamps can show, by the published behaviour of each."""

from decimal import Decimal

import pytest

from screening.evidence import PaperSeen, SensorSeen, evidence
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


def test_a_fluoride_paper_does_not_decide_where_an_oxidiser_bleaches_it():
    # common practice, chemistry: oxidisers destroy the dye
    assert weigh("chlorine", WHITE, BLUE, FLUORIDE).weight == "not_excluded"
    assert weigh("hydrogen fluoride", FLUORIDE, BLUE).weight == "not_excluded"
