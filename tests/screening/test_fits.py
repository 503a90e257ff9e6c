"""The evidence folded for reading: every substance once, with the reading that says so."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.evidence import evidence
from screening.fits import fold, reasons
from screening.statements import PaperSeen, SensorSeen
from screening.substances import SUBSTANCES
from tests.published.sources import row
from tests.screening.test_evidence import papers, sensors


def strip(ph, label, **more):
    value = Decimal(ph)
    return PaperSeen(
        paper="ph", sample="vapour", low=value, high=value, label=label, **more
    )


def quiet_lel(label, **more):
    return SensorSeen(sensor="lel", value=Decimal(0), label=label, **more)


def folded(*readings):
    return {group.weight: group for group in fold(evidence(readings))}


def names(group):
    return [n for line in group.lines for clause in line.clauses for n in clause.names]


def lines_of(group, name):
    return [
        (line.reading, clause.text)
        for line in group.lines
        for clause in line.clauses
        if name in clause.names
    ]


@given(st.lists(st.one_of(papers, sensors), max_size=6))
def test_every_substance_stands_in_the_group_of_its_weight_once(readings):
    weighed = evidence(readings)

    groups = {group.weight: group for group in fold(weighed)}

    for item in weighed:
        assert names(groups[item.weight]).count(item.substance.name) == 1
    assert sum(len(names(group)) for group in groups.values()) == len(SUBSTANCES)
    assert all(group.count == len(names(group)) for group in groups.values())


def test_substances_that_one_reading_speaks_against_stand_together():
    group = folded(strip(7, "pH 7, drum bay, 14:22"))["contradicted"]

    (line,) = group.lines
    assert line.reading == "pH 7, drum bay, 14:22"
    assert lines_of(group, "ammonia (anhydrous)") == [
        (
            "pH 7, drum bay, 14:22",
            "alone would read base; but little of it in the air may not turn the paper",
        )
    ]
    (clause,) = [c for c in line.clauses if "methylamine" in c.names]
    assert "ammonia (anhydrous)" in clause.names


def test_the_reading_that_speaks_against_most_is_the_one_that_is_named():
    once = PaperSeen(paper="fluoride", sample="vapour", label="fluoride no change")
    group = folded(once, strip(7, "pH 7"))["contradicted"]

    assert lines_of(group, "hydrogen fluoride")[0][0] == "pH 7"


def test_what_is_open_says_how_much_would_go_unseen():
    group = folded(quiet_lel("LEL % 0, drum bay, 14:05"))["not_excluded"]

    ((reading, text),) = lines_of(group, "ammonia (anhydrous)")
    assert reading == "LEL % 0, drum bay, 14:05"
    assert "1,500 ppm unseen, IDLH 300 ppm" in text


def test_what_no_reading_could_see_says_why_for_each_kind_of_reading_once():
    many = [quiet_lel(f"LEL % 0, drum bay, 14:{m:02}") for m in range(3)]
    group = folded(strip(7, "pH 7, drum bay, 14:00"), *many)["not_seen"]

    ((reading, text),) = lines_of(group, "iodine")
    assert reading == ""
    assert text == (
        "does not change it (pH 7, drum bay, 14:00); no flammable limit in the table "
        "(LEL % 0, drum bay, 14:00, and 2 more)"
    )


def test_a_substance_that_one_place_speaks_against_is_open_by_the_other():
    dry = strip(7, "pH 7, store room, 14:01", place="store room", moist=False)
    group = folded(strip(7, "pH 7, drum bay, 14:00", place="drum bay"), dry)[
        "not_excluded"
    ]

    ((reading, text),) = lines_of(group, "ammonia (anhydrous)")
    assert reading == "Store room: nothing read there could have shown"
    assert text == "contradicted elsewhere"


def test_without_a_reading_there_is_nothing_to_fold():
    groups = folded()

    assert groups["not_seen"].count == len(SUBSTANCES)
    assert groups["not_seen"].lines[0].clauses[0].text == "nothing was read"
    assert not groups["contradicted"].lines


@pytest.mark.parametrize("many", [1, 3])
def test_the_reasons_on_one_substance_are_each_given_once(many):
    readings = [strip(7, f"pH 7, drum bay, 14:{m:02}") for m in range(many)]
    readings.append(quiet_lel("LEL % 0, drum bay, 14:09"))
    (item,) = evidence(readings, [row("ammonia")])

    first, second = reasons(item)

    more = ", and 2 more" if many == 3 else ""
    assert first.startswith(f"pH 7, drum bay, 14:00{more}: alone would read base")
    assert second.startswith("LEL % 0, drum bay, 14:09: up to 1,500 ppm")


def test_a_long_log_folds_to_no_more_lines():
    short = folded(strip(7, "pH 7"), quiet_lel("LEL 0"))
    long = folded(
        *(strip(7, f"pH 7 no. {n}") for n in range(200)),
        *(quiet_lel(f"LEL 0 no. {n}") for n in range(200)),
    )

    for weight, group in short.items():
        assert len(long[weight].lines) == len(group.lines)


def test_what_decides_comes_first_among_the_reasons():
    readings = [quiet_lel("LEL 0"), strip(2, "pH 2")]
    (item,) = evidence(readings, [row("hydrogen chloride")])

    assert item.weight == "not_excluded"
    assert reasons(item)[0] == "pH 2: may read acid"
