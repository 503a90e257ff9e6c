"""What every test stands on: a database in a file of its own, and no silent skips.

`WORKSHEET_REQUIRE_ALL=1` turns a skipped browser or PostgreSQL test into a failure.
"""

import asyncio
import importlib
import os
import pkgutil
import shutil
import sys
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from django.conf import settings
from django.db import connection, transaction
from django.test import TransactionTestCase
from hypothesis import settings as hypothesis_settings

from incidents import migrations

# No test asserts a time, a generated one neither: the machine may be busy.
hypothesis_settings.register_profile("suite", deadline=None)
hypothesis_settings.load_profile("suite")

REQUIRE_ALL = os.environ.get("WORKSHEET_REQUIRE_ALL") == "1"
POSTGRESQL_URL = os.environ.get(
    "WORKSHEET_POSTGRESQL_URL", "postgres://postgres@127.0.0.1:5432/postgres"
)


def pytest_configure():
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    # Every test client makes the middleware anew, which else would read each static file.
    settings.WHITENOISE_AUTOREFRESH = True


def pytest_collection_modifyitems(items):
    # What starts processes of its own takes longest: were it last, one core would idle.
    items.sort(key=lambda item: item.path.parent != Path(__file__).parent)
    if REQUIRE_ALL:
        return
    missing = {}
    if shutil.which("chromium") is None:
        missing["browser"] = "there is no chromium on PATH"
    if any(item.get_closest_marker("postgres") for item in items):
        try:
            psycopg.connect(POSTGRESQL_URL, connect_timeout=3).close()
        except psycopg.OperationalError:
            missing["postgres"] = f"no PostgreSQL answers at {POSTGRESQL_URL}"
    for item in items:
        for marker, reason in missing.items():
            if item.get_closest_marker(marker):
                item.add_marker(pytest.mark.skip(reason=reason))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item):
    """Hide the browser's event loop from all other tests.

    Playwright leaves it running in this thread to the end of the session; sealing a
    report runs one of its own and would be refused.
    """
    if item.get_closest_marker("browser"):
        return (yield)
    running = asyncio._get_running_loop()
    asyncio._set_running_loop(None)
    try:
        return (yield)
    finally:
        asyncio._set_running_loop(running)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item):
    report = yield
    needed = item.get_closest_marker("browser") or item.get_closest_marker("postgres")
    if REQUIRE_ALL and needed and report.skipped:
        report.outcome = "failed"
        report.longrepr = (
            f"skipped, but WORKSHEET_REQUIRE_ALL is set: {report.longrepr}"
        )
    return report


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory):
    """A file, not memory: a live server's threads have connections of their own."""
    database = settings.DATABASES["default"]
    if database["ENGINE"].endswith("sqlite3"):
        name = str(tmp_path_factory.mktemp("database") / "worksheet.sqlite3")
    else:
        name = f"test_worksheet_{os.getpid()}"
    database.setdefault("TEST", {})["NAME"] = name


@contextmanager
def changes_allowed():
    """Lift the triggers that guard the record, as an attacker or a flush has to."""
    every = [
        importlib.import_module(f"incidents.migrations.{found.name}")
        for found in pkgutil.iter_modules(migrations.__path__)
    ]
    guards = [one for one in every if hasattr(one, "install")]
    for one in guards:
        one.remove(connection)
    try:
        yield
    finally:
        for one in guards:
            one.install(connection)


@contextmanager
def kept_for_module(blocker):
    """What a module's tests share in the database: made once, gone with the module.

    Each test's own changes are undone within it; none of them may commit. Take what
    was made from the database again in each test: objects in memory are not undone.
    """
    with blocker.unblock():
        shared = transaction.atomic()
        shared._from_testcase = True  # as Django's own, so that `durable` may lie in it
        with shared:
            yield
            transaction.set_rollback(True)


@pytest.fixture(scope="session", autouse=True)
def _flush_lifts_the_triggers():
    """Tests that commit empty the tables afterwards; production never can."""
    flush = TransactionTestCase._fixture_teardown

    def lifted(self):
        with changes_allowed():
            flush(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lifted)
        yield


@pytest.fixture(autouse=True)
def _nothing_remembered():
    """Each test's incidents are new; what the process remembers must be, too."""
    yield
    if "incidents.engine" in sys.modules:
        sys.modules["incidents.engine"].forget()


@pytest.fixture
def postgresql_url():
    """A PostgreSQL server to make databases on; only for tests marked `postgres`."""
    return POSTGRESQL_URL
