"""What holds for the repository as a whole: its tree, its commands, what it pins."""

import ast
import importlib.metadata
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from incidents.views.field import ASSETS

ROOT = Path(__file__).resolve().parent.parent
STATIC = ROOT / "static"
TOP_LEVEL = {
    "LICENSE",
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "pyproject.toml",
    "constraints.txt",
    "command",
    "config",
    "incidents",
    "screening",
    "reports",
    "review",
    "templates",
    "static",
    "tests",
    "demo_fixtures",
    "docs",
    "bench",
}
COMMANDS = (
    "python3 -m venv .venv && .venv/bin/pip install -c constraints.txt -e . "
    "&& .venv/bin/python manage.py demo",
    "python3 -m venv .venv && .venv/bin/pip install -c constraints.txt -e '.[test]' "
    "&& .venv/bin/python -m pytest",
)
HEAVY = ("pint", "reportlab", "pyhanko", "PIL")
LARGEST_PICTURE = 150_000


def tracked():
    """The files that a clone holds."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    names = sorted(filter(None, listed.stdout.split("\0")))
    return [ROOT / name for name in names if (ROOT / name).is_file()]


def texts():
    for path in tracked():
        try:
            yield path, path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


def run(*arguments, **environment):
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=kept | environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def project():
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]


def test_the_top_level_is_exactly_the_agreed_one():
    top = {path.relative_to(ROOT).parts[0] for path in tracked()}

    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL


def test_the_readme_gives_its_two_commands_word_for_word():
    lines = (ROOT / "README.md").read_text("utf-8").splitlines()

    assert [line for line in lines if line.startswith("python3 -m venv")] == [*COMMANDS]


def test_the_readme_begins_with_one_paragraph_that_states_the_job():
    title, paragraph, *_ = (ROOT / "README.md").read_text("utf-8").split("\n\n")

    assert title == "# Hazmat incident worksheet"
    assert "reading" in paragraph
    assert not paragraph.startswith(("#", "-", "`"))


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_link_into_the_repository_leads_somewhere(name):
    links = re.findall(r"\]\((?!https?:|#)([^)#]+)", (ROOT / name).read_text("utf-8"))

    assert [link for link in links if not (ROOT / link).exists()] == []


def test_the_readme_shows_pictures_and_they_are_small():
    links = re.findall(
        r"!\[[^\]]+\]\(([^)]+\.png)\)", (ROOT / "README.md").read_text("utf-8")
    )

    assert len(links) >= 3
    sizes = {link: (ROOT / link).stat().st_size for link in links}
    assert {k: v for k, v in sizes.items() if v >= LARGEST_PICTURE} == {}


def test_the_licence_is_the_one_that_the_package_declares():
    text = (ROOT / "LICENSE").read_text("utf-8")

    assert text.startswith("BSD 3-Clause License")
    assert "The Hazmat Incident Worksheet contributors" in text
    assert project()["license"] == "BSD-3-Clause"


def test_the_whole_check_is_executable():
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_no_file_names_a_place_on_the_machine_where_it_was_written():
    # A home, or the folder that this clone lies in where that says anything.
    places = [r"/home/\w+/", r"/root/", r"/Users/\w+/"]
    if len(ROOT.parts) > 2:
        places.append(re.escape(f"{ROOT}/"))
    pattern = re.compile("|".join(places))
    found = [
        f"{path.relative_to(ROOT)}: {match.group()}"
        for path, text in texts()
        if path != Path(__file__).resolve()
        for match in pattern.finditer(text)
    ]

    assert found == []


def scripts_of_the_phone():
    """Those that its page names, and what they import in their turn."""
    shell = (ROOT / "templates" / "field" / "shell.html").read_text("utf-8")
    waiting = [
        STATIC / name for name in re.findall(r"""src="{% static '(.+?)' %}""", shell)
    ]
    found = set()
    while waiting:
        path = waiting.pop()
        if path not in found:
            found.add(path)
            imported = re.findall(r'(?:from|import) "(.+?)"', path.read_text("utf-8"))
            waiting += [(path.parent / name).resolve() for name in imported]
    return found


def test_the_phone_s_own_scripts_stay_small():
    """As they are served, comments and all: a phone in a basement loads them over a weak
    link, and somebody has to read them whole."""
    sizes = {
        str(path.relative_to(STATIC)): path.stat().st_size
        for path in scripts_of_the_phone()
    }

    assert {"field/app.js", "field/warn.js", "js/pad.js"} < sizes.keys()
    assert sum(sizes.values()) < 40_000, sizes


def test_the_phone_loads_every_script_that_is_written_for_it_and_keeps_each():
    """One that the worker does not keep is missing where there is no link."""
    loaded = scripts_of_the_phone()

    assert set((STATIC / "field").glob("*.js")) <= loaded
    kept = {STATIC / name for name in ASSETS if name.endswith(".js")}
    assert kept == loaded


