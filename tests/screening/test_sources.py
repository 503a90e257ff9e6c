"""Where everything is from: made from the code, with the tests found by reading them."""

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from screening import planning
from screening.methods import METHODS
from screening.profile import LIMITS
from screening.rules import RULES
from screening.source_checks import TESTS, coverage_of, rule_numbers
from screening.source_numbers import SAID_HERE, fixed_numbers, stated_source
from screening.sources import KINDS, NOT_STATED, all_sources, document, status_of
from screening.substances import SUBSTANCES
from screening.verdicts import CAUTION

ROWS = all_sources()


def of(kind):
    return {row.id: row for row in ROWS if row.kind == kind}


def test_everything_of_the_code_is_listed_once():
    count = Counter(row.kind for row in ROWS)

    assert set(count) == set(KINDS)
    assert count["rule"] == len(RULES)
    assert count["limit"] == len(LIMITS)
    assert count["method"] == len(METHODS)
    assert count["substance"] == len(SUBSTANCES)
    assert len({(row.kind, row.id) for row in ROWS}) == len(ROWS)
    functions = {row_id.rpartition(".")[2] for row_id in of("formula")}
    assert set(planning.__all__) <= functions


def test_everything_states_its_source():
    for row in ROWS:
        assert row.title
        assert row.source, row.id
        assert row.status != NOT_STATED, row.id


@pytest.mark.parametrize("kind", KINDS)
def test_everything_has_a_check(kind):
    assert [row.id for row in of(kind).values() if not row.checks] == []


def test_every_fixed_number_is_named_by_the_check_that_holds_it():
    loose = {
        row.id
        for row in of("fixed number").values()
        if not any(
            check in coverage_of().of(row.id.rpartition(".")[2]) for check in row.checks
        )
        and not any(check.startswith("tests/published/") for check in row.checks)
    }

    assert loose == set()


def test_what_a_module_says_of_its_number_is_not_said_for_it():
    told = {number.id: number.source for number in fixed_numbers()}

    for identity, source in SAID_HERE.items():
        assert told[identity] == source


def test_a_semicolon_in_brackets_does_not_cut_a_source():
    (floor,) = (n for n in fixed_numbers() if n.name == "OXYGEN_FLOOR")

    assert floor.source.endswith("(maker's notes; a widely quoted floor)")


def test_a_number_takes_the_source_of_the_rule_that_its_comment_names():
    (spike,) = (n for n in fixed_numbers() if n.name == "SPIKE_FROM")

    assert spike.rule == 26
    assert spike.source == next(r.source for r in RULES if r.number == 26)


def test_the_tests_that_are_named_exist():
    for row in ROWS:
        for check in row.checks:
            path, _, name = check.partition("::")
            text = (TESTS.parent / path).read_text(encoding="utf-8")
            assert f"def {name}(" in text or not name, check


def test_values_and_sources_come_from_the_code():
    limit = of("limit")["lel_withdraw_percent"]
    formula = of("formula")["screening.planning.radiation.stay_time"]
    number = of("fixed number")["screening.rules.gases.SPIKE_WITHIN"]
    table = of("table")["screening.planning.heat.MONITORING_TABLE"]

    assert limit.value == "10 %"
    assert limit.source == LIMITS["lel_withdraw_percent"].source
    assert formula.source.startswith("arithmetic")
    assert number.value == "2 min"
    assert number.source == next(r.source for r in RULES if r.number == 26)
    assert "four-agency" in table.source


def test_a_rule_is_found_by_its_number_in_the_tests():
    checks = of("rule")["26 lel_spike_then_fall"].checks

    assert any("test_rule_26_" in check for check in checks)
    assert not any("test_errors" in check for check in checks)


def test_a_value_from_memory_keeps_its_mark():
    assert of("formula")["screening.planning.gases.lel_at_temperature"].status == (
        "from memory"
    )
    assert "memory" in of("substance")["methylamine"].status


@pytest.mark.parametrize(
    ("source", "status"),
    [
        ("", "no source stated"),
        ("29 CFR 1910.146(b)", "published"),
        ("common practice, no source", "common practice, no source"),
        ("no source; set by SOP", "common practice, no source"),
        ("Crowl and Louvar, [memory]", "from memory"),
        ("ideal gas", "arithmetic or physics"),
        ("two supplier pages", "makers, suppliers or trade press"),
        ("this worksheet's own choice", "this worksheet's own choice"),
    ],
)
def test_how_far_a_source_goes_is_read_from_its_words(source, status):
    assert status_of(source) == status


def test_a_source_ends_with_its_paragraph():
    text = "What it does.\n\nMinutes. Source: a book,\nchapter 2.\n\nAnd more."

    assert stated_source(text) == "a book, chapter 2"
    assert stated_source("What it does.") == ""


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("rule 12", {12}),
        ("Rules 1 to 4, 27 and 31: papers", {1, 2, 3, 4, 27, 31}),
        ("rules 10–12 and 26", {10, 11, 12, 26}),
        ("at 12 minutes no rule holds", set()),
    ],
)
def test_the_numbers_of_rules_in_words(text, numbers):
    assert rule_numbers(text) == numbers


MODULE = '''"""Rules 5 and 6: an invented module."""

from screening.planning import stay_time
from somewhere import air_time

CASES = ["acid_stop_ph"]


def helper():
    return stay_time


def test_rules_7_8_by_name():
    assert CASES


# --- rule 9 ---------------------------------------------------


def test_under_a_heading():
    assert helper() and air_time


def test_rule_5_itself():
    assert True
'''


def test_tests_are_read_and_not_listed(tmp_path):
    folder = tmp_path / "tests"
    folder.mkdir()
    (folder / "test_made_up.py").write_text(MODULE, encoding="utf-8")
    found = coverage_of(folder)
    by = "tests/test_made_up.py"

    assert found.of("acid_stop_ph") == (f"{by}::test_rules_7_8_by_name",)
    assert found.of_code("stay_time") == (f"{by}::test_under_a_heading",)
    assert found.of_code("air_time") == ()
    assert found.of_rule(7) == found.of_rule(8) == (f"{by}::test_rules_7_8_by_name",)
    assert f"{by}::test_under_a_heading" in found.of_rule(9)
    assert found.of_rule(5) == (f"{by}::test_rule_5_itself",)
    assert found.of_rule(6) == (by,)


def test_an_installation_without_tests_says_so(tmp_path):
    printed = document(tmp_path / "tests")

    assert printed["tests"] == "not part of this installation"
    assert all(row["checks"] == () for row in printed["sources"])


def run(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "screening", *arguments],
        cwd=Path(TESTS).parent,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_the_command_prints_them_as_json():
    result = run("--sources")
    printed = json.loads(result.stdout)

    assert result.returncode == 0
    assert printed["format"] == "hazmat-screening-sources"
    assert printed["caution"] == CAUTION
    assert printed["tests"] == "read"
    assert len(printed["sources"]) == len(ROWS)


def test_a_worksheet_is_still_asked_for():
    result = run()

    assert result.returncode == 2
    assert result.stdout == ""
    assert "WORKSHEET.json" in result.stderr
