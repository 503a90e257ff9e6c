"""After all migrations every table of the record has the triggers that refuse changes."""

import importlib
import pkgutil
import re
import sqlite3
from contextlib import closing, contextmanager

from incidents import migrations
from tests.incidents.management.test_backup import run


class Asked:
    """A connection to SQLite that only notes which triggers it is asked to create."""

    vendor = "sqlite"

    def __init__(self):
        self.triggers = set()

    @contextmanager
    def cursor(self):
        yield self

    def execute(self, statement, *values):
        self.triggers |= set(re.findall(r"CREATE TRIGGER (\w+)", statement))


def test_no_migration_drops_a_trigger_with_the_table_that_it_makes_anew(tmp_path):
    """SQLite makes a table anew for a new column; its triggers go with the old one."""
    wanted = Asked()
    for found in pkgutil.iter_modules(migrations.__path__):
        one = importlib.import_module(f"incidents.migrations.{found.name}")
        if hasattr(one, "install"):
            one.install(wanted)
    place = tmp_path / "place"

    run(place, "manage.py", "migrate", "--verbosity", "0")

    with closing(sqlite3.connect(place / "worksheet.sqlite3")) as made:
        rows = made.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        there = {name for (name,) in rows}
    assert "incidents_incident_no_delete" in wanted.triggers
    assert wanted.triggers <= there
