"""The promises of the log on PostgreSQL as well, wherever a server answers."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.postgres
# The two that a server of its own kind could break; `.ci/run` runs all of them there.
@pytest.mark.parametrize("module", ["test_append_only", "test_concurrency"])
def test_the_log_keeps_its_promises_on_postgresql(postgresql_url, module):
    kept = {key: os.environ[key] for key in ("PATH", "HOME") if key in os.environ}

    result = subprocess.run(
        [
            sys.executable, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider",
            f"tests/incidents/services/{module}.py",
        ],
        cwd=ROOT,
        env=kept | {"DATABASE_URL": postgresql_url},
        capture_output=True,
        text=True,
        check=False,
    )  # fmt: skip

    assert result.returncode == 0, result.stdout[-4000:]
    assert " passed" in result.stdout
