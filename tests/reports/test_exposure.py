"""One person's exposure record: what they met, for how long, and nobody else's name."""

import sys
from datetime import timedelta
from decimal import Decimal

import pytest

from command.plan import fold
from command.whereabouts import Clean, Crew, everyone
from reports.exposure import Find, Incident, exposure_record, needs_record
from screening.ensembles import Ensemble
from screening.state import replay
from screening.trust import standing_log
from screening.worksheet import load_json, parse_worksheet
from tests.command.plans import record
from tests.engine.documents import (
    START,
    as_bytes,
    bump,
    change,
    dose,
    enter,
    leave,
    member,
    meter,
    ph,
    rate,
    team,
    worksheet,
)

CREWS = (
    Crew(id="entry-1", name="Entry 1", members=("Alder", "Mary Birch")),
    Crew(id="entry-2", name="Entry 2", members=("Cedar",)),
)
TEAMS = [
    team(members=[member("a"), member("b")]),
    team("entry-2", members=[member("c")]),
]
LISTED = [
    {
        "id": "meter-1", "kind": "gas_meter", "calibration_due": "2026-06-01",
        "last_bump_test": "2026-03-04T08:00:00-05:00",
    },
    {"id": "ph-lot-7", "kind": "ph_paper", "calibration_due": "2026-01-01"},
]  # fmt: skip


def at(minutes):
    return START + timedelta(minutes=minutes)


def incident(*lines, records=(), finds=(), minute=60, **setup):
    document = worksheet(*lines, teams=TEAMS, instruments=LISTED, **setup)
    sheet = parse_worksheet(load_json(as_bytes(document)))
    state, plan = replay(sheet.log, sheet.context), fold(records)
    people = everyone(CREWS, standing_log(state), plan, at(minute))
    return Incident(
        context=sheet.context,
        state=state,
        plan=plan,
        people=people,
        finds=tuple(finds),
        teams={"entry-1": "Entry 1", "entry-2": "Entry 2"},
        members={
            "entry-1": {"a": "Alder", "b": "Mary Birch"},
            "entry-2": {"c": "Cedar"},
        },
        instruments={"meter-1": "Four-gas meter 1"},
        opened_at=START,
        at=at(minute),
    )


def of(name, *lines, **given):
    whole = incident(*lines, **given)
    person = next(each for each in whole.people if each.name == name)
    return exposure_record(whole, person)


def found(minute, hazard="acid_vapour", place="tank room", because="pH 2"):
    return Find(at=at(minute), hazard=hazard, place=place, because=because, source="")


IN_AND_OUT = (enter(1), leave(21))


def test_the_time_inside_is_from_going_in_to_coming_out():
    record_ = of("Alder", *IN_AND_OUT, enter(30), leave(35))

    assert record_.inside == timedelta(minutes=25)
    assert [spell.zone for spell in record_.spells] == [
        "Hot zone", "Decon", "Hot zone", "Decon",
    ]  # fmt: skip


def test_what_was_read_there_is_listed_with_its_method_and_how_far_it_is_trusted():
    lines = (
        enter(1),
        meter(3, 0, 20.9, instrument="meter-1"),
        meter(4, 0, 20.9),
        ph(5, 7, instrument="ph-lot-7"),
        ph(6, 7),
        leave(21),
    )

    readings = of("Alder", *lines).spells[0].readings

    assert [(one.method, one.check) for one in readings] == [
        ("Gas meter", "Four-gas meter 1: nothing known against it"),
        ("Gas meter", "meter not in the register: unverified"),
        ("pH paper", "ph-lot-7: out of date or failed; quiet proves nothing"),
        ("pH paper", "lot not noted"),
    ]
    assert "LEL 0 %" in readings[0].words


def test_a_failed_bump_test_afterwards_shows_at_the_reading():
    lines = (
        enter(1),
        meter(3, 0, 20.9, instrument="meter-1"),
        leave(21),
        bump(25, "meter-1", False),
    )

    (reading,) = of("Alder", *lines).spells[0].readings

    assert "out of date or failed" in reading.check


def test_another_teams_reading_at_the_same_place_and_time_counts():
    lines = (enter(1), ph(5, 2, team="entry-2"), ph(30, 2, team="entry-2"), leave(21))

    readings = of("Alder", *lines).spells[0].readings

    assert [one.at for one in readings] == [at(5)]


