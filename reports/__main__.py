"""Print a report from a worksheet file, with no database and no signature.

    python -m reports WORKSHEET.json REPORT.pdf

A document with errors: exit 2, one line per error on standard error, nothing written.
"""

import argparse
import sys
from pathlib import Path

from reports.after_action import build
from reports.from_worksheet import report_data
from screening.worksheet import WorksheetErrors, load_json


def main(arguments: list[str] | None = None) -> int:
    """Run the command; returns its exit status."""
    parser = argparse.ArgumentParser(
        prog="python -m reports",
        description="Print an unsigned report from a worksheet file.",
    )
    parser.add_argument("worksheet", type=Path)
    parser.add_argument("report", type=Path)
    parser.add_argument("--paper", choices=("A4", "letter"), default="A4")
    given = parser.parse_args(arguments)
    try:
        document = load_json(given.worksheet.read_bytes())
        pdf = build(report_data(document), page_size=given.paper)
        given.report.write_bytes(pdf)
    except (WorksheetErrors, ValueError, OSError) as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
