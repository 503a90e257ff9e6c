"""A long log makes a report in bounded memory; the process that makes it has a bound."""

import subprocess
import sys

# What `bench/report.py` measured is a tenth of it: the bound is on addresses, which are
# more than the memory that is used.
BOUND = 1_500_000_000
MADE = """
import resource
resource.setrlimit(resource.RLIMIT_AS, ({bound}, {bound}))
from reports.after_action import build
from reports.archival import sources
from tests.reports.samples import long_log
pdf = build(long_log({entries}), attachments=sources(b"{{}}" * 500_000, b"[]"))
print(len(pdf))
"""


def made(entries, bound):
    return subprocess.run(
        [sys.executable, "-c", MADE.format(entries=entries, bound=bound)],
        capture_output=True,
        text=True,
        check=False,
    )


def test_5000_entries_make_a_report_within_the_bound():
    done = made(5000, BOUND)

    assert done.returncode == 0, done.stderr[-2000:]
    assert int(done.stdout) > 200_000


def test_the_bound_is_one():
    """The same under a bound that is too small ends: the first test could fail."""
    done = made(5000, 100_000_000)

    assert done.returncode != 0


def test_the_file_does_not_grow_faster_than_its_log():
    sizes = [int(made(entries, BOUND).stdout) for entries in (500, 2500)]

    assert sizes[1] < 6 * sizes[0]
