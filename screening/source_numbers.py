"""Every fixed number that decides or is shown, with what the code says of its source.

Found by reading the modules: a number is a public constant in capitals that no profile
sets. Its source is what the comment over it says, or behind it; else that of the rule that
the comment names, of the functions that use it, of a sentence named after it, or of the
module. A number of which none says anything has no source, and the page says so.
"""

import ast
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from importlib import import_module
from types import ModuleType
from typing import Any, Final

import screening
from screening.rules import RULES
from screening.rules.found import minutes
from screening.source_checks import rule_numbers

# How documents are written and how much is remembered: nothing is judged by these.
_NOT_JUDGED_BY: Final = re.compile(
    r"screening\.(worksheet|result|source\w*|state|apply|crews|__main__)(\.|$)"
)
# What modules leave out of their own numbers. A test fails once they say it themselves.
SAID_HERE: Final[Mapping[str, str]] = {
    "screening.observed.ANY_PPM": "common practice, no source",
}
_CITES: Final = re.compile(
    r"CFR|NFPA|EPA|NIOSH|OSHA|NCRP|common practice|no source|maker|manual|health physics"
    r"|training|memory|exact|arithmetic",
    re.IGNORECASE,
)
_Definition = ast.FunctionDef | ast.ClassDef


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedNumber:
    """One number; `users` are the public functions and classes that it reaches."""

    id: str
    name: str
    number: Decimal | int | float | timedelta
    value: str  # in words
    comment: str
    source: str
    rule: int | None  # that the comment names
    users: tuple[str, ...]


def fixed_numbers() -> Iterator[FixedNumber]:
    """Every number of the engine, module by module."""
    for found in pkgutil.walk_packages(screening.__path__, "screening."):
        if not _NOT_JUDGED_BY.match(found.name):
            yield from _of_module(import_module(found.name))


def _of_module(module: ModuleType) -> Iterator[FixedNumber]:
    tree = ast.parse(inspect.getsource(module))
    users = _users(tree)
    for name, comment in _constants(module, tree):
        value = getattr(module, name)
        rule = next(iter(sorted(rule_numbers(comment))), None)
        identity = f"{module.__name__}.{name}"
        said = (
            stated_source(comment)
            or _citing(comment)
            or _source_of_rule(rule)
            or _source_of_users(module, users.get(name, ()))
            or str(getattr(module, f"{name.partition('_')[0]}_SOURCE", ""))
            or source_of_module(module)
            or SAID_HERE.get(identity, "")
        )
        yield FixedNumber(
            id=identity,
            name=name,
            number=value,
            value=minutes(value.total_seconds())
            if isinstance(value, timedelta)
            else str(value),
            comment=comment,
            source=said,
            rule=rule,
            users=users.get(name, ()),
        )


def stated_source(text: str) -> str:
    """What stands behind `Source:` up to the end of its paragraph; "" where nothing."""
    _, mark, rest = text.partition("Source:")
    words = " ".join(rest.partition("\n\n")[0].split()).rstrip(".")
    return words.replace("`", "") if mark else ""


def source_of_module(module: ModuleType | None) -> str:
    return stated_source((module and module.__doc__) or "")


def public_functions(module: ModuleType) -> list[Callable[..., Any]]:
    return [
        function
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    ]


def comment_over(module: str, name: str) -> str:
    """The comment over a table of a module."""
    lines = inspect.getsource(import_module(module)).splitlines()
    index = next(i for i, line in enumerate(lines) if line.startswith(f"{name}:"))
    return _comment_of(lines, index)


def _source_of_rule(number: int | None) -> str:
    return next((rule.source for rule in RULES if rule.number == number), "")


def _source_of_users(module: ModuleType, names: tuple[str, ...]) -> str:
    """The source of a rule from the table of rules, of others from the docstring."""
    by_function = {rule.function: rule.source for rule in RULES}
    for user in (getattr(module, name) for name in names):
        source = by_function.get(user) or stated_source(inspect.getdoc(user) or "")
        if source:
            return source
    return ""


def _citing(comment: str) -> str:
    """The sentence of a comment that says where its number is from."""
    # A semicolon in brackets parts nothing.
    sentences = re.split(r"(?<=[.:]) |(?<=;) (?![^(]*\))", comment)
    return " ".join(s for s in sentences if _CITES.search(s)).rstrip(".")


def _users(tree: ast.Module) -> dict[str, tuple[str, ...]]:
    """Which public functions and classes a name reaches, through private ones too."""
    uses = {
        node.name: {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
        for node in tree.body
        if isinstance(node, _Definition)
    }
    reached: dict[str, list[str]] = {}
    for public in uses:
        if public.startswith("_"):
            continue
        seen: set[str] = set()
        wave = {public}
        while wave:
            seen |= wave
            wave = {used for name in wave for used in uses.get(name, ())} - seen
        for name in seen - {public}:
            reached.setdefault(name, []).append(public)
    return {name: tuple(users) for name, users in reached.items()}


def _constants(module: ModuleType, tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Public numbers of a module with the comment over them, or behind them.

    A comment holds for the lines that follow it without a gap.
    """
    lines = inspect.getsource(module).splitlines()
    for node in tree.body:
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
