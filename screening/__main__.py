"""`python -m screening WORKSHEET.json [--at TIME] [--profile PROFILE.json]`."""

import argparse
import json
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from screening.result import screen
from screening.verdicts import CAUTION
from screening.worksheet import WorksheetErrors, load_json

REFUSED = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the result and return 0; or one line an error on standard error, and 2."""
    options = _parser().parse_args(arguments)
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
    json.dump(result, sys.stdout, ensure_ascii=False, indent=1)
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
        help="a worksheet, or - for standard input",
    )
    parser.add_argument(
        "--at", type=_moment, metavar="TIME", help="the moment to judge at, ISO 8601"
    )
    parser.add_argument(
        "--profile", metavar="PROFILE.json", help="limits to use in place of its own"
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
