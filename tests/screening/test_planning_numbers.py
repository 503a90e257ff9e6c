"""The plain arithmetic under the rules: displaced air, stay time, turn-around pressure."""

from decimal import Decimal

import pytest

from screening.planning_numbers import displaced_share, stay_seconds, turn_around_psi


@pytest.mark.parametrize(
    ("oxygen", "ambient", "percent"),
    [
        # 1.1 of 22 is a twentieth; 5 of 20 a quarter; by hand
        pytest.param("20.9", "22", "5", id="1.1 of 22"),
        pytest.param("15", "20", "25", id="5 of 20"),
        pytest.param("20.9", "20.9", "0", id="fresh air"),
        pytest.param("0", "20.9", "100", id="no air left"),
        pytest.param("25", "20", "-25", id="more oxygen than in fresh air"),
    ],
)
def test_displaced_share(oxygen, ambient, percent):
    assert displaced_share(Decimal(oxygen), Decimal(ambient)) == Decimal(percent)


def test_displaced_share_needs_air_to_begin_with():
    with pytest.raises(ValueError, match="above zero"):
        displaced_share(Decimal(10), Decimal(0))


@pytest.mark.parametrize(
    ("limit", "dose", "rate", "seconds"),
    [
        pytest.param("25", "1", "12", "7200", id="24 rem at 12 an hour: two hours"),
        pytest.param("5", "0", "0.01", "1800000", id="500 hours at the hot line"),
        pytest.param("25", "24.2", "9.6", "300", id="0.8 rem at 9.6: five minutes"),
        pytest.param("7", "0", "7.7", "3272.727272727272727272727273", id="uneven"),
        pytest.param("5", "5", "1", "0", id="at the limit"),
        pytest.param("5", "6", "1", "0", id="past it"),
        pytest.param("5", "6", "0", "0", id="past it, no rate"),
        pytest.param("5", "0", "0", None, id="no rate, no end"),
    ],
)
def test_stay_seconds(limit, dose, rate, seconds):
    found = stay_seconds(Decimal(limit), Decimal(dose), Decimal(rate))

    assert found == (None if seconds is None else Decimal(seconds))


@pytest.mark.parametrize(("rate", "seconds"), [(6, 600), (45, 80), (48, 75)])
def test_a_stay_that_comes_out_even_is_even(rate, seconds):
    # Divided first, a sixth of an hour would be a hair off: an edge would not be one.
    assert stay_seconds(Decimal(1), Decimal(0), Decimal(rate)) == seconds


@pytest.mark.parametrize(
    ("start", "reserve", "way_in", "turn"),
    [
        pytest.param(4400, 1485, 900, "2385", id="reserve and the way in"),
        pytest.param(4400, 1485, 1, "1486", id="a short way"),
        pytest.param(4400, 1485, 3000, "4400", id="never above the start"),
        pytest.param(4400, 1485, None, "2942.5", id="not known: half is kept"),
        pytest.param(4400, 1485, 0, "2942.5", id="read at the door: not known"),
        pytest.param(4400, 1485, -50, "2942.5", id="a gauge that rose: not known"),
    ],
)
def test_turn_around_psi(start, reserve, way_in, turn):
    used = None if way_in is None else Decimal(way_in)

    assert turn_around_psi(Decimal(start), Decimal(reserve), used) == Decimal(turn)
