"""Every rule, limit, number, formula and table with its source, and the tests of it.

Made from the code: rules and limits from their tables, formulas from the `Source:` of
their docstrings, fixed numbers from the comment over them, substances from the cells'
own sources, tests by reading the tests. What has no source or no test says so.
"""

import inspect
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from screening import planning, planning_numbers, trends
from screening.methods import METHODS
from screening.profile import DEFAULT_PAPER_CHART, LIMITS, with_unit
from screening.rules import COMMON_PRACTICE, RULES
from screening.source_checks import TESTS, Coverage, coverage_of, tests_are_here
from screening.source_numbers import (
    comment_over,
    fixed_numbers,
    public_functions,
    source_of_module,
    stated_source,
)
from screening.statements import CROSS_SENSITIVITY
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
    functions += [trends.trend, trends.forecast, *public_functions(planning_numbers)]
    for function in sorted(dict.fromkeys(functions), key=lambda f: f.__name__):
        text = inspect.getdoc(function) or ""
        source = stated_source(text) or source_of_module(inspect.getmodule(function))
        yield SourceRow(
            kind="formula",
            id=f"{function.__module__}.{function.__name__}",
            title=" ".join(text.partition("\n\n")[0].split()),
            source=source,
            status=status_of(source),
            checks=covered.of_code(function.__name__),
        )


def _numbers(covered: Coverage) -> Iterator[SourceRow]:
    for number in fixed_numbers():
        # A test that names the number says more than one that only uses what uses it.
        checks = [*covered.of(number.name)]
        if not checks:
            for function in number.users:
                checks += covered.of_code(function)
                checks += _rule_checks(function, covered)
            if number.rule is not None:
                checks += covered.of_rule(number.rule)
        yield SourceRow(
            kind="fixed number",
            id=number.id,
            title=number.comment or number.name,
            value=number.value,
            source=number.source,
            status=status_of(number.source),
            checks=tuple(dict.fromkeys(checks)),
        )


def _rule_checks(name: str, covered: Coverage) -> tuple[str, ...]:
    """The tests of the rule of this name; () where there is none."""
    numbers = [rule.number for rule in RULES if rule.name == name]
    # A name that is also a hazard's or a limit's says nothing of the rule.
    by_name = covered.of(name) if numbers and name not in _SHARED else ()
    of_rule = (test for number in numbers for test in covered.of_rule(number))
    return tuple(dict.fromkeys((*by_name, *of_rule)))


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
    categories = stated_source(inspect.getdoc(planning.heat_index_category) or "")
    yield SourceRow(
        kind="table",
        id="screening.planning.heat.HEAT_INDEX_CATEGORIES",
        title="Categories of the heat index",
        source=categories,
        status=status_of(categories),
        checks=covered.of_code("HEAT_INDEX_CATEGORIES", "heat_index_category"),
    )
    yield _cross_sensitivity(covered)
    chart = comment_over("screening.profile", "DEFAULT_PAPER_CHART")
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
        substance.isolation,
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