def test_where_nothing_was_read_there_are_no_readings_and_the_spell_stays():
    (inside, _) = of("Alder", *IN_AND_OUT).spells

    assert inside.readings == ()
    assert inside.place == "tank room"


def test_what_was_found_there_is_listed_whenever_it_was_found():
    finds = [
        found(0), found(10), found(40), found(10, place="dock"),
        found(10, hazard="low_air"), found(10, hazard="accountability"),
    ]  # fmt: skip

    record_ = of("Alder", *IN_AND_OUT, finds=finds)

    assert [one.when for one in record_.spells[0].found] == [
        "before", "while there", "later",
    ]  # fmt: skip
    assert record_.agents == ("Acid vapour",)


def test_one_find_of_two_teams_is_said_once():
    record_ = of("Alder", *IN_AND_OUT, finds=[found(10), found(10)])

    assert len(record_.spells[0].found) == 1


TWICE = (*IN_AND_OUT, enter(30), leave(45))


@pytest.mark.parametrize(
    ("minute", "spell", "when"),
    [(0, 0, "before"), (10, 0, "while there"), (25, 1, "before"),
     (35, 1, "while there"), (50, 1, "later")],
)  # fmt: skip
def test_a_find_at_a_place_where_somebody_was_twice_is_listed_once(minute, spell, when):
    record_ = of("Alder", *TWICE, finds=[found(minute), found(minute)])

    inside = [each for each in record_.spells if each.place]
    assert [len(each.found) for each in inside] == [spell == 0, spell == 1]
    assert inside[spell].found[0].when == when
    assert inside[1 - spell].elsewhere == ("Acid vapour",)
    assert record_.agents == ("Acid vapour",)


@pytest.mark.parametrize(
    ("name", "worn"),
    [("Alder", Ensemble.LEVEL_B), ("Mary Birch", Ensemble.LEVEL_C)],
)
def test_who_wears_something_else_has_that_in_the_own_record(monkeypatch, name, worn):
    people = [member("a"), {**member("b"), "ensemble": "level_c"}]
    mixed = team(ensemble="level_b", members=people)
    monkeypatch.setattr(sys.modules[__name__], "TEAMS", [mixed, TEAMS[1]])

    assert of(name, enter(1), leave(21)).spells[0].worn == worn.label


def test_what_was_worn_follows_the_changes():
    lines = (change(0, "level_b"), enter(1), change(5, "level_a"), leave(21))

    worn = of("Alder", *lines).spells[0].worn

    assert worn == f"{Ensemble.LEVEL_B.label}, then {Ensemble.LEVEL_A.label}"


# --- dose ------------------------------------------------------------------------------


def test_a_persons_dose_is_their_own_or_the_teams_never_a_colleagues():
    lines = (
        enter(1),
        dose(5, 1, member="a"),
        dose(6, 9, member="b"),
        dose(7, 2),
        leave(21),
    )

    mine, hers = of("Alder", *lines), of("Mary Birch", *lines)

    assert [one.shown for one in mine.dose.readings] == ["1 rem", "2 rem"]
    assert mine.dose.total == Decimal(2)
    assert hers.dose.total == Decimal(9)
    assert not any("9 rem" in one.words for one in mine.spells[0].readings)


def test_without_a_dosimeter_the_dose_is_unknown():
    assert "unknown" in of("Alder", *IN_AND_OUT).dose.words


def test_rates_give_an_estimate():
    record_ = of("Alder", enter(1), rate(1, 60, "rem/h"), leave(11))

    assert record_.dose.total == Decimal(10)


def test_another_teams_dose_is_not_theirs():
    lines = (enter(1), dose(5, 3, team="entry-2"), leave(21))

    assert of("Alder", *lines).dose.total is None


# --- what was written down -------------------------------------------------------------


