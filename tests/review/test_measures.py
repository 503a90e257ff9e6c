"""Small logs whose figures can be counted on the fingers."""

import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import product

import pytest

from review.measures import (
    ACKNOWLEDGED,
    ACTED_ON,
    CLEARED,
    RAISED,
    FindingRow,
    LogRow,
    Outcome,
    Turn,
    looked_for,
    measure,
    stays_of,
)
from screening.coverage import COVERED
from screening.looks import LookFacts, looks_of
from screening.stays import stays
from screening.verdicts import Action, Hazard
from screening.worksheet import load_json, parse_context, parse_entry

START = datetime(2026, 3, 4, 19, 0, tzinfo=UTC)
CONTEXT = parse_context(
    {
        "format": "hazmat-incident-worksheet",
        "version": 1,
        "incident": {"name": "Yard", "mission": "other"},
        "teams": [
            {
                "id": "entry-1",
                "role": "entry",
                "ensemble": "level_b",
                "members": [{"id": "a"}],
            }
        ],
    }
)
END = START + timedelta(hours=2)


def at(seconds):
    return START + timedelta(seconds=seconds)


def row(seconds, kind, *, key="", late=0, **facts):
    return LogRow(
        key=key or f"{kind}-{seconds}",
        kind=kind,
        at=at(seconds),
        recorded_at=at(seconds + late),
        team=facts.pop("team", "entry-1"),
        **facts,
    )


def found(entry, said, *turns, action=Action.STOP, **facts):
    return FindingRow(
        entry=entry,
        team=facts.pop("team", "entry-1"),
        rule=facts.pop("rule", "acid_vapour_at_stop"),
        number=facts.pop("number", 1),
        hazard=facts.pop("hazard", "acid_vapour"),
        action=action,
        said_at=at(said),
        turns=tuple(Turn(kind=kind, at=at(when)) for kind, when in turns),
        **facts,
    )


INSIDE = [row(0, "enter")]


def test_from_the_reading_to_the_finding_is_one_case_an_entry():
    log = [row(0, "ph_paper", key="a"), row(60, "ph_paper", key="b")]
    kept = [found("a", 7), found("a", 5, rule="other"), found("b", 61)]
    assert measure(log, kept, END).to_finding == (5.0, 1.0)


def test_a_stop_that_nobody_heard_stays_a_case():
    kept = [
        found("a", 10, (ACKNOWLEDGED, 30), (ACTED_ON, 70)),
        found("b", 100, place="yard"),
        found("c", 200, action=Action.CAUTION, place="roof"),
    ]
    measures = measure(INSIDE, kept, END)
    assert measures.to_heard == (20.0, None)
    assert measures.to_acted == (60.0, None)


def test_two_rules_of_one_cause_for_one_team_are_heard_once():
    kept = [
        found("a", 10, (ACKNOWLEDGED, 40)),
        found("a", 10, (ACKNOWLEDGED, 25), rule="other"),
        found("a", 10, (ACKNOWLEDGED, 50), team="entry-2"),
    ]
    measures = measure([], kept, END)
    assert sorted(measures.to_heard) == [15.0, 40.0]
    assert len(measures.answers) == 3


def test_what_is_said_again_while_it_stands_is_one_alarm():
    kept = [
        found("a", 10, (ACKNOWLEDGED, 30), place="Tank room"),
        found("b", 100, place="tank room"),
        found("c", 200, (ACTED_ON, 260), place="tank room"),
    ]
    (answer,) = measure([], kept, END).answers
    assert (answer.findings, answer.heard_after, answer.acted_after) == (3, 20.0, 250.0)


@pytest.mark.parametrize(
    "later",
    [
        found("b", 900, action=Action.WITHDRAW),
        found("b", 900, place="yard"),
        found("b", 900, subject="chlorine"),
    ],
    ids=("worse", "elsewhere", "of another gas"),
)
def test_what_is_worse_or_of_something_else_is_another_alarm(later):
    measures = measure([], [found("a", 10, (ACKNOWLEDGED, 30)), later], END)
    assert [answer.heard_after for answer in measures.answers] == [20.0, None]


def test_after_a_clear_it_is_to_be_heard_anew_unless_that_held_no_longer():
    heard = found("a", 10, (RAISED, 10), (ACKNOWLEDGED, 30), (CLEARED, 500))
    raised = found("a", 10, *((t.kind, 0) for t in heard.turns), (RAISED, 600))
    later = found("b", 900)
    assert len(measure([], [heard, later], END).answers) == 2
    assert len(measure([], [raised, later], END).answers) == 1


