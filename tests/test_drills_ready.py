"""The five ready drills: the verdict at each inject, worked out by hand from the rules.

The numbers in the remarks are those of the specification's table of rules. What is to be
decided is the verdict of the team that the inject is about, with all that stands then.
"""

import re
from pathlib import Path

import pytest

from review.scoring import LOOKS, verdicts
from review.scripts import read_script
from screening.worksheet import load_json

FOLDER = Path(__file__).resolve().parent.parent / "demo_fixtures" / "drills"

# Entry: the verdict, and the rules that give it, strictest first.
BY_HAND = {
    "acid_that_is_fluoride": {
        "a03": ("continue", ()),  # quiet meter at the rear door
        "a04": (
            "continue",
            (),
        ),  # 0.01 mrem/h at a background of 0.01: under three times
        "a05": (
            "continue",
            (),
        ),  # dry strip at 22 % humidity: finds nothing, tells nothing
        "a06": ("caution", (2,)),  # pH 5 is between 4 and 5.5
        "a07": ("caution", (2,)),  # fluoride strip dry: tells nothing, pH 5 stands
        "a08": ("stop", (1,)),  # pH 2 is at or below 4, level B is not vapour-tight
        "a09": ("stop", (1,)),  # no oxidiser there; the acid stands
        "a10": ("withdraw", (31,)),  # fluoride and acid at one place, not level A
        "a11": ("withdraw", (31,)),  # a quiet meter ends nothing of that
    },
    "ammonia_near_its_flammable_range": {
        "b03": ("caution", (15,)),  # 210 ppm ammonia on SCBA, under the IDLH of 300
        "b04": ("caution", (3,)),  # pH 11 is over 9; level A is vapour-tight
        "b05": ("caution", (3, 15)),  # background: what stood stands
        "b06": ("caution", (11, 15)),  # LEL 2; ammonia over range, vapour-tight
        "b07": ("caution", (11, 15)),  # LEL 4
        "b08": ("caution", (11, 28)),  # LEL 9 is under 10; oxygen is 0.5 lower
        "b09": ("withdraw", (10,)),  # LEL 12
        "b10": ("withdraw", (10,)),  # every team, every place, until cleared
    },
    "oxidiser_on_a_pallet": {
        "c03": ("continue", ()),
        "c04": ("continue", ()),
        "c05": ("continue", ()),  # pH 6 in the air
        "c06": ("continue", ()),  # no oxidiser in the air: says nothing of the pool
        "c07": ("caution", (4,)),  # pH 4 of the liquid, level B
        "c08": ("caution", (4,)),  # no fluoride in it
        "c09": ("caution", (4, 7)),  # an oxidising liquid: caution, keep fuels away
        "c10": ("stop", (17,)),  # 7 K over its surroundings, over 10 Δ°F; no rise known
        "c11": ("withdraw", (18,)),  # 3 K more, 5.4 Δ°F, over 4 Δ°F
        "c12": ("withdraw", (18,)),  # oxygen 21.2 is no 0.5 over 20.9; the rise stands
    },
    "gas_hidden_by_low_oxygen": {
        "d03": ("continue", ()),
        "d04": ("continue", ()),
        "d05": ("continue", ()),
        "d06": ("caution", (28,)),  # oxygen 0.6 under 20.9
        "d07": ("caution", (11, 14)),  # LEL 2; oxygen 19.2 is under 19.5, on SCBA
        "d08": ("caution", (12, 14)),  # LEL 0 at 12.4 % oxygen is not known
        "d09": ("withdraw", (10,)),  # LEL 14 counts all the same
        "d10": (
            "withdraw",
            (10,),
        ),  # that it falls with the oxygen is no fall of the gas
    },
    "dose_that_rises": {
        "e03": ("continue", ()),
        "e04": ("continue", ()),
        "e05": ("continue", ()),  # 0.012 mrem/h is under three times 0.01
        "e06": ("caution", (20, 23)),  # 0.05 is over it; 100,000 h to 5 rem
        "e07": ("caution", (20, 23)),  # 12 mrem/h: the hot line is here
        "e08": ("caution", (20, 23)),  # 2 rem/h: 2.5 h to 5 rem
        "e09": ("stop", (22,)),  # 11 rem/h is over 10; 27 min are over 5 min
        "e10": ("stop", (22, 23)),  # 320 rem/h: 41 s left, under 5 min; 1.4 rem so far
        "e11": ("withdraw", (21,)),  # 5.2 rem is over 5
        "e12": ("withdraw", (21,)),  # a dose cannot be cleared
    },
}


def script_named(name):
    return read_script(load_json((FOLDER / f"{name}.json").read_bytes()))


def test_these_five_are_there():
    assert {path.stem for path in FOLDER.glob("*.json")} == set(BY_HAND)


@pytest.mark.parametrize("name", BY_HAND)
def test_the_crew_is_asked_after_each_reading_and_the_engine_says_what_is_expected(
    name,
):
    script = script_named(name)
    said = verdicts(script.worksheet.context, script.worksheet.log)

    assert {entry: said[entry].action.word for entry in sorted(script.asks)} == {
        entry: word for entry, (word, _) in BY_HAND[name].items()
    }


@pytest.mark.parametrize("name", BY_HAND)
def test_the_rules_that_are_expected_are_among_the_reasons(name):
    script = script_named(name)
    said = verdicts(script.worksheet.context, script.worksheet.log)

    for entry, (_, rules) in BY_HAND[name].items():
        numbers = {reason.number for reason in said[entry].reasons}
        assert numbers >= set(rules), entry
        assert bool(numbers) == bool(rules), entry
        assert all(reason.source and reason.title for reason in said[entry].reasons)


@pytest.mark.parametrize("name", BY_HAND)
def test_each_teaches_something_and_names_everybody(name):
    script = script_named(name)
    context = script.worksheet.context
    everyone = {
        *context.teams,
        *(f"{team.id}/{m.id}" for team in context.teams.values() for m in team.members),
    }

    assert len(script.goals) >= 3
    assert script.briefing
    assert "invented" in script.place
    assert set(script.names) == everyone


def test_each_is_of_another_hazard():
    last = {
        name: tuple(word for word, _ in steps.values())
        for name, steps in BY_HAND.items()
    }
    rules = {name: list(steps.values())[-1][1] for name, steps in BY_HAND.items()}
    assert all("withdraw" in words for words in last.values())
    # Two end on rule 10: one climbs with the oxygen there, one is hidden by its lack.
    assert len(set(rules.values())) == 4
    assert {"d08": (12, 14)}.items() <= {
        entry: found
        for entry, (_, found) in BY_HAND["gas_hidden_by_low_oxygen"].items()
    }.items()


def test_every_check_of_the_engine_can_be_named_as_the_next():
    script = script_named("acid_that_is_fluoride")
    said = verdicts(script.worksheet.context, script.worksheet.log)
    looks = {hazard for hazards in LOOKS.values() for hazard in hazards}
    assert all(verdict.open <= looks for verdict in said.values())


def test_no_ready_drill_says_what_no_page_says():
    for path in FOLDER.glob("*.json"):
        assert not re.search(r"\bsafe\b", path.read_text("utf-8"))