def test_what_the_phone_says_is_there_and_is_said():
    """Each sentence of words.html by the name that a script calls it by, and none besides."""
    text = (ROOT / "templates" / "field" / "words.html").read_text("utf-8")
    there = re.findall(r'<template id="words-([a-z-]+)">', text)
    called = ["waiting-waits", "photo-waits", "now-out", "now-revoked"]
    called += [f"link-{state}" for state in ("none", "good", "out", "revoked")]
    for path in scripts_of_the_phone():
        for given in re.findall(r"\bwords\((.+)", path.read_text("utf-8")):
            called += re.findall(r'"([a-z-]+)"', given)

    assert sorted(there) == sorted(set(called))


def test_no_script_is_longer_than_a_person_reads_at_a_time():
    lengths = {
        str(path.relative_to(STATIC)): len(path.read_text("utf-8").splitlines())
        for path in STATIC.rglob("*.js")
    }

    assert len(lengths) >= 20
    assert {name: lines for name, lines in lengths.items() if lines > 400} == {}


# --- What is loaded, and when -------------------------------------------------------


def test_checking_the_project_loads_none_of_the_heavy_packages(tmp_path):
    code = (
        "import sys; from django.core.management import execute_from_command_line; "
        "execute_from_command_line(['manage.py', 'check']); "
        f"print([n for n in {HEAVY!r} if n in sys.modules])"
    )

    done = run(
        "-c",
        code,
        DJANGO_SETTINGS_MODULE="config.settings",
        WORKSHEET_DATA=str(tmp_path),
    )

    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize(
    "module", ["screening.worksheet", "screening.state", "screening.result"]
)
def test_the_engine_is_imported_without_a_registry_of_units(module):
    done = run("-c", f"import sys, {module}; print('pint' in sys.modules)")

    assert done.stdout.strip() == "False", done.stderr


# --- What is pinned -----------------------------------------------------------------


def pins():
    lines = (ROOT / "constraints.txt").read_text("utf-8").split()
    return dict(line.split("==") for line in lines)


def needed(requirements, seen=None):
    """The distributions that these ask for in turn, as installed here."""
    seen = {} if seen is None else seen
    for text in requirements:
        requirement = Requirement(text)
        for extra in requirement.extras or {""}:
            key = (canonicalize_name(requirement.name), extra)
            marker = requirement.marker
            if key in seen or (marker and not marker.evaluate({"extra": ""})):
                continue
            seen[key] = requirement
            inner = importlib.metadata.requires(requirement.name) or []
            needed([_with_extra(text, extra) for text in inner], seen)
    return seen


def _with_extra(text, extra):
    """The requirement without its condition on `extra`, where that holds."""
    requirement = Requirement(text)
    if requirement.marker and requirement.marker.evaluate({"extra": extra}):
        requirement.marker = None
    return str(requirement)


def test_every_distribution_is_pinned_to_one_version():
    lines = (ROOT / "constraints.txt").read_text("utf-8").splitlines()

    assert [n for n in lines if not re.fullmatch(r"[\w.\-]+==[\w.!+]+", n)] == []
    assert len(pins()) == len(lines)


def test_the_pins_cover_all_that_an_installation_brings():
    found = project()
    wanted = needed(found["dependencies"] + found["optional-dependencies"]["test"])
    pinned = {canonicalize_name(name) for name in pins()}

    assert sorted({name for name, _ in wanted} - pinned) == []


def test_each_pin_lies_in_the_range_that_the_project_asks_for():
    found = project()
    versions = {canonicalize_name(name): pin for name, pin in pins().items()}
    wanted = map(
        Requirement, found["dependencies"] + found["optional-dependencies"]["test"]
    )

    assert [
        str(requirement)
        for requirement in wanted
        if versions[canonicalize_name(requirement.name)] not in requirement.specifier
    ] == []


# --- How the tests are kept ----------------------------------------------------------


def test_every_test_that_touches_the_database_runs_on_both():
    """`.ci/run` picks them by the mark; the browser's are run on SQLite only."""
    unmarked = [
        str(path.relative_to(ROOT))
        for path, text in texts()
        if path.name.startswith("test_")
        and path.suffix == ".py"
        and "browser" not in path.parts
        and "mark.django_db" in text
        and "mark.db_both" not in text
    ]

    assert unmarked == []


def test_every_test_asserts_something_or_expects_a_refusal():
    empty = []
    for path, text in texts():
        if not (path.name.startswith("test_") and path.suffix == ".py"):
            continue
        for node in ast.walk(ast.parse(text)):
            is_test = isinstance(node, ast.FunctionDef) and node.name.startswith("test")
            if is_test and not _checks_something(node):
                empty.append(f"{path.relative_to(ROOT)}: {node.name}")

    assert empty == []


def _checks_something(test):
    """An assert, a `raises`, or a helper whose name says that it asserts."""
    for node in ast.walk(test):
        if isinstance(node, ast.Assert):
            return True
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func)
            if re.search(r"raises|expect|assert|check|agree|must", name, re.I):
                return True
    return False