def test_low_air_is_of_a_team_wherever_it_stands():
    low = {"hazard": "low_air", "rule": "gauge_at_limit"}
    kept = [found("a", 10, place="dock", **low), found("b", 50, place="yard", **low)]
    assert len(measure([], kept, END).answers) == 1


def test_a_statement_that_is_no_rule_asks_for_nothing():
    assert measure([], [found("a", 10, number=0)], END).answers == ()


@pytest.mark.parametrize(
    ("turns", "outcome"),
    [
        ([], Outcome.OPEN),
        ([(ACKNOWLEDGED, 20), (ACTED_ON, 90)], Outcome.ACTED_ON),
        ([(ACTED_ON, 90)], Outcome.ACTED_ON),
        ([(ACKNOWLEDGED, 20), (CLEARED, 300)], Outcome.LIFTED),
        ([(ACKNOWLEDGED, 20), (ACTED_ON, 90), (CLEARED, 300)], Outcome.ACTED_ON),
        ([(ACKNOWLEDGED, 20), (ACTED_ON, 619)], Outcome.ACTED_ON),
        ([(ACKNOWLEDGED, 20), (ACTED_ON, 620)], Outcome.LET_BE),
        ([(ACKNOWLEDGED, 20)], Outcome.LET_BE),
    ],
)
def test_what_became_of_a_stop(turns, outcome):
    (answer,) = measure(INSIDE, [found("a", 10, *turns)], END).answers
    assert answer.inside
    assert answer.outcome is outcome


@pytest.mark.parametrize(
    ("turns", "log", "outcome"),
    [
        ([(ACKNOWLEDGED, 20)], [], Outcome.STAYED_OUT),
        ([(ACKNOWLEDGED, 20)], [row(900, "enter")], Outcome.LET_BE),
        ([(ACTED_ON, 300)], [row(900, "enter")], Outcome.ACTED_ON),
        ([(CLEARED, 300)], [row(900, "enter")], Outcome.LIFTED),
        ([(CLEARED, 950)], [row(900, "enter")], Outcome.LET_BE),
        ([], [row(0, "enter"), row(5, "exit")], Outcome.STAYED_OUT),
        ([], [row(0, "enter"), row(10, "exit")], Outcome.STAYED_OUT),
        ([], [row(900, "enter", team="entry-2")], Outcome.STAYED_OUT),
    ],
)
def test_a_team_that_is_outside_answers_by_staying_there(turns, log, outcome):
    measures = measure(log, [found("a", 10, *turns)], END)
    (answer,) = measures.answers
    assert not answer.inside
    assert answer.outcome is outcome
    assert measures.to_acted == ()


@pytest.mark.parametrize(
    ("log", "inside", "outcome"),
    [
        ([row(5, "ph_paper")], True, Outcome.LET_BE),
        ([row(5, "par")], False, Outcome.STAYED_OUT),
        ([row(0, "exit"), row(5, "ph_paper")], False, Outcome.STAYED_OUT),
        ([row(5, "ph_paper", team="entry-2")], False, Outcome.STAYED_OUT),
    ],
)
def test_a_team_that_never_said_it_went_in_is_inside_from_its_first_reading(
    log, inside, outcome
):
    (answer,) = measure(log, [found("a", 10, (ACKNOWLEDGED, 20))], END).answers
    assert answer.inside is inside
    assert answer.outcome is outcome


def test_stays_are_those_of_the_engine_whatever_the_order_of_a_log():
    says = {"ph_paper": {"sample": "vapour", "ph": Decimal(7)}}

    for kinds in product(("enter", "exit", "ph_paper", "par"), repeat=4):
        entries = [
            parse_entry(
                {"id": f"e{number}", "kind": kind, "team": "entry-1"}
                | {"at": at(number).isoformat()}
                | says.get(kind, {}),
                CONTEXT,
            )
            for number, kind in enumerate(kinds)
        ]
        of_engine = stays(entries, CONTEXT)["entry-1"]
        counted = stays_of(row(number, kind) for number, kind in enumerate(kinds))
        assert counted["entry-1"] == [(s.since, s.until) for s in of_engine], kinds


def test_heard_just_before_the_end_is_open_and_not_let_be():
    kept = [found("a", 10, (ACKNOWLEDGED, 20))]
    (answer,) = measure(INSIDE, kept, at(60)).answers
    assert answer.outcome is Outcome.OPEN


def test_superseded_findings_count_for_nothing():
    measures = measure(
        [row(0, "ph_paper", key="a")], [found("a", 5, superseded=True)], END
    )
    assert measures.to_finding == ()
    assert measures.answers == ()


