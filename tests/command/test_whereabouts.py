"""Where everyone is, and who is clean: from the log and from what was written down."""

from datetime import timedelta

import pytest

from command.plan import fold
from command.whereabouts import Clean, Crew, clean, everyone, not_in
from screening.worksheet import load_json, parse_worksheet
from tests.command.plans import record
from tests.engine.documents import (
    START,
    as_bytes,
    enter,
    leave,
    meter,
    moment,
    ph,
    team,
    worksheet,
)

CREWS = (
    Crew(id="entry-1", name="Entry 1", members=("Alder", "Birch")),
    Crew(id="backup", name="Backup", members=()),
)
TEAMS = [team(), team("backup", role="backup")]


def at(minutes):
    return START + timedelta(minutes=minutes)


def log_of(*lines):
    document = worksheet(*lines, teams=TEAMS)
    return parse_worksheet(load_json(as_bytes(document))).log


def moved(minute, where, *who, **more):
    says = {"who": list(who), "where": where, **more}
    return record("whereabouts", says, at=at(minute))


def through(minute, *who):
    says = {"who": list(who), "method": "gross"}
    return record("decon_line", says, at=at(minute))


def check(minute, outcome, who="Alder"):
    says = {"who": who, "outcome": outcome, "means": "paper", "showed": "pH 7"}
    if outcome == "waived":
        says = {"who": who, "outcome": outcome, "why": "Never left the dock"}
    return record("decon_check", says, at=at(minute))


def of(name, lines=(), records=(), minute=60):
    people = everyone(CREWS, log_of(*lines), fold(records), at(minute))
    return next(person for person in people if person.name == name)


def spells(person):
    return [(stay.where, stay.place) for stay in person.stays]


IN_AND_OUT = (enter(1, place="dock"), leave(20))


def test_who_is_in_a_team_is_in_the_cold_zone_until_it_goes_in():
    assert of("Alder").where == "cold"
    assert of("Alder").is_in


def test_going_in_is_hot_and_coming_out_is_decon():
    assert of("Alder", IN_AND_OUT, minute=10).where == "hot"
    assert of("Birch", IN_AND_OUT, minute=21).where == "decon"
    assert not of("Birch", IN_AND_OUT).is_in


def test_a_first_reading_puts_a_team_in_as_the_engine_has_it():
    person = of("Alder", (meter(2, 0, 20.9),), minute=3)

    assert person.where == "hot"


def test_a_reading_after_coming_out_brings_nobody_back_in():
    person = of("Alder", (*IN_AND_OUT, ph(25, 7)))

    assert person.where == "decon"


def test_who_came_out_before_the_team_stays_out():
    lines = (enter(1), meter(9, 0, 20.9, place="dock"), leave(20))
    records = [moved(5, "medical", "Alder")]

    assert of("Alder", lines, records).where == "medical"
    assert of("Birch", lines, records).where == "decon"


def test_an_exit_of_a_team_that_never_went_in_moves_nobody():
    assert of("Alder", (leave(20),)).where == "cold"


def test_the_places_inside_are_spells_of_their_own():
    lines = (enter(1, place="dock"), ph(3, 7), ph(5, 7), meter(9, 0, 20.9), leave(20))

    assert spells(of("Alder", lines)) == [
        ("hot", "dock"),
        ("hot", "tank room"),
        ("decon", ""),
    ]


def test_a_team_in_which_nobody_is_named_counts_as_one():
    lines = (enter(1, team="backup", place="dock"),)
    people = everyone(CREWS, log_of(*lines), fold([]), at(5))

    assert [person.name for person in not_in(people)] == ["Backup, nobody named"]


def test_what_is_written_down_moves_people_whatever_team_they_are_in():
    records = [moved(30, "medical", "Birch"), moved(5, "warm", "Driver", post="Gate 2")]

    assert of("Birch", IN_AND_OUT, records).where == "medical"
    assert of("Alder", IN_AND_OUT, records).where == "decon"
    driver = of("Driver", IN_AND_OUT, records)
    assert (driver.where, driver.place) == ("warm", "Gate 2")


def test_one_person_typed_in_two_ways_is_one():
    records = [moved(30, "cold", " ALDER")]

    assert of("Alder", IN_AND_OUT, records).where == "cold"


def test_what_lies_later_is_not_known_yet():
    assert of("Alder", IN_AND_OUT, [moved(30, "cold", "Alder")], 25).where == "decon"


def test_a_check_in_does_not_take_anybody_out_of_the_line():
    here = record(
        "check_in",
        {"name": "Alder", "where": "cold", "arrived": moment(30)},
        item="a",
        at=at(30),
    )

    assert of("Alder", IN_AND_OUT, [here]).where == "decon"
    assert of("Alder", (), [here]).where == "cold"


@pytest.mark.parametrize(
    ("lines", "records", "state"),
    [
        pytest.param((), [], Clean.NOT_NEEDED, id="never in"),
        pytest.param((enter(1),), [], Clean.IN_HOT, id="inside"),
        pytest.param(IN_AND_OUT, [], Clean.TO_COME, id="out"),
        pytest.param(IN_AND_OUT, [through(22, "Alder")], Clean.NOT_CHECKED, id="washed"),
        pytest.param(
            IN_AND_OUT, [through(22, "Birch")], Clean.TO_COME, id="another was washed"
        ),
        pytest.param(
            IN_AND_OUT, [through(22, "Alder"), check(25, "nothing_found")],
            Clean.NOTHING_FOUND, id="checked",
        ),
        pytest.param(
            IN_AND_OUT, [through(22, "Alder"), check(25, "found")], Clean.FOUND,
            id="something found",
        ),
        pytest.param(
            IN_AND_OUT, [check(25, "found"), through(30, "Alder")], Clean.NOT_CHECKED,
            id="washed again",
        ),
        pytest.param(
            IN_AND_OUT,
            [check(25, "found"), through(30, "Alder"), check(33, "nothing_found")],
            Clean.NOTHING_FOUND, id="washed again and checked",
        ),
        pytest.param(
            IN_AND_OUT, [check(25, "nothing_found"), check(26, "found")], Clean.FOUND,
            id="the last check counts",
        ),
        pytest.param(IN_AND_OUT, [check(25, "waived")], Clean.WAIVED, id="waived"),
        pytest.param(
            IN_AND_OUT, [check(10, "nothing_found")], Clean.TO_COME,
            id="a check of before coming out",
        ),
        pytest.param(
            (*IN_AND_OUT, enter(30), leave(40)), [check(25, "nothing_found")],
            Clean.TO_COME, id="in again since the check",
        ),
        pytest.param(
            (), [moved(5, "warm", "Alder")], Clean.TO_COME, id="in the warm zone"
        ),
        pytest.param(
            (), [moved(5, "warm", "Alder"), check(9, "nothing_found")],
            Clean.NOTHING_FOUND, id="warm zone, checked",
        ),
    ],
)  # fmt: skip
def test_nobody_is_clean_until_a_check_says_so(lines, records, state):
    person = of("Alder", lines, records)

    assert clean(person, fold(records), at(60)) is state


def test_these_records_begin_no_plan():
    records = [moved(5, "warm", "Alder"), through(6, "Alder"), check(7, "waived")]

    assert not fold(records).begun
