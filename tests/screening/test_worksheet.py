"""The worksheet document as a whole: order, references, all errors at once."""

import json
import subprocess
import sys
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.worksheet import (
    WorksheetErrors,
    dump_json,
    load_json,
    parse_entry,
    parse_worksheet,
)
from tests.screening.worksheets import (
    AT,
    FULL,
    VALID,
    entry,
    errors,
    log_of,
    quantity,
    worksheet,
)


def test_a_newer_version_is_called_newer():
    assert "newer version" in errors(worksheet(version=2))["/version"].expected
    assert "newer version" not in errors(worksheet(version=0))["/version"].expected


def test_all_errors_are_reported_in_one_go_in_the_order_of_the_document():
    document = worksheet(
        entry("ph_paper", id="o1", ph=15, sample="air"),
        entry("gas_meter", id="o1", team="entry-9", lel_percent=-1),
        entry("smell", id="o3"),
        incident={"name": "", "mission": "rescue"},
        version=2,
    )

    found = errors(document)

    assert list(found) == [
        "/version",
        "/incident/name",
        "/log/0/ph",
        "/log/0/sample",
        "/log/1/id",
        "/log/1/team",
        "/log/1/lel_percent",
        "/log/2/kind",
    ]
    assert found["/log/0/ph"].value == "15"
    assert found["/log/0/ph"].expected == "a pH from 0 to 14"
    assert found["/log/1/team"].expected == "one of entry-1, backup"


def test_errors_print_as_one_line_each_whatever_they_quote():
    document = worksheet(entry("sign", what="a\nb\u202e\ud800"), **{"x\ny": 1})

    with pytest.raises(WorksheetErrors) as caught:
        parse_worksheet(document)

    lines = str(caught.value).split("\n")
    assert len(lines) == len(caught.value.errors) == 2
    assert caught.value.errors[0].pointer == "/x\ny"
    assert lines[0].startswith("/x\\ny: 1, expected only the fields of a worksheet")
    assert lines[1].startswith('/log/0/what: "a\\nb\\u202e\\ud800", expected one of')


def test_wrong_teams_do_not_make_every_entry_wrong():
    found = errors(worksheet(entry("enter"), entry("exit", id="o2"), teams="none"))

    assert list(found) == ["/teams"]


def test_a_wrong_member_does_not_make_the_air_check_of_another_wrong():
    teams = [
        {
            "id": "entry-1",
            "role": "entry",
            "ensemble": "level_b",
            "members": [{"id": "a"}, {"name": "b"}],
        }
    ]
    check = entry("air_check", member="b", pressure=quantity(4000, "psi"))

    found = errors(worksheet(check, teams=teams))

    assert list(found) == ["/teams/0/members/1/name", "/teams/0/members/1/id"]


# Order, identity, references


def test_the_log_is_ordered_by_moment_and_then_by_id():
    log = [
        entry("enter", id="c", at="2026-03-04T14:02:00-05:00"),
        entry("enter", id="b", at="2026-03-04T19:02:00Z"),
        entry("enter", id="a", at="2026-03-04T14:01:59.5-05:00"),
        entry("enter", id="d", at="2026-03-04T20:01:59+01:00"),
    ]

    ordered = parse_worksheet(worksheet(*log)).log

    assert [found.id for found in ordered] == ["d", "a", "b", "c"]


def test_a_time_keeps_the_offset_it_was_entered_with():
    (found,) = parse_worksheet(worksheet(entry("enter", at=AT))).log

    assert found.at.isoformat() == AT


def test_an_id_stands_only_once_in_the_log():
    found = errors(worksheet(entry("enter"), entry("exit"), entry("exit", id="o2")))

    assert list(found) == ["/log/1/id"]


@pytest.mark.parametrize("kind", ["strike", "acknowledge"])
class TestReferences:
    def test_an_entry_that_is_not_in_the_log_cannot_be_named(self, kind):
        found = errors(worksheet(entry(kind, **{**VALID[kind], "entry": "o7"})))

        assert list(found) == ["/log/0/entry"]

    def test_an_entry_cannot_name_itself(self, kind):
        found = errors(worksheet(entry(kind, **{**VALID[kind], "entry": "o1"})))

        assert list(found) == ["/log/0/entry"]

    def test_an_entry_that_stands_later_in_the_file_can_be_named(self, kind):
        first, second = log_of(kind)

        assert len(parse_worksheet(worksheet(second, first)).log) == 2

    def test_one_entry_alone_is_checked_against_the_ids_that_are_given(self, kind):
        context = parse_worksheet(worksheet()).context
        raw = entry(kind, **VALID[kind])

        anywhere: Any = parse_entry(raw, context)
        known: Any = parse_entry(raw, context, known_ids={"o0"})

        assert anywhere.entry == known.entry == "o0"
        with pytest.raises(WorksheetErrors, match="/entry"):
            parse_entry(raw, context, known_ids={"o9"})
        with pytest.raises(WorksheetErrors, match="/entry"):
            parse_entry({**raw, "entry": "o1"}, context)


def test_strikes_that_strike_each_other_in_a_ring_are_refused():
    ring = [
        entry("strike", id=here, entry=there, by="IC", reason="x")
        for here, there in (("a", "b"), ("b", "c"), ("c", "a"), ("d", "a"))
    ]

    found = errors(worksheet(*ring))  # C37

    assert list(found) == ["/log/0/entry"]


