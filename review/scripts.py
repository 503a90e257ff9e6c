"""A drill's script: a worksheet document with times, and what a drill needs beside it.

The document is that of `screening.worksheet` with one object more, `drill`:

- `goals`: what the crew is to learn, in sentences; at least one
- `briefing`: what the crew is told at the start
- `place`: where it is said to happen
- `names`: what people call teams ("entry-1"), members ("entry-1/a") and instruments
- `asks`: ids of the entries after which the crew decides; left out, every reading
- `sees`: by id of an entry, the parts of the crew that see it; left out, all

Every error comes with its JSON Pointer, those of the worksheet among them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

from screening.incident import Worksheet
from screening.readings import Entry
from screening.worksheet import WorksheetErrors, parse_worksheet
from screening.worksheet.fields import Fields
from screening.worksheet.problems import Problems
from screening.worksheet.text import is_blank, refused

KEY: Final = "drill"
# The parts in a drill. Nobody only looks on, and the training officer leads it.
PARTS: Final = ("commander", "safety_officer", "technician", "medical")
# A drill of a day is a mistake in a date. Common practice, no source.
LONGEST: Final = timedelta(hours=12)
MOST_SENTENCES: Final = 20
LONGEST_SENTENCE: Final = 1_000
_FIELDS: Final = frozenset({"goals", "briefing", "place", "names", "asks", "sees"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """A script that was read; `worksheet.log` is in the order in which it is given."""

    worksheet: Worksheet
    goals: tuple[str, ...]
    briefing: str
    place: str
    names: Mapping[str, str]
    asks: frozenset[str]
    sees: Mapping[str, frozenset[str]]

    def seen_by(self, entry: str, part: str) -> bool:
        """Whether a part of the crew sees this entry."""
        parts = self.sees.get(entry)
        return parts is None or part in parts

    def offset(self, entry: Entry) -> timedelta:
        """How long after the first entry this one comes, in the script's own time."""
        return entry.at - self.worksheet.log[0].at

    @property
    def length(self) -> timedelta:
        return self.offset(self.worksheet.log[-1])


def read_script(document: object) -> Script:
    """A script of a document as `load_json` gives it.

    Raises `WorksheetErrors` with everything that is wrong, in worksheet and drill.
    """
    problems = Problems()
    fields = Fields.of(document, "", problems)
    problems.raise_any()
    assert fields is not None  # otherwise a problem was reported
    worksheet = _worksheet(fields, problems)
    drill = Fields.of(fields.raw.get(KEY), f"/{KEY}", problems)
    script = None
    if drill is not None:
        drill.allow(_FIELDS, "a drill")
        script = _script(drill, fields, worksheet)
    problems.raise_any()
    assert script is not None  # otherwise a problem was reported
    return script


def _worksheet(fields: Fields, problems: Problems) -> Worksheet | None:
    plain = {key: value for key, value in fields.raw.items() if key != KEY}
    try:
        worksheet = parse_worksheet(plain)
    except WorksheetErrors as errors:
        for each in errors.errors:
            problems.found(each.pointer, each.value, each.expected)
        return None
    if not worksheet.log:
        problems.wrong("/log", plain.get("log"), "at least one entry")
    elif worksheet.log[-1].at - worksheet.log[0].at > LONGEST:
        problems.found("/log", "entries of more than a day", "times within 12 hours")
    return worksheet


def _script(drill: Fields, fields: Fields, worksheet: Worksheet | None) -> Script:
    log = worksheet.log if worksheet else ()
    known = {entry.id for entry in log}
    readings = frozenset(entry.id for entry in log if entry.is_reading)
    checked = worksheet is not None
    asks = _ids(drill, known) if "asks" in drill.raw else readings
    empty = "asks" not in drill.raw or drill.raw["asks"] == []
    if checked and empty and not asks:
        drill.problems.wrong(drill.at("asks"), [], "an entry for the crew to decide on")
    return Script(
        worksheet=worksheet or _NOTHING,
        goals=_goals(drill),
        briefing=_sentence(drill, "briefing"),
        place=_sentence(drill, "place"),
        names=_names(drill),
        asks=asks,
        sees=_sees(drill, known, checked=checked),
    )


_NOTHING: Final[Any] = None  # never leaves: a problem was reported


def _goals(drill: Fields) -> tuple[str, ...]:
    raw = drill.raw.get("goals")
    if not isinstance(raw, Sequence) or isinstance(raw, str) or not raw:
        drill.wrong("goals", "a list of at least one sentence")
        return ()
    if len(raw) > MOST_SENTENCES:
        drill.wrong("goals", f"at most {MOST_SENTENCES} sentences")
    for index, goal in enumerate(raw):
        _check_sentence(drill, f"{drill.at('goals')}/{index}", goal)
    return tuple(str(goal) for goal in raw)


def _sentence(drill: Fields, name: str) -> str:
    if name not in drill.raw:
        return ""
    _check_sentence(drill, drill.at(name), drill.raw[name])
    return str(drill.raw[name])


def _check_sentence(drill: Fields, pointer: str, text: object) -> None:
    if not isinstance(text, str) or is_blank(text) or refused(text):
        drill.problems.wrong(pointer, text, "a sentence of printable text")
    elif len(text) > LONGEST_SENTENCE:
        words = f"at most {LONGEST_SENTENCE:,} characters"
        drill.problems.found(pointer, f"{len(text):,} characters", words)


def _names(drill: Fields) -> Mapping[str, str]:
    raw = drill.raw.get("names", {})
    if not isinstance(raw, Mapping):
        drill.wrong("names", "an object of names by id")
        return {}
    for key, name in raw.items():
        _check_sentence(drill, f"{drill.at('names')}/{_escaped(key)}", name)
    return {str(key): str(name) for key, name in raw.items()}


def _ids(drill: Fields, known: set[str]) -> frozenset[str]:
    raw = drill.raw["asks"]
    if not isinstance(raw, Sequence) or isinstance(raw, str):
        drill.wrong("asks", "a list of ids of entries of the log")
        return frozenset()
    for index, key in enumerate(raw):
        if known and (not isinstance(key, str) or key not in known):
            pointer = f"{drill.at('asks')}/{index}"
            drill.problems.wrong(pointer, key, "the id of an entry of the log")
    return frozenset(key for key in raw if isinstance(key, str))


def _sees(
    drill: Fields, known: set[str], *, checked: bool
) -> Mapping[str, frozenset[str]]:
    raw = drill.raw.get("sees", {})
    if not isinstance(raw, Mapping):
        drill.wrong("sees", "an object: by id of an entry, the parts that see it")
        return {}
    found: dict[str, frozenset[str]] = {}
    for key, parts in raw.items():
        pointer = f"{drill.at('sees')}/{_escaped(key)}"
        if checked and key not in known:
            drill.problems.wrong(pointer, key, "the id of an entry of the log")
        is_list = isinstance(parts, Sequence) and not isinstance(parts, str)
        if not is_list or not parts or any(part not in PARTS for part in parts):
            drill.problems.wrong(pointer, parts, f"a list of {', '.join(PARTS)}")
            continue
        found[str(key)] = frozenset(parts)
    return found


def _escaped(key: object) -> str:
    return str(key).replace("~", "~0").replace("/", "~1")
