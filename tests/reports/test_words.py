"""Each kind of log entry is said in one plain line, figures as they were entered."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from reports.words import KIND_LABELS, describe
from screening import readings as r

AT = datetime(2026, 3, 4, 20, 2, tzinfo=UTC)


def entry(cls, **fields):
    return cls(id="x", at=AT, team="entry-1", **fields)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (
            entry(
                r.PhPaper,
                sample="vapour",
                moistened=True,
                low=Decimal(2),
                high=Decimal(2),
            ),
            "pH 2 on wet paper in the air",
        ),
        (
            entry(
                r.PhPaper,
                sample="vapour",
                low=Decimal(0),
                high=Decimal(3),
                band="red",
                carried_on="hook",
            ),
            "pH 0–3 (red) on dry paper in the air, held on a hook",
        ),
        (
            entry(r.PhPaper, sample="liquid", bleached=True),
            "pH paper bleached white, paper in the liquid",
        ),
        (
            entry(r.KiStarchPaper, sample="liquid", result="no_change"),
            "KI-starch paper in the liquid: no change, edge not looked at",
        ),
        (
            entry(r.FluoridePaper, sample="vapour", moistened=True, result="changed"),
            "Fluoride paper wet, in the air: changed",
        ),
        (
            entry(
                r.GasMeter,
                lel_percent=Decimal(12),
                oxygen_percent=Decimal("20.9"),
                co_ppm=Decimal(0),
                h2s_ppm=Decimal(0),
                height="floor",
            ),
            "LEL 12 %, O2 20.9 %, CO 0 ppm, H2S 0 ppm at floor height",
        ),
        (
            entry(
                r.GasMeter,
                gases=(("ammonia", Decimal(35)),),
                over_range=frozenset({"lel", "chlorine"}),
            ),
            "LEL over range, ammonia 35 ppm, chlorine over range",
        ),
        (
            entry(
                r.ThermalImager,
                target="closed_container",
                container="Drum 6",
                surface_degf=Decimal("116.6"),
                shiny=True,
                shown={"surface_degf": "47 °C"},
            ),
            "Drum 6, closed container: 47 °C, shiny surface",
        ),
        (
            entry(
                r.Dosimeter,
                dose_rate_rem_per_hour=Decimal("0.012"),
                alarm=False,
                distance_m=Decimal(2),
            ),
            "Dose rate 0.012 rem/h, no alarm, 2 m from the source",
        ),
        (
            entry(r.AirCheck, member="a", pressure_psi=Decimal(2200)),
            "Air of A. Brand: 2200 psi",
        ),
        (
            entry(r.Par, unanswered=("a", "b")),
            "PAR: not heard or seen: A. Brand, b",
        ),
        (
            entry(r.Clear, hazard="acid_vapour", by="Chief", reason="aired"),
            "Clear of acid vapour decided by Chief: aired",
        ),
        (
            entry(r.Strike, entry="o1", by="Chief", reason="misread"),
            "Put right by Chief: entry 7: misread",
        ),
    ],
)
def test_an_entry_is_said_in_one_line(said, words):
    assert describe(said, {"a": "A. Brand", "o1": "entry 7"}) == words


def test_every_kind_of_entry_has_a_label_and_a_writer():
    from reports.words import _WRITERS

    assert set(KIND_LABELS) == set(r.KINDS)
    assert set(_WRITERS) == set(r.KINDS)


def test_a_quiet_zero_is_said_and_never_left_out():
    said = describe(entry(r.GasMeter, lel_percent=Decimal(0)))

    assert said == "LEL 0 %"
