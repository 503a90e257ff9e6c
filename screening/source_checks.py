"""Which tests cover what, found by reading the tests and not by keeping a list.

A test counts for a name where the name stands in it, in its parameters, or in the
module's tables and helpers that it uses; for a function or a table of the engine only
where it is imported from there; for the number of a rule where its words ("rule 12",
"rules 10 to 15") or the heading over it give it, or else those of its module. That a test
names a thing says that it is looked at there, not how well.
"""

import ast
import io
import re
import tokenize
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import Final, TypeVar

TESTS: Final = Path(__file__).resolve().parent.parent / "tests"
_RULES: Final = re.compile(r"\brules? ((?:\d+(?:, (?:and )?| and | to |–|-)?)+)", re.I)
_RULE_IN_COMMENT: Final = re.compile(r"#[^\n]*\brules? \d", re.I)
_HEADING: Final = re.compile(r"^# (?:-{3}|rules? \d)", re.I)
_Key = TypeVar("_Key", str, int)
_Function = ast.FunctionDef | ast.AsyncFunctionDef
# A table or helper may use another, but not without end.
_DEEPEST: Final = 4


@dataclass(frozen=True, slots=True)
class Coverage:
    """Test ids by what they mention, in the order in which the tests stand."""

    by_word: Mapping[str, tuple[str, ...]]  # names and whole strings
    by_code: Mapping[str, tuple[str, ...]]  # what is imported from the engine
    by_rule: Mapping[int, tuple[str, ...]]

    def of(self, *words: str) -> tuple[str, ...]:
        return _joined(self.by_word, words)

    def of_code(self, *names: str) -> tuple[str, ...]:
        return _joined(self.by_code, names)

    def of_rule(self, number: int) -> tuple[str, ...]:
        return self.by_rule.get(number, ())


def _joined(
    index: Mapping[str, tuple[str, ...]], words: tuple[str, ...]
) -> tuple[str, ...]:
    return tuple(dict.fromkeys(test for word in words for test in index.get(word, ())))


def tests_are_here(root: Path) -> bool:
    """Whether the tests lie beside the package; an installed copy comes without them."""
    return (root / "engine").is_dir()


@dataclass(frozen=True, slots=True)
class _Test:
    id: str
    words: frozenset[str] = frozenset()
    code: frozenset[str] = frozenset()
    rules: frozenset[int] = frozenset()


@lru_cache(maxsize=4)
def coverage_of(root: Path = TESTS) -> Coverage:
    """Every test module below `root`, read once. Nothing where there is none."""
    tests = [test for path in sorted(root.rglob("test_*.py")) for test in _tests(path)]
    return Coverage(
        by_word=_index((test.id, test.words) for test in tests),
        by_code=_index((test.id, test.code) for test in tests),
        by_rule=_index((test.id, test.rules) for test in tests),
    )


def _index(pairs: Iterable[tuple[str, frozenset[_Key]]]) -> dict[_Key, tuple[str, ...]]:
    found: dict[_Key, list[str]] = {}
    for test, keys in pairs:
        for key in keys:
            found.setdefault(key, []).append(test)
    return {key: tuple(tests) for key, tests in found.items()}


def rule_numbers(text: str) -> set[int]:
    """The rules that a text names: "rules 10 to 12 and 26" is 10, 11, 12 and 26."""
    numbers: set[int] = set()
    for match in _RULES.finditer(text):
        words = match[1].replace("–", " to ").replace("-", " to ").replace(",", " ")
        before, ranged = 0, False
        for word in words.split():
            if word == "to":
                ranged = True
            elif word.isdigit():
                low = before if ranged else int(word)
                numbers.update(range(low, int(word) + 1))
                before, ranged = int(word), False
    return numbers