def test_a_long_chain_of_strikes_is_no_ring():
    chain = [entry("enter", id="s0")] + [
        entry("strike", id=f"s{n + 1}", entry=f"s{n}", by="IC", reason="x")
        for n in range(2_000)
    ]

    assert len(parse_worksheet(worksheet(*chain)).log) == 2_001


# One entry alone


@pytest.mark.parametrize("kind", VALID)
def test_an_entry_alone_is_read_as_it_is_in_a_worksheet(kind):
    document = worksheet(*log_of(kind))
    whole = parse_worksheet(document)

    alone = parse_entry(document["log"][1], whole.context)

    assert alone in whole.log
    assert alone.kind == kind


def test_errors_of_an_entry_alone_start_from_the_pointer_it_is_given():
    context = parse_worksheet(worksheet()).context

    with pytest.raises(WorksheetErrors) as caught:
        parse_entry(entry("sign", what="noise", at=...), context, "/entries/3")

    assert [error.pointer for error in caught.value.errors] == [
        "/entries/3/at",
        "/entries/3/what",
    ]


def test_what_is_no_object_is_no_entry():
    context = parse_worksheet(worksheet()).context
    a_list: Any = ["o1"]

    with pytest.raises(WorksheetErrors) as caught:
        parse_entry(a_list, context, "/entry")

    assert [error.pointer for error in caught.value.errors] == ["/entry"]


# The whole way, and what it must not cost


def test_a_worksheet_survives_being_written_and_read_again():
    document = load_json(FULL)

    again = load_json(dump_json(document))

    assert again == document
    assert parse_worksheet(again) == parse_worksheet(document)


@given(st.permutations([step for kind in VALID for step in log_of(kind)[1:]]))
def test_the_order_of_arrival_makes_no_difference(log):
    numbered = [{**step, "id": f"{step['kind']}-{step['id']}"} for step in log] + [
        entry("enter", id="o0")
    ]

    ordered = parse_worksheet(worksheet(*numbered)).log

    assert [found.id for found in ordered] == sorted(found["id"] for found in numbered)


def outcome(document):
    """The worksheet, or the errors, which can be printed: nothing else may come out."""
    try:
        return parse_worksheet(document), None
    except WorksheetErrors as refused:
        str(refused).encode()
        return None, refused


SCRAPS = st.recursive(
    st.none()
    | st.booleans()
    | st.floats()
    | st.integers()
    | st.decimals()
    | st.text(max_size=8)
    | st.sampled_from(["o0", "o1", "entry-1", "a", AT, "vapour", "mR/h", "degC"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["value", "unit", "id", "x"]), inner, max_size=3
        )
    ),
    max_leaves=6,
)
FIELD_NAMES = sorted({name for fields in VALID.values() for name in fields} | {
    "id", "at", "team", "place", "note", "instrument", "bleached", "band", "moistened",
    "gases", "over_range", "lamp_ev", "alarm", "distance", "contact", "unanswered",
})  # fmt: skip


@given(
    st.sampled_from(sorted(VALID)),
    st.dictionaries(st.sampled_from(FIELD_NAMES), SCRAPS),
)
def test_no_entry_raises_anything_but_worksheet_errors(kind, scraps):
    document = worksheet(*log_of(kind, **scraps))

    worksheet_read, refused = outcome(document)

    pointers = [] if refused is None else [error.pointer for error in refused.errors]
    assert all(pointer.startswith("/log/1") for pointer in pointers)
    assert pointers or len(worksheet_read.log) == 2


@given(
    st.dictionaries(
        st.sampled_from(list(worksheet()) + ["profile", "x"]), SCRAPS, max_size=4
    )
)
def test_no_document_raises_anything_but_worksheet_errors(parts):
    worksheet_read, refused = outcome({**worksheet(), **parts})

    assert worksheet_read.context.name if refused is None else refused.errors


def test_an_ordinary_worksheet_is_read_without_pint(tmp_path):
    path = tmp_path / "worksheet.json"
    document = load_json(FULL)
    log = [
        {**step, "id": f"o{number}"}
        for number, kind in enumerate(VALID)
        if kind not in ("strike", "acknowledge")
        for step in log_of(kind)[1:]
    ]
    path.write_text(dump_json({**document, "log": log}))
    program = (
        "import pathlib, sys\n"
        "from screening.worksheet import load_json, parse_worksheet\n"
        "worksheet = parse_worksheet(load_json(pathlib.Path(sys.argv[1]).read_bytes()))\n"
        "print(len(worksheet.log), 'pint' in sys.modules)"
    )

    answer = subprocess.run(
        [sys.executable, "-c", program, str(path)],
        capture_output=True,
        text=True,
        check=True,
    )

    assert answer.stdout.split() == [str(len(log)), "False"]


def test_numbers_of_a_plain_json_reader_are_taken_at_their_shortest_spelling():
    document = json.loads(
        json.dumps(worksheet(entry("gas_meter", oxygen_percent=19.5)))
    )

    found: Any
    (found,) = parse_worksheet(document).log

    assert found.oxygen_percent == Decimal("19.5")
