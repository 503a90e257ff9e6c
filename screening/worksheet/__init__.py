"""The worksheet document at the edge of the engine: JSON in, frozen values out.

Everything is checked once, here. All errors are reported in one go (`WorksheetErrors`),
each with its RFC 6901 JSON Pointer, the value and what was expected. Nothing here judges
a reading. Pint is imported only for a unit that nobody writes every day.
"""

from collections.abc import Collection, Mapping
from typing import Any, Final

from screening.incident import Context, Worksheet
from screening.readings import Entry
from screening.worksheet.entries import read_entry
from screening.worksheet.fields import EXPOSURE_CAUTION, Fields, exact
from screening.worksheet.problems import DocumentError, Problems, WorksheetErrors
from screening.worksheet.profiles import parse_profile
from screening.worksheet.setup import Scope, read_setup
from screening.worksheet.strict_json import dump_json, load_json

FORMAT: Final = "hazmat-incident-worksheet"
VERSION: Final = 1

_DOCUMENT: Final = frozenset(
    {
        "format",
        "version",
        "incident",
        "profile",
        "teams",
        "instruments",
        "suspects",
        "log",
        "drill",
    }
)
_REFERRING: Final = frozenset({"strike", "acknowledge"})


def parse_worksheet(document: object) -> Worksheet:
    """A whole document, as `load_json` gives it; the log in order of time, then id.

    Raises `WorksheetErrors` with everything that is wrong.
    """
    problems = Problems()
    fields = Fields.of(document, "", problems)
    if fields is None:
        raise WorksheetErrors(problems.errors)
    fields.allow(_DOCUMENT, "a worksheet")
    _check_format(fields)
    _check_drill(fields)
    context, scope = read_setup(fields)
    entries = _log(fields, scope)
    problems.raise_any()
    return Worksheet(
        context=context,
        log=tuple(sorted(entries, key=lambda entry: entry.order)),
        cautions=tuple(problems.cautions),
    )


def parse_context(document: object) -> Context:
    """A document without its log: what an incident is set up with.

    Raises `WorksheetErrors`; a `log` in it is one.
    """
    problems = Problems()
    fields = Fields.of(document, "", problems)
    if fields is None:
        raise WorksheetErrors(problems.errors)
    fields.allow(_DOCUMENT - {"log"}, "a worksheet without its log")
    _check_format(fields)
    context, _ = read_setup(fields)
    problems.raise_any()
    return context


def parse_entry(
    raw: Mapping[str, Any],
    context: Context,
    pointer: str = "",
    known_ids: Collection[str] | None = None,
) -> Entry:
    """One entry of a running incident.

    It cannot see the log: that a `strike` or an `acknowledge` names an entry that exists
    is checked only where `known_ids` is given. Raises `WorksheetErrors`.
    """
    problems = Problems()
    fields = Fields.of(raw, pointer, problems)
    entry = None if fields is None else read_entry(fields, Scope.of(context))
    if fields is not None:
        _check_reference(fields, known_ids)
    problems.raise_any()
    assert entry is not None  # otherwise a problem was reported
    return entry


def cautions_of(entry: Entry) -> tuple[str, ...]:
    """What was taken on trust in reading the entry: that R is rem, one for one."""
    for name in ("dose", "dose_rate"):
        words = entry.shown.get(name, "").replace("/", " ").split()
        if len(words) > 1 and words[1].endswith("R"):
            return (EXPOSURE_CAUTION,)
    return ()


def _check_format(fields: Fields) -> None:
    if fields.raw.get("format") != FORMAT:
        fields.wrong("format", f'"{FORMAT}"')
    version = exact(fields.raw.get("version"))
    if version != VERSION:
        newer = version is not None and version > VERSION
        made = "; the document was made by a newer version" if newer else ""
        fields.wrong("version", f"{VERSION}{made}")


def _check_drill(fields: Fields) -> None:
    """That a worksheet is of a drill is said in it; what a script says is not read here."""
    said = fields.raw.get("drill", True)
    if said is not True and not isinstance(said, Mapping):
        fields.wrong("drill", "true, or the script of a drill")


def _log(document: Fields, scope: Scope) -> list[Entry]:
    entries: list[Entry] = []
    seen: set[str] = set()
    referring: list[Fields] = []
    for index, raw in enumerate(document.items("log", required=True) or ()):
        fields = Fields.of(raw, f"/log/{index}", document.problems)
        if fields is None:
            continue
        key = fields.raw.get("id")
        if isinstance(key, str):
            if key in seen:
                fields.wrong("id", "an id that stands only once in the log")
            seen.add(key)
        if _refers(fields):
            referring.append(fields)
        entry = read_entry(fields, scope)
        if entry is not None:
            entries.append(entry)
    for fields in referring:
        _check_reference(fields, seen)
    _check_loops(referring)
    return entries


def _refers(fields: Fields) -> bool:
    kind = fields.raw.get("kind")
    return isinstance(kind, str) and kind in _REFERRING


def _check_reference(fields: Fields, known: Collection[str] | None) -> None:
    target = fields.raw.get("entry")
    if not _refers(fields) or not isinstance(target, str):
        return  # what is wrong with it is reported already
    if target == fields.raw.get("id"):
        fields.wrong("entry", "another entry than this one")
    elif known is not None and target not in known:
        fields.wrong("entry", "the id of an entry of the log")


def _check_loops(referring: list[Fields]) -> None:
    """Strikes that strike each other out in a ring say nothing."""
    strikes: dict[str, Fields] = {}
    for fields in referring:
        key = fields.raw.get("id")
        if fields.raw["kind"] == "strike" and isinstance(key, str):
            strikes[key] = fields
    done: set[str] = set()
    for start in strikes:
        path: dict[str, None] = {}
        here: object = start
        while isinstance(here, str) and here in strikes and here not in done:
            done.add(here)
            path[here] = None
            here = strikes[here].raw.get("entry")
        if isinstance(here, str) and here in path and len(path) > 1:
            expected = "an entry that does not strike this one in turn"
            strikes[here].wrong("entry", expected)


__all__ = [
    "EXPOSURE_CAUTION",
    "FORMAT",
    "VERSION",
    "DocumentError",
    "WorksheetErrors",
    "cautions_of",
    "dump_json",
    "load_json",
    "parse_context",
    "parse_entry",
    "parse_profile",
    "parse_worksheet",
]
