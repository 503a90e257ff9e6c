"""Many incidents together, small enough to count by hand."""

from review.across import SERIES, Kept, Stop, groups, never_looked, tallies
from review.measures import Outcome
from screening.verdicts import Action


def stop(outcome=Outcome.ACTED_ON, *, rule=(1, "acid"), place="dock", **facts):
    number, name = rule
    return Stop(
        number=number,
        rule=name,
        action=facts.pop("action", Action.STOP),
        place=place,
        heard_after=facts.pop("heard", 10.0),
        acted_after=facts.pop("acted", 60.0),
        inside=facts.pop("inside", True),
        outcome=outcome,
    )


def kept(year, *stops, never=(), **series):
    return Kept(
        year=year,
        series=dict.fromkeys(SERIES, ()) | series,
        never_looked=never,
        stops=stops,
    )


def test_by_year_every_case_counts_once_and_years_come_in_order():
    every = [
        kept(2025, to_heard=(5.0, None)),
        kept(2023, to_heard=(7.0,)),
        kept(2025, to_heard=(9.0,)),
    ]
    found = groups(every, "to_heard", "year")
    assert [(one.key, one.spread.cases, one.spread.missing) for one in found] == [
        ("2023", (7.0,), 0),
        ("2025", (5.0, 9.0), 1),
    ]


def test_by_rule_in_the_order_of_numbers_and_by_place_with_the_most_first():
    every = [
        kept(
            2025,
            stop(rule=(10, "lel"), place="Pit"),
            stop(rule=(2, "acid"), place="pit", heard=None),
            stop(rule=(2, "acid"), place="dock"),
        )
    ]
    by_rule = groups(every, "to_heard", "rule")
    assert [(one.key, one.spread.n, one.spread.missing) for one in by_rule] == [
        ("acid", 1, 1),
        ("lel", 1, 0),
    ]
    by_place = groups(every, "to_acted", "place")
    assert [(one.key, one.spread.n) for one in by_place] == [("pit", 2), ("dock", 1)]


def test_who_was_outside_had_nothing_to_act_on_but_heard_it():
    every = [kept(2025, stop(), stop(Outcome.STAYED_OUT, inside=False, acted=None))]
    assert groups(every, "to_heard", "rule")[0].spread.n == 2
    (found,) = groups(every, "to_acted", "rule")
    assert (found.spread.n, found.spread.missing) == (1, 0)
    assert tallies(every)[0].stayed_out == 1


def test_what_has_no_rule_comes_by_year():
    found = groups([kept(2024, par_gaps=(900.0,))], "par_gaps", "rule")
    assert [one.key for one in found] == ["2024"]


def test_a_rule_whose_stops_were_all_let_be_is_named():
    every = [
        kept(2024, stop(Outcome.LET_BE, rule=(17, "warm")), stop(Outcome.LIFTED)),
        kept(2025, stop(Outcome.LET_BE, rule=(17, "warm")), stop(), stop(heard=None)),
    ]
    acid, warm = tallies(every)
    assert (acid.said, acid.heard, acid.acted_on, acid.lifted) == (3, 2, 2, 1)
    assert (warm.said, warm.let_be) == (2, 2)
    assert [tally.rule for tally in (acid, warm) if tally.always_let_be] == ["warm"]
    assert acid.share(acid.lifted).words == "1 of 3"


def test_what_nobody_looked_for_is_counted_by_incident():
    every = [kept(2024, never=("toxic_gas", "gamma")), kept(2024, never=("gamma",))]
    found = [(hazard, share.words) for hazard, share in never_looked(every)]
    assert found == [("gamma", "2 of 2"), ("toxic_gas", "1 of 2")]
