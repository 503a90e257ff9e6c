"""The worker that `demo` and `serve` bring along."""

import os
import subprocess
import sys
import time
from pathlib import Path

from incidents.management import serving

ROOT = Path(__file__).resolve().parents[3]


def test_it_works_while_the_server_does_and_ends_with_it(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKSHEET_DATA", str(tmp_path))
    monkeypatch.delenv("DATABASE_URL", raising=False)
    migrate = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
    subprocess.run(migrate, cwd=ROOT, check=True, timeout=120)
    started = []

    class Watched(subprocess.Popen):
        def __init__(self, *arguments, **options):
            super().__init__(*arguments, **options)
            started.append(self)

    monkeypatch.setattr(serving.subprocess, "Popen", Watched)

    with serving.background_worker():
        (worker,) = started
        ends = time.monotonic() + 60
        while os.getpriority(os.PRIO_PROCESS, worker.pid) < 10:
            assert worker.poll() is None
            assert time.monotonic() < ends
            time.sleep(0.1)

    assert worker.poll() is not None
    assert b"db_worker" in b" ".join(map(os.fsencode, worker.args))
