"""Every rule, limit, number, formula and table with its source, and the tests of it.

Made from the code: rules and limits from their tables, formulas from the `Source:` of
their docstrings, fixed numbers from the comment over them, substances from the cells'
own sources, tests by reading the tests. What has no source or no test says so.
"""

import ast
import inspect
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from datetime import timedelta
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any, Final

from screening import planning, planning_numbers, trends
from screening.evidence import CROSS_SENSITIVITY
from screening.methods import METHODS
from screening.profile import DEFAULT_PAPER_CHART, LIMITS, with_unit
from screening.rules import COMMON_PRACTICE, RULES
from screening.rules.found import minutes
from screening.source_checks import TESTS, Coverage, coverage_of, tests_are_here
from screening.substances import SUBSTANCES, Cell, Substance
from screening.verdicts import CAUTION, Hazard

FORMAT: Final = "hazmat-screening-sources"
VERSION: Final = 1
NOT_STATED: Final = "no source stated"
FROM_MEMORY: Final = "from memory"
ARITHMETIC: Final = "arithmetic or physics"
MAKERS: Final = "makers, suppliers or trade press"
OWN_CHOICE: Final = "this worksheet's own choice"
PUBLISHED: Final = "published"
KINDS: Final = (
    "rule", "limit", "fixed number", "formula", "table", "method", "substance",
)  # fmt: skip

# Modules whose bare numbers decide or are shown; no profile sets them.
_WITH_NUMBERS: Final = (
    "screening.looks",
    "screening.methods.doubts",
    "screening.outlook",
    "screening.planning.gases",
    "screening.planning.heat",
    "screening.planning.isolation",
    "screening.planning.radiation",
    "screening.rules.gases",
    "screening.rules.people",
    "screening.suspects",
    "screening.trends",
)
_CITES: Final = re.compile(
    r"CFR|NFPA|EPA|NIOSH|OSHA|NCRP|common practice|no source|maker|manual|health physics"
    r"|training|memory|exact|arithmetic",
    re.IGNORECASE,
)
_ARITHMETIC: Final = re.compile(
    r"arithmetic|physics|mathematics|definition|ideal gas|inverse square|exact",
    re.IGNORECASE,
)


_MAKERS: Final = re.compile(r"\b(?:makers?|supplier|trade)\b", re.IGNORECASE)
_SHARED: Final = frozenset({*Hazard, *LIMITS, "fluoride"})


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceRow:
    """One line of the page of sources."""

    kind: str  # one of KINDS
    id: str  # unique within its kind
    title: str
    value: str = ""  # of a limit or number, with its unit
    source: str
    status: str
    checks: tuple[str, ...] = ()  # ids of tests, as pytest takes them; () is none


def status_of(source: str) -> str:
    """How far a source goes, by its own words."""
    words = source.lower()
    if not words:
        return NOT_STATED
    if "memory" in words:
        return FROM_MEMORY
    if "common practice" in words or "no source" in words:
        return COMMON_PRACTICE
    if "worksheet's" in words:
        return OWN_CHOICE
    if _MAKERS.search(words):
        return MAKERS
    return ARITHMETIC if _ARITHMETIC.search(words) else PUBLISHED


def all_sources(tests: Path = TESTS) -> list[SourceRow]:
    """Every row, in the order of KINDS. The tests are read once and remembered."""
    covered = coverage_of(tests)
    return [
        *_rules(covered),
        *_limits(covered),
        *_numbers(covered),
        *_formulas(covered),
        *_tables(covered),
        *_methods(covered),
        *_substances(covered),
    ]