def test_between_readings_counts_one_stay_of_one_team_at_a_time():
    log = [
        row(0, "ph_paper"),
        row(10, "enter"),
        row(30, "ph_paper"),
        row(50, "gas_meter", team="entry-2"),
        row(90, "gas_meter"),
        row(100, "exit"),
        row(400, "enter"),
        row(460, "gas_meter"),
        row(500, "dosimeter"),
    ]
    measures = measure(log, [], END)
    assert measures.between_readings == (60.0, 40.0)
    assert measures.to_first_reading == (20.0, 60.0)


def test_a_stay_without_a_reading_is_missing():
    log = [row(0, "enter"), row(60, "exit"), row(90, "enter")]
    assert measure(log, [], END).to_first_reading == (None, None)


def test_stretches_without_a_roll_call():
    log = [
        row(0, "par"),
        row(100, "enter"),
        row(400, "par"),
        row(1000, "par"),
        row(1200, "exit"),
        row(1300, "par"),
        row(2000, "enter"),
    ]
    gaps = measure(log, [], at(2600)).par_gaps
    assert gaps == (300.0, 600.0, 200.0, 600.0)


def test_a_struck_reading_is_no_look():
    log = [
        row(0, "ki_starch_paper", key="wrong"),
        row(10, "gas_meter", fields=frozenset({"oxygen_percent"})),
        row(20, "strike", target="wrong", team=""),
    ]
    measures = measure(log, [], END)
    assert "oxidiser_vapour" in measures.never_looked
    assert "oxygen_deficient" not in measures.never_looked
    assert (measures.readings, measures.struck) == (1, 1)


def test_a_meter_without_a_lel_figure_did_not_look_for_fire():
    looked = looked_for(row(0, "gas_meter", fields=frozenset({"h2s_ppm", "note"})))
    assert looked == {Hazard.TOXIC_GAS}


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "ph_paper", "sample": "vapour", "ph": "7"},
        {"kind": "ki_starch_paper", "sample": "liquid", "result": "no_change"},
        {"kind": "fluoride_paper", "sample": "vapour", "result": "changed"},
        {"kind": "dosimeter", "alarm": False},
        {"kind": "gas_meter", "lel_percent": "0", "oxygen_percent": "20.9"},
        {"kind": "gas_meter", "co_ppm": "0", "voc_ppm": "0"},
        {"kind": "gas_meter", "gases": {"chlorine": "0"}},
        {"kind": "gas_meter", "over_range": ["lel"]},
        {"kind": "gas_meter", "over_range": ["oxygen"], "co_ppm": "0"},
        {"kind": "sign", "what": "odour"},
        {"kind": "air_check", "member": "a", "pressure": {"value": "1", "unit": "psi"}},
    ],
    ids=lambda fields: " ".join(fields),
)
def test_a_look_is_a_look_for_the_engine_too(fields):
    """Of the hazards that the sheet asks for; what the engine says of its own is more."""
    facts = LookFacts(context=CONTEXT)
    body = load_json(
        json.dumps(_numbers(fields) | {"id": "x", "at": START.isoformat()})
    )
    body["team"] = "entry-1"
    of_engine = {look.hazard for look in looks_of(parse_entry(body, CONTEXT), facts)}
    over = frozenset(fields.get("over_range", ()))
    looked = looked_for(
        row(0, fields["kind"], fields=frozenset(fields), over_range=over)
    )
    assert looked == of_engine & set(COVERED)


@pytest.mark.parametrize("cell", ["co", "h2s", "voc", "chlorine"])
def test_a_cell_over_its_range_was_a_look_for_toxic_gas(cell):
    over = row(0, "gas_meter", over_range=frozenset({cell}))
    assert looked_for(over) == {Hazard.TOXIC_GAS}


def _numbers(value):
    if isinstance(value, dict):
        return {key: _numbers(item) for key, item in value.items()}
    if isinstance(value, str) and value.replace(".", "").isdigit():
        return float(value)
    return value


def test_air_and_dose():
    log = [
        row(0, "air_check", member="a", pressure_psi=Decimal(4400)),
        row(9, "air_check", member="a", pressure_psi=Decimal(3000)),
        row(10, "dosimeter", dose_rem=Decimal("0.02")),
        row(20, "dosimeter", dose_rem=Decimal("0.01")),
    ]
    measures = measure(log, [], END)
    (air,) = measures.air
    assert (air.first_psi, air.lowest_psi) == (4400, 3000)
    assert measures.dose_rem == {"entry-1": Decimal("0.02")}


def test_what_was_written_later_is_counted():
    log = [row(0, "ph_paper", late=120), row(1, "ph_paper", late=121)]
    assert measure(log, [], END).written_later == 1
