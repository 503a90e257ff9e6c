"""Settings as a fresh process sees them: what production refuses, what the demo gives."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PRODUCTION = {
    "WORKSHEET_MODE": "production",
    "SECRET_KEY": "kF3-vYq9_Lw2Zt8Rx5Bn1Hc7Jd4Mg6Ps0Ua-Ei_Oo3Ty9Wz2Qk8Vx5",
    "SIGNING_PASSPHRASE": "four-plain-words-here-9",
    "ALLOWED_HOSTS": "worksheet.example.org",
}


def run(*arguments, **environment):
    kept = {
        key: os.environ[key] for key in ("PATH", "HOME", "LANG") if key in os.environ
    }
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=kept | environment,
        capture_output=True,
        text=True,
        check=False,
    )


def settings_of(*names, **environment):
    code = (
        "import json, config.settings as s;"
        f"print(json.dumps({{name: getattr(s, name) for name in {list(names)!r}}},"
        " default=str))"
    )
    result = run("-c", code, **environment)
    assert result.returncode == 0, result.stderr
    return json.loads(result.stdout)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"SECRET_KEY": ""}, "SECRET_KEY is not set"),
        ({"SECRET_KEY": "short"}, "SECRET_KEY is too weak"),
        ({"SECRET_KEY": "ab" * 40}, "SECRET_KEY is too weak"),
        ({"SECRET_KEY": "django-insecure-" + "kF3vYq9Lw2Zt8Rx" * 4}, "SECRET_KEY"),
        ({"SIGNING_PASSPHRASE": ""}, "SIGNING_PASSPHRASE is not set"),
        ({"SIGNING_PASSPHRASE": "secret"}, "SIGNING_PASSPHRASE is too weak"),
        ({"ALLOWED_HOSTS": ""}, "ALLOWED_HOSTS must name"),
        ({"ALLOWED_HOSTS": "*"}, "ALLOWED_HOSTS must name"),
        ({"DEBUG": "on"}, "DEBUG must not be on"),
        ({"WORKSHEET_MODE": "prod"}, "WORKSHEET_MODE is 'prod'"),
        ({"TIMESTAMP_URL": "ftp://time.example.org"}, "TIMESTAMP_URL is 'ftp"),
        ({"TIMESTAMP_ROOTS": "nowhere.pem"}, "TIMESTAMP_ROOTS is 'nowhere.pem'"),
        ({"SESSION_HOURS": "0"}, "SESSION_HOURS is '0'"),
        ({"SESSION_HOURS": "73"}, "SESSION_HOURS is '73'"),
        ({"SESSION_HOURS": "long"}, "SESSION_HOURS is 'long'"),
    ],
)
def test_production_refuses_to_start_and_names_the_variable(tmp_path, change, named):
    environment = PRODUCTION | {"WORKSHEET_DATA": str(tmp_path)} | change

    result = run("manage.py", "check", **environment)

    assert result.returncode != 0
    assert "ImproperlyConfigured" in result.stderr
    assert named in result.stderr


def test_production_passes_the_deployment_check_with_nothing_silenced(tmp_path):
    result = run(
        "manage.py", "check", "--deploy", "--fail-level", "WARNING",
        **PRODUCTION, WORKSHEET_DATA=str(tmp_path),
    )  # fmt: skip

    assert result.returncode == 0, result.stderr
    assert "no issues (0 silenced)" in result.stdout


def test_the_demo_starts_with_nothing_set_and_keeps_its_secrets(tmp_path):
    first = settings_of(
        "SECRET_KEY", "SIGNING_PASSPHRASE", WORKSHEET_DATA=str(tmp_path)
    )
    second = settings_of(
        "SECRET_KEY", "SIGNING_PASSPHRASE", WORKSHEET_DATA=str(tmp_path)
    )

    assert first == second
    assert len(first["SECRET_KEY"]) >= 50
    assert first["SECRET_KEY"] != first["SIGNING_PASSPHRASE"]
    assert (tmp_path / "secret-key").stat().st_mode & 0o077 == 0


def test_the_first_hasher_is_argon2_and_passwords_are_long(tmp_path):
    found = settings_of(
        "PASSWORD_HASHERS", "AUTH_PASSWORD_VALIDATORS", WORKSHEET_DATA=str(tmp_path)
    )

    assert "Argon2" in found["PASSWORD_HASHERS"][0]
    assert {"min_length": 12} in [
        validator.get("OPTIONS") for validator in found["AUTH_PASSWORD_VALIDATORS"]
    ]


@pytest.mark.parametrize(("given", "hours"), [({}, 14), ({"SESSION_HOURS": "24"}, 24)])
def test_a_session_lasts_a_shift_or_as_long_as_is_set(tmp_path, given, hours):
    found = settings_of("SESSION_COOKIE_AGE", WORKSHEET_DATA=str(tmp_path), **given)

    assert found == {"SESSION_COOKIE_AGE": hours * 3600}


def test_production_binds_its_cookies_to_this_host_over_https(tmp_path):
    names = ("SESSION_COOKIE_NAME", "CSRF_COOKIE_NAME", "SESSION_COOKIE_SECURE")

    found = settings_of(*names, **PRODUCTION, WORKSHEET_DATA=str(tmp_path))

    assert found["SESSION_COOKIE_NAME"].startswith("__Host-")
    assert found["CSRF_COOKIE_NAME"].startswith("__Host-")
    assert found["SESSION_COOKIE_SECURE"] is True


def test_the_browser_may_load_nothing_but_our_own(tmp_path):
    found = settings_of("CONTENT_SECURITY_POLICY", WORKSHEET_DATA=str(tmp_path))

    directives = found["CONTENT_SECURITY_POLICY"]["DIRECTIVES"]
    assert directives["default-src"] == ["'none'"]
    assert directives["script-src"] == ["'self'"]
    assert directives["style-src"] == ["'self'"]
    assert "unsafe" not in json.dumps(directives)


def test_postgresql_comes_by_its_address_and_keeps_a_pool(tmp_path):
    found = settings_of(
        "DATABASES",
        WORKSHEET_DATA=str(tmp_path),
        DATABASE_URL="postgres://someone:pw@db.example.org:5433/worksheet",
    )["DATABASES"]["default"]

    assert found["ENGINE"] == "django.db.backends.postgresql"
    assert (found["HOST"], found["PORT"], found["NAME"]) == (
        "db.example.org",
        5433,
        "worksheet",
    )
    assert found["OPTIONS"]["pool"]["max_size"] == 10
    assert found["CONN_MAX_AGE"] == 0
    assert "lock_timeout=20s" in found["OPTIONS"]["options"]


def test_checking_the_project_loads_no_unit_or_document_library(tmp_path):
    code = (
        "import sys; from django.core.management import execute_from_command_line as run;"
        "sys.argv = ['manage.py', 'check'];"
        "import os; os.environ['DJANGO_SETTINGS_MODULE'] = 'config.settings';"
        "run(sys.argv);"
        "print(sorted({'pint', 'reportlab', 'pyhanko', 'PIL'} & set(sys.modules)))"
    )

    result = run("-c", code, WORKSHEET_DATA=str(tmp_path))

    assert result.returncode == 0, result.stderr
    assert result.stdout.splitlines()[-1] == "[]"
