"""`python -m screening WORKSHEET.json [--at TIME] [--profile PROFILE.json]`.

`python -m screening --sources` prints where every rule, limit, formula and table is from.
"""

import argparse
import json
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from screening.result import screen
from screening.verdicts import CAUTION
from screening.worksheet import WorksheetErrors, load_json

REFUSED = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the result and return 0; or one line an error on standard error, and 2."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.sources:
        from screening import sources  # reads the tests: not for every run

        return _print(sources.document())
    if options.worksheet is None:
        parser.error("the following arguments are required: WORKSHEET.json")
    try:
        document = load_json(_read(options.worksheet))
        profile = load_json(_read(options.profile)) if options.profile else None
        result = screen(document, at=options.at, profile=profile)
    except WorksheetErrors as errors:
        print(errors, file=sys.stderr)
        return REFUSED
    except (OSError, ValueError) as error:
        print(error, file=sys.stderr)
        return REFUSED
    return _print(result)


def _print(document: dict[str, Any]) -> int:
    json.dump(document, sys.stdout, ensure_ascii=False, indent=1)
    sys.stdout.write("\n")
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m screening",
        description="Judge a hazmat worksheet against its limits.",
        epilog=CAUTION,
    )
    parser.add_argument(
        "worksheet",
        metavar="WORKSHEET.json",
        nargs="?",
        help="a worksheet, or - for standard input",
    )
    parser.add_argument(
        "--at", type=_moment, metavar="TIME", help="the moment to judge at, ISO 8601"
    )
    parser.add_argument(
        "--profile", metavar="PROFILE.json", help="limits to use in place of its own"
    )
    parser.add_argument(
        "--sources",
        action="store_true",
        help="print the source and the tests of everything, and judge nothing",
    )
    return parser


def _moment(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no ISO 8601 time") from None
    if moment.utcoffset() is None:
        raise argparse.ArgumentTypeError(f"{text!r} has no offset from UTC")
    return moment


def _read(path: str) -> bytes:
    if path == "-":
        return sys.stdin.buffer.read()
    return Path(path).read_bytes()


if __name__ == "__main__":
    sys.exit(main())
