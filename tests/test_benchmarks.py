"""That each benchmark runs and gives ratios; what they are is nobody's test."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
BENCHMARKS = (
    "engine",
    "post",
    "chain",
    "long_chain",
    "report",
    "what_if",
    "what_if_archive",
    "archive",
)


def test_every_benchmark_is_named_here():
    helpers = {"__init__", "measuring", "worksheets", "database"}

    assert {path.stem for path in (ROOT / "bench").glob("*.py")} - helpers == {
        *BENCHMARKS
    }


@pytest.mark.parametrize("name", BENCHMARKS)
def test_a_quick_run_prints_ratios_to_its_floor(name):
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}

    done = subprocess.run(
        [sys.executable, "-m", f"bench.{name}", "--quick"],
        cwd=ROOT,
        env=kept,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert re.search(r"\d\.\d\d x floor", done.stdout)
