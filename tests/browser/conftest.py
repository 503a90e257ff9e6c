"""Real Chromium against a live server."""

import os
import shutil

import pytest

# Playwright's synchronous interface leaves an event loop running in the main thread,
# where pytest-django then uses the database. Only the browser tests set this.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


def pytest_collection_modifyitems(items):
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return {
        **browser_type_launch_args,
        "executable_path": shutil.which("chromium"),
        "args": ["--no-sandbox", "--disable-dev-shm-usage"],
    }