def _tests(path: Path) -> Iterator[_Test]:
    """The tests of a module; first the module itself for rules that only it names."""
    source = path.read_text(encoding="utf-8")
    tree = ast.parse(source)
    # As pytest is given it: from the folder that holds `tests`.
    module = path.as_posix()[path.as_posix().rindex("/tests/") + 1 :]
    defined, imported = _defined(tree), _imported(tree)
    comments = _comments(source)
    read = cache(partial(_said, imported=imported))  # many tests share one helper
    found = []
    for node in tree.body:
        if isinstance(node, _Function) and node.name.startswith("test_"):
            parts = _parts(node, defined, read)
            words = frozenset[str]().union(*(part.words for part in parts))
            said = (_spelt(node.name), *words, *_above(node, comments))
            found.append(
                _Test(
                    id=f"{module}::{node.name}",
                    words=words,
                    code=frozenset[str]().union(*(part.code for part in parts)),
                    rules=frozenset(rule_numbers(" ; ".join(said))),
                )
            )
    named = {number for test in found for number in test.rules}
    only_here = rule_numbers(ast.get_docstring(tree) or "") - named
    if only_here:
        yield _Test(id=module, rules=frozenset(only_here))
    yield from found


def _spelt(name: str) -> str:
    """`test_rules_13_14_oxygen` in words: "test rules 13, 14 oxygen"."""
    return re.sub(r"(\d)_(?=\d)", r"\1, ", name).replace("_", " ")


def _imported(tree: ast.Module) -> frozenset[str]:
    """The names that a module takes from the engine, modules too."""
    return frozenset(
        alias.asname or alias.name
        for node in tree.body
        if isinstance(node, ast.ImportFrom)
        and (node.module or "").startswith("screening")
        for alias in node.names
    )


def _defined(tree: ast.Module) -> dict[str, ast.stmt]:
    """The module's own tables, helpers and classes by name."""
    found: dict[str, ast.stmt] = {}
    for node in tree.body:
        if isinstance(node, _Function | ast.ClassDef):
            found[node.name] = node
        elif isinstance(node, ast.Assign):
            found.update((t.id, node) for t in node.targets if isinstance(t, ast.Name))
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            found[node.target.id] = node
    return found


def _parts(
    test: ast.stmt,
    defined: Mapping[str, ast.stmt],
    read: Callable[[ast.stmt], "_Said"],
) -> list["_Said"]:
    """What a test says, and what it uses of its module."""
    wave = [read(test)]
    parts = list(wave)
    seen: set[str] = set()
    for _ in range(_DEEPEST):
        fresh = {word for said in wave for word in said.words & defined.keys()}
        used = sorted(fresh - seen)
        seen.update(used)
        wave = [read(defined[name]) for name in used]
        parts += wave
    return parts


@dataclass(frozen=True, slots=True)
class _Said:
    """The words of a piece of a test, and what of the engine it uses.

    Of `planning.stay_time` both are words; where `planning` comes from the engine, both
    are of its code.
    """

    words: frozenset[str]
    code: frozenset[str]


def _said(node: ast.AST, imported: frozenset[str]) -> _Said:
    words: set[str] = set()
    code: set[str] = set()
    for part in ast.walk(node):
        match part:
            case ast.Name(id=word):
                words.add(word)
                if word in imported:
                    code.add(word)
            case ast.Attribute(value=value, attr=word):
                words.add(word)
                if isinstance(value, ast.Name) and value.id in imported:
                    code.add(word)
            case ast.arg(arg=word) | ast.keyword(arg=str(word)):
                words.add(word)
            case ast.Constant(value=str(word)):
                words.add(word)
    return _Said(frozenset(words), frozenset(code))


def _comments(source: str) -> list[tuple[int, int, str]]:
    """Line, column and text of every comment; none where no comment names a rule."""
    if not _RULE_IN_COMMENT.search(source):
        return []
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return [
        (*token.start, token.string)
        for token in tokens
        if token.type == tokenize.COMMENT
    ]


def _above(test: _Function, comments: list[tuple[int, int, str]]) -> Iterator[str]:
    """The comments in a test, and the last heading over it."""
    first = min((node.lineno for node in test.decorator_list), default=test.lineno)
    last = test.end_lineno or test.lineno
    heading = ""
    for line, column, text in comments:
        if first <= line <= last:
            yield text
        elif line < first and column == 0 and _HEADING.match(text):
            heading = text
    yield heading
