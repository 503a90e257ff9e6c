"""The files as production collects them."""

import re

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.management import call_command

from incidents.views.field import ASSETS

PRODUCTION = {"staticfiles": {"BACKEND": "config.static_files.HashedFiles"}}


@pytest.fixture
def collected(settings, tmp_path):
    """Our own files, hashed; their place."""
    settings.STORAGES = settings.STORAGES | PRODUCTION
    settings.STATIC_ROOT = tmp_path
    settings.STATICFILES_FINDERS = [
        "django.contrib.staticfiles.finders.FileSystemFinder"
    ]
    call_command("collectstatic", interactive=False, verbosity=0)
    return tmp_path


def test_the_phone_keeps_each_script_under_the_name_that_it_is_asked_for(collected):
    """Else its page could not open without a link."""
    kept = {staticfiles_storage.stored_name(name) for name in ASSETS}

    asked = {
        f"field/{name}"
        for path in kept
        if path.startswith("field/")
        for name in re.findall(r'"\./(.+?\.js)"', (collected / path).read_text("utf-8"))
    }

    assert len(asked) >= 10
    assert asked <= kept
