"""Which test shows which row of the job; a name that does not exist fails here.

`job_rows.toml` numbers the rows of the job as the team numbers them: 1 to 60 and 84 are
what the command post needs. Later parts of the work add theirs.
"""

import ast
import tomllib
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROWS = tomllib.loads((ROOT / "tests" / "job_rows.toml").read_text("utf-8"))["row"]
# The rows of the command post that must hold, and the one on skilled support.
MUST = (
    1, 2, 3, 4, 5, 7, 8, 10, 12, 13, 15, 16, 18, 19, 21, 22, 23, 24, 25, 26, 27, 28, 29,
    30, 31, 32, 33, 34, 37, 38, 39, 40, 41, 43, 44, 45, 47, 49, 50, 51, 52, 53, 54, 55,
    57, 58, 59, 84,
)  # fmt: skip


@cache
def names_in(path):
    """The names of all test functions of a file."""
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    return {
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"row {row['number']}")
def test_every_test_that_is_named_exists(row):
    assert set(row) == {"number", "job", "tests"}
    assert row["tests"]
    for name in row["tests"]:
        path, _, function = name.partition("::")
        assert (ROOT / path).is_file(), name
        assert function in names_in(path), name


def test_each_row_is_there_once_and_in_order():
    numbers = [row["number"] for row in ROWS]
    assert numbers == sorted(set(numbers))


def test_every_row_that_must_hold_is_shown_by_a_test():
    assert set(MUST) <= {row["number"] for row in ROWS}