def test_decon_notes_and_notice_are_those_of_the_person():
    records = [
        record(
            "decon_line",
            {"who": ["Alder", "Mary Birch"], "method": "technical", "agent": "soap"},
            at=at(22),
        ),
        record(
            "decon_check",
            {"who": "Alder", "outcome": "nothing_found", "means": "paper",
             "showed": "pH 7 on the gloves"},
            at=at(23),
        ),
        record("exposure_note", {"who": ["Alder"], "what": "breach", "words": "Tear"},
               at=at(24)),
        record("exposure_note", {"who": ["Mary Birch"], "what": "symptoms"}, at=at(24)),
        record("notice", {"who": ["Alder"], "told": "Acid", "by": "Dana Holt"},
               at=at(25)),
    ]  # fmt: skip

    record_ = of("Alder", *IN_AND_OUT, records=records)

    assert [line.title for line in record_.decon] == [
        "Through decon, technical", "Nothing found",
    ]  # fmt: skip
    assert record_.clean is Clean.NOTHING_FOUND
    assert [(line.title, line.words) for line in record_.noted] == [
        ("Breach of the clothing", "agent unknown; Tear")
    ]
    assert [line.words for line in record_.notices] == ["Acid"]


def test_the_names_of_others_are_taken_out_of_every_text():
    notes = {
        "who": ["Alder"],
        "what": "contact",
        "words": "MARY  BIRCH and Cedar saw it",
    }
    records = [
        record("exposure_note", notes, at=at(22)),
        record("notice", {"who": ["Alder"], "told": "As Mary Birch was", "by": "D. Holt"},
               at=at(23)),
    ]  # fmt: skip
    finds = [found(5, because="Cedar read pH 2")]
    lines = (enter(1), dose(6, 9, member="b"), leave(21))

    text = repr(of("Alder", *lines, records=records, finds=finds)).casefold()

    assert "birch" not in text
    assert "cedar" not in text
    assert "another person and another person saw it" in text


def test_a_word_that_only_holds_a_name_stays():
    notes = {"who": ["Alder"], "what": "contact", "words": "cedarwood smell"}
    records = [record("exposure_note", notes, at=at(22))]

    assert "cedarwood" in of("Alder", *IN_AND_OUT, records=records).noted[0].words


@pytest.mark.parametrize(
    ("lines", "records", "needed"),
    [
        pytest.param((), [], False, id="never in"),
        pytest.param(IN_AND_OUT, [], True, id="in the hot zone"),
        pytest.param(
            (), [record("whereabouts", {"who": ["Alder"], "where": "warm"})], True,
            id="in the warm zone",
        ),
        pytest.param(
            (),
            [record("whereabouts",
                    {"who": ["Alder"], "where": "cold", "post": "North gate"})],
            True, id="at a perimeter post",
        ),
        pytest.param(
            (), [record("whereabouts", {"who": ["Alder"], "where": "cold"})], False,
            id="in the cold zone",
        ),
        pytest.param(
            (), [record("exposure_note", {"who": ["Alder"], "what": "symptoms"})], True,
            id="noted in the cold zone",
        ),
    ],
)  # fmt: skip
def test_who_has_a_record(lines, records, needed):
    whole = incident(*lines, records=records)
    person = next(each for each in whole.people if each.name == "Alder")

    assert needs_record(person, whole.plan) is needed


def test_a_post_is_a_spell_with_what_was_read_at_it():
    here = record(
        "whereabouts",
        {"who": ["Driver"], "where": "cold", "post": "North gate"},
        at=at(2),
    )
    whole = incident(ph(5, 7, place="north gate"), records=[here])
    person = next(each for each in whole.people if each.name == "Driver")

    (spell,) = exposure_record(whole, person).spells

    assert spell.place == "North gate"
    assert len(spell.readings) == 1


@pytest.mark.parametrize(
    ("given", "watched"),
    [
        ({"finds": [found(5, hazard="fluoride_vapour")]}, True),
        ({"suspects": ["hydrogen fluoride"]}, True),
        ({"finds": [found(5)]}, False),
    ],
)
def test_fluoride_asks_to_watch_for_three_days(given, watched):
    """29 CFR 1910.146, note to the definition of IDLH: 12 to 72 hours."""
    until = of("Alder", *IN_AND_OUT, **given).watch_until

    assert until == (at(21) + timedelta(hours=72) if watched else None)


def test_it_is_kept_for_thirty_years():
    """29 CFR 1910.1020(d)(1)(ii)."""
    assert of("Alder", *IN_AND_OUT).keep_until.year == START.year + 30