def document(tests: Path = TESTS) -> dict[str, Any]:
    """What `python -m screening --sources` prints, as JSON values."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "caution": CAUTION,
        "tests": "read" if tests_are_here(tests) else "not part of this installation",
        "sources": [asdict(row) for row in all_sources(tests)],
    }


def _rules(covered: Coverage) -> Iterator[SourceRow]:
    for rule in RULES:
        yield SourceRow(
            kind="rule",
            id=f"{rule.number} {rule.name}",
            title=rule.title,
            source=rule.source,
            status=rule.status,
            checks=_rule_checks(rule.name, covered),
        )


def _limits(covered: Coverage) -> Iterator[SourceRow]:
    for limit in LIMITS.values():
        default = limit.default
        yield SourceRow(
            kind="limit",
            id=limit.key,
            title=limit.label,
            value="not set" if default is None else with_unit(default, limit.unit),
            source=limit.source,
            status=status_of(limit.source),
            checks=covered.of(limit.key),
        )


def _formulas(covered: Coverage) -> Iterator[SourceRow]:
    functions = [getattr(planning, name) for name in planning.__all__]
    functions += [trends.trend, *_public_functions(planning_numbers)]
    for function in sorted(dict.fromkeys(functions), key=lambda f: f.__name__):
        text = inspect.getdoc(function) or ""
        source = stated_source(text) or _of_module(inspect.getmodule(function))
        yield SourceRow(
            kind="formula",
            id=f"{function.__module__}.{function.__name__}",
            title=" ".join(text.partition("\n\n")[0].split()),
            source=source,
            status=status_of(source),
            checks=covered.of_code(function.__name__),
        )


def _public_functions(module: ModuleType) -> list[Callable[..., Any]]:
    return [
        function
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    ]


def stated_source(text: str) -> str:
    """What stands behind `Source:` up to the end of its paragraph; "" where nothing."""
    _, mark, rest = text.partition("Source:")
    words = " ".join(rest.partition("\n\n")[0].split()).rstrip(".")
    return words.replace("`", "") if mark else ""


def _of_module(module: ModuleType | None) -> str:
    return stated_source((module and module.__doc__) or "")


def _numbers(covered: Coverage) -> Iterator[SourceRow]:
    for name in _WITH_NUMBERS:
        module = import_module(name)
        users = _users(module)
        for constant, comment in _constants(module):
            functions = users.get(constant, [])
            source = (
                stated_source(comment)
                or _citing(comment)
                or next(filter(None, map(_source_of, functions)), "")
                or _of_module(module)
            )
            value = getattr(module, constant)
            checks = [*covered.of_code(constant)]
            for function in functions:
                checks += covered.of_code(function.__name__)
                checks += _rule_checks(function.__name__, covered)
            yield SourceRow(
                kind="fixed number",
                id=f"{name}.{constant}",
                title=comment or constant,
                value=minutes(value.total_seconds())
                if isinstance(value, timedelta)
                else str(value),
                source=source,
                status=status_of(source),
                checks=tuple(dict.fromkeys(checks)),
            )


def _users(module: ModuleType) -> dict[str, list[Callable[..., Any]]]:
    """The public functions of a module by the names that they use."""
    users: dict[str, list[Callable[..., Any]]] = {}
    for function in _public_functions(module):
        for name in function.__code__.co_names:
            users.setdefault(name, []).append(function)
    return users


def _source_of(function: Callable[..., Any]) -> str:
    """The source of a rule from the table of rules, of others from the docstring."""
    for rule in RULES:
        if rule.function is function:
            return rule.source
    return stated_source(inspect.getdoc(function) or "")


def _rule_checks(name: str, covered: Coverage) -> tuple[str, ...]:
    """The tests of the rule of this name; () where there is none."""
    numbers = [rule.number for rule in RULES if rule.name == name]
    # A name that is also a hazard's or a limit's says nothing of the rule.
    by_name = covered.of(name) if numbers and name not in _SHARED else ()
    of_rule = (test for number in numbers for test in covered.of_rule(number))
    return tuple(dict.fromkeys((*by_name, *of_rule)))


def _citing(comment: str) -> str:
    """The sentence of a comment that says where its number is from."""
    sentences = re.split(r"(?<=[.:;]) ", comment)
    return " ".join(s for s in sentences if _CITES.search(s)).rstrip(".")


def _constants(module: ModuleType) -> Iterator[tuple[str, str]]:
    """Public numbers of a module with the comment over them, or behind them.

    A comment holds for the lines that follow it without a gap.
    """
    text = inspect.getsource(module)
    lines = text.splitlines()
    for node in ast.parse(text).body:
        match node:
            case ast.AnnAssign(target=ast.Name(id=name)):
                pass
            case ast.Assign(targets=[ast.Name(id=name)]):
                pass
            case _:
                continue
        if _is_number(node) and name.isupper() and not name.startswith("_"):
            yield name, _comment_of(lines, node.lineno - 1)


def _is_number(node: ast.stmt) -> bool:
    value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
    if isinstance(value, ast.Call) and isinstance(value.func, ast.Name):
        return value.func.id in ("Decimal", "timedelta")
    return isinstance(value, ast.Constant) and isinstance(value.value, int | float)


def _comment_of(lines: list[str], index: int) -> str:
    _, mark, behind = lines[index].partition("  # ")
    if mark:
        return behind
    above = index - 1
    while above >= 0 and lines[above] and not lines[above].startswith(("#", " ", ")")):
        above -= 1
    words: list[str] = []
    while above >= 0 and lines[above].startswith("#"):
        words.insert(0, lines[above].lstrip("# "))
        above -= 1
    return " ".join(words)


def _tables(covered: Coverage) -> Iterator[SourceRow]:
    cells = [cell for substance in SUBSTANCES for cell in _cells(substance)]
    yield SourceRow(
        kind="table",
        id="screening/data/substances.csv",
        title=f"Reference table of {len(SUBSTANCES)} substances",
        source="each cell has its own: see the substances",
        status=_counted(cell.status for cell in cells),
        checks=covered.of_code("SUBSTANCES", "load"),
    )
    yield SourceRow(
        kind="table",
        id="screening.methods.METHODS",
        title=f"{len(METHODS)} methods: when each can tell, cannot, and never",
        source="each row has its own: see the methods",
        status=_counted(row.status for row in METHODS),
        checks=covered.of_code("METHODS"),
    )
    monitoring = stated_source(inspect.getdoc(planning.monitoring_interval) or "")
    yield SourceRow(
        kind="table",
        id="screening.planning.heat.MONITORING_TABLE",
        title="Adjusted temperature and time to the first physiological check",
        source=monitoring,
        status=status_of(monitoring),
        checks=covered.of_code("MONITORING_TABLE", "monitoring_interval"),
    )
    yield _cross_sensitivity(covered)
    chart = _comment_over("screening.profile", "DEFAULT_PAPER_CHART")
    yield SourceRow(
        kind="table",
        id="screening.profile.DEFAULT_PAPER_CHART",
        title=f"pH by the colour of the paper, {len(DEFAULT_PAPER_CHART)} bands",
        source=stated_source(chart),
        status=status_of(stated_source(chart)),
        checks=(
            *covered.of_code("DEFAULT_PAPER_CHART"),
            *covered.of("paper_chart", "band"),
        ),
    )


def _cross_sensitivity(covered: Coverage) -> SourceRow:
    sources = {
        source for gases in CROSS_SENSITIVITY.values() for _, source in gases.values()
    }
    return SourceRow(
        kind="table",
        id="screening.evidence.CROSS_SENSITIVITY",
        title="What a gas cell shows of other gases",
        source="; ".join(sorted(sources)),
        status=PUBLISHED,
        checks=covered.of_code("CROSS_SENSITIVITY"),
    )


def _comment_over(module: str, name: str) -> str:
    lines = inspect.getsource(import_module(module)).splitlines()
    index = next(i for i, line in enumerate(lines) if line.startswith(f"{name}:"))
    return _comment_of(lines, index)


def _methods(covered: Coverage) -> Iterator[SourceRow]:
    # "C14" may be the id of anything: it counts where the table itself is looked at.
    looked_at = {*covered.of_code("by_id", "beyond_our_tools", "rows_on", "row_of")}
    for row in METHODS:
        by_id = (test for test in covered.of(row.id) if test in looked_at)
        by_key = covered.of(*(sentence.key for sentence in row.says))
        yield SourceRow(
            kind="method",
            id=row.id,
            title=f"{row.subject}: {row.method}",
            source=row.source,
            status=row.status,
            checks=tuple(dict.fromkeys((*by_id, *by_key))),
        )


def _substances(covered: Coverage) -> Iterator[SourceRow]:
    for substance in SUBSTANCES:
        cells = _cells(substance)
        yield SourceRow(
            kind="substance",
            id=substance.name,
            title=f"{substance.name}, {substance.formula}, CAS {substance.cas}",
            source="; ".join(dict.fromkeys(cell.source for cell in cells)),
            status=_counted(cell.status for cell in cells),
            checks=covered.of(substance.name, substance.cas, *substance.aliases),
        )


def _cells(substance: Substance) -> list[Cell[Any]]:
    """Every value of a row that has a source of its own."""
    single: tuple[Cell[Any] | None, ...] = (
        substance.molar_mass, substance.idlh, substance.ionisation,
        substance.vapour_pressure, substance.vapour_pressure_published,
        substance.boiling_point, substance.vapour_density, substance.un_number,
    )  # fmt: skip
    several: tuple[Cell[Any], ...] = (
        *substance.lel.values(), *substance.uel.values(), *substance.limits.values(),
        *substance.flash_point.values(),
        *(response.cell for response in substance.papers.values()),
    )  # fmt: skip
    return [cell for cell in (*single, *several) if cell is not None]


def _counted(statuses: Iterable[str]) -> str:
    """How many of each: "read 12, memory 3"."""
    counted = Counter(statuses)
    return ", ".join(f"{status} {number}" for status, number in counted.most_common())
