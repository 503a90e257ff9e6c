"""Parts as JSON: every answer is read strictly and written back as it was."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from command.documents import read_body, read_says, write
from command.parts import PARTS
from command.questions import Kind, questions_of
from screening.worksheet import WorksheetErrors
from tests.command.plans import READY, metres


def errors_of(part, says, **body):
    with pytest.raises(WorksheetErrors) as caught:
        read_body({"part": part, "item": "", "says": says, **body})
    return {error.pointer: error.expected for error in caught.value.errors}


@pytest.mark.parametrize(("part", "item"), READY)
def test_what_is_written_is_read_again_as_the_same(part, item):
    says = read_says(PARTS[part], READY[part, item])

    assert read_says(PARTS[part], write(says)) == says


def sample(question):
    """Some answer of each kind, as JSON."""
    return {
        Kind.LINE: "words",
        Kind.ANSWER: "words",
        Kind.NOTE: "two\nlines",
        Kind.CHOICE: next(iter(question.options), ""),
        Kind.AMOUNT: {"value": Decimal("1.50"), "unit": (*question.units, "")[0]},
        Kind.NUMBER: Decimal("12.0"),
        Kind.MOMENT: "2026-03-04T14:02:00-05:00",
        Kind.NAMES: ["one", "two"],
        Kind.POINTS: [
            {"latitude": Decimal(lat), "longitude": Decimal("-88.50")}
            for lat in ("45.1", "45.2", "45.3")
        ],
    }[question.kind]


@pytest.mark.parametrize("key", PARTS)
def test_every_question_of_every_part_keeps_its_answer(key):
    part = PARTS[key]
    asked = dict(questions_of(part.shape))
    given = {name: sample(question) for name, question in asked.items()}
    given.pop("wind_towards", None)  # says the same as where it comes from

    says = read_says(part, given)

    assert write(says) == given | {
        name: datetime.fromisoformat(given[name]).isoformat()
        for name, question in asked.items()
        if question.kind is Kind.MOMENT
    }


def test_an_answer_that_nobody_gave_is_unknown_and_never_blank():
    says = read_says(PARTS["size_up"], {"place": "Dock", "people": "  "})

    assert (says.place, says.people, says.exposures) == ("Dock", "unknown", "unknown")


def test_a_figure_keeps_its_digits_and_its_unit():
    says = read_says(
        PARTS["zones"],
        {"distance": {"value": Decimal("200.0"), "unit": "ft"}, "basis": "reading"},
    )

    assert says.distance.shown == "200.0 ft"
    assert says.distance.canonical == Decimal("60.96")


def test_all_that_is_wrong_is_said_with_its_place():
    found = errors_of(
        "briefing",
        {
            "speaker": "",
            "listeners": [],
            "time_limit": {"value": 5, "unit": "m"},
            "x": 1,
        },
        item="b1",
    )

    assert set(found) == {
        "/says/speaker",
        "/says/listeners",
        "/says/time_limit/unit",
        "/says/x",
    }


@pytest.mark.parametrize(
    ("part", "says", "pointer"),
    [
        pytest.param("zones", {"basis": "reading"}, "/says/runs", id="no line at all"),
        pytest.param(
            "zones",
            {"basis": "guide", "distance": metres(60)},
            "/says/edition",
            id="a guide without its edition",
        ),
        pytest.param(
            "zones",
            {
                "basis": "reading",
                "runs": "x",
                "corners": [{"latitude": 1, "longitude": 2}],
            },
            "/says/corners",
            id="one corner",
        ),
        pytest.param(
            "weather",
            {"wind_from": 270, "wind_towards": 80},
            "/says/wind_towards",
            id="two winds at once",
        ),
        pytest.param(
            "check_in",
            {"name": "Crane 1", "skilled_support": "yes", "where": "warm"},
            "/says/briefed_at",
            id="29 CFR 1910.120(q)(4): skilled support without a briefing",
        ),
        pytest.param(
            "signatures",
            {"capacity": "incident_commander", "name": "Holt", "agrees": "no"},
            "/says/dissent",
            id="a refusal without a reason",
        ),
        pytest.param("decon", {"ready": "perhaps"}, "/says/ready", id="no such choice"),
        pytest.param(
            "positions",
            {
                "position": "medical",
                "name": "X",
                "since": "2026-03-04T14:00:00Z",
                "until": "2026-03-04T13:00:00Z",
            },
            "/says/until",
            id="an end before its beginning",
        ),
    ],
)
def test_answers_that_do_not_go_together_are_refused(part, says, pointer):
    many = PARTS[part].many
    item = ("hot" if part == "zones" else "i1") if many else ""

    assert pointer in errors_of(part, says, item=item)


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"part": "nothing", "says": {}}, "/part"),
        ({"part": "size_up", "item": "a", "says": {}}, "/item"),
        ({"part": "zones", "item": "lukewarm", "says": {}}, "/item"),
        ({"part": "size_up", "says": None}, "/says"),
        ({"part": "check_in", "item": "a", "says": None}, "/reason"),
        ({"part": "size_up", "says": {}, "based_on": "7"}, "/based_on"),
        ({"part": "size_up", "says": {}, "more": 1}, "/more"),
        ({"part": "size_up"}, "/says"),
    ],
)
def test_a_body_that_is_none_is_refused(body, pointer):
    with pytest.raises(WorksheetErrors) as caught:
        read_body(body)

    assert pointer in {error.pointer for error in caught.value.errors}


@pytest.mark.parametrize(
    ("said", "comes_from"),
    [
        pytest.param({"wind_from": Decimal(270)}, 270, id="from 270"),
        pytest.param({"wind_towards": Decimal(90)}, 270, id="towards 90, the same"),
        pytest.param({"wind_from": Decimal(360)}, 0, id="360 is north"),
        pytest.param({}, None, id="not known"),
    ],
)
def test_the_wind_comes_from_one_direction_however_it_was_said(said, comes_from):
    assert read_says(PARTS["weather"], said).from_degrees == comes_from


def test_a_moment_keeps_its_offset():
    says = read_says(PARTS["benchmarks"], {"done": "2026-03-04T14:02:00-05:00"})

    assert says.done == datetime(2026, 3, 4, 19, 2, tzinfo=UTC)
    assert write(says)["done"].endswith("-05:00")
