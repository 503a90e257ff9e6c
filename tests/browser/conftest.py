"""Real Chromium against a live server."""

import os

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator

from tests.browser.chromium import CHROMIUM
from tests.browser.phones import PHONE as FIELD_PHONE
from tests.browser.phones import secret_for, wait_ready
from tests.browser.post import HttpsPost, Post
from tests.factories import join, open_incident

# Playwright's synchronous interface leaves an event loop running in the main thread,
# where pytest-django then uses the database. Only the browser tests set this.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


def pytest_collection_modifyitems(items):
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return {**browser_type_launch_args, **CHROMIUM}


@pytest.fixture(scope="session", autouse=True)
def _pages_are_read_to_their_end():
    """What follows a press sees the whole of the page that the press leads to.

    Playwright goes on as soon as the first bytes of it are there: a busy machine has
    then no body yet. Where the press leads nowhere this waits for nothing.
    """

    def and_wait(act):
        def acted(self, *args, **kwargs):
            page = self.page
            act(self, *args, **kwargs)
            if not page.is_closed():
                page.wait_for_load_state("domcontentloaded")

        return acted

    with pytest.MonkeyPatch.context() as patch:
        for name in ("click", "press"):
            patch.setattr(Locator, name, and_wait(getattr(Locator, name)))
        yield


@pytest.fixture
def incident(transactional_db):
    return open_incident(at=timezone.now())


@pytest.fixture
def open_as(browser, live_server, _blocked_by_policy):
    """A page of a browser of its own, signed in; `options` are those of the context."""
    contexts = []

    def open_page(person, path="/", **options):
        client = Client()
        client.force_login(person)
        context = browser.new_context(base_url=live_server.url, **options)
        contexts.append(context)
        context.add_cookies(
            [
                {
                    "name": settings.SESSION_COOKIE_NAME,
                    "value": client.cookies[settings.SESSION_COOKIE_NAME].value,
                    "url": live_server.url,
                }
            ]
        )
        context.expose_function(
            "blockedByPolicy", lambda words: _blocked_by_policy.append(words)
        )
        context.add_init_script(
            "document.addEventListener('securitypolicyviolation', (event) => "
            "window.blockedByPolicy(`${event.violatedDirective} ${event.sourceFile}`))"
        )
        page = context.new_page()
        page.goto(path)
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture
def _blocked_by_policy():
    """No page of any test may ask for what the content policy forbids."""
    blocked = []
    yield blocked
    assert blocked == []


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """One post for the module; each test begins with it up."""
    with Post(tmp_path_factory.mktemp("post")) as post:
        yield post


@pytest.fixture
def post(served):
    if served.process is None:
        served.start()
    return served


@pytest.fixture
def start_browser(browser_type, tmp_path):
    """A Chromium of its own home, for which the post's name is this machine."""
    browsers = []

    def start(*args, home=tmp_path, **options):
        browser = browser_type.launch(
            executable_path=CHROMIUM["executable_path"],
            args=[
                *CHROMIUM["args"],
                f"--host-resolver-rules=MAP {HttpsPost.HOST} 127.0.0.1",
                *args,
            ],
            env={**os.environ, "HOME": str(home)},
        )
        browsers.append(browser)
        return browser.new_context(**FIELD_PHONE, **options).new_page()

    yield start
    for browser in browsers:
        browser.close()


PHONE = {
    "viewport": {"width": 360, "height": 740},
    "is_mobile": True,
    "has_touch": True,
}
TABLET = {"viewport": {"width": 1024, "height": 768}}


@pytest.fixture
def phone(open_as, incident):
    """Opens a page of the incident on a technician's phone."""
    person = join(incident, "technician", display_name="T. Rowan")
    return lambda name, *args, **options: open_as(
        person,
        reverse(f"incidents:{name}", args=(incident.pk, *args)),
        **(PHONE | options),
    )


@pytest.fixture
def tablet(open_as, incident):
    """Opens a page of the incident on the commander's tablet."""
    return lambda name, *args, **options: open_as(
        incident.opened_by,
        reverse(f"incidents:{name}", args=(incident.pk, *args)),
        **(TABLET | options),
    )


@pytest.fixture
def open_phone(browser, live_server, incident):
    """A phone that has joined, of one size and scheme; `script` runs before its page."""
    contexts = []

    def make(script="", **options):
        context = browser.new_context(
            base_url=live_server.url,
            **(FIELD_PHONE | {"reduced_motion": "reduce"} | options),
        )
        contexts.append(context)
        if script:
            context.add_init_script(script)
        page = context.new_page()
        page.goto(f"/field/#join={secret_for(incident)}")
        wait_ready(page)
        return page

    yield make
    for context in contexts:
        context.close()
