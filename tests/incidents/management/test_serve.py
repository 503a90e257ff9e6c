"""`manage.py serve --https`: a real server process, trusted through its own authority."""

import hashlib
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
SECONDS = 60


def free():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """What it printed, and where its data lie."""
    data = tmp_path_factory.mktemp("served")
    environment = {
        key: value
        for key, value in os.environ.items()
        if key not in ("DATABASE_URL", "WORKSHEET_MODE", "ALLOWED_HOSTS")
    } | {"WORKSHEET_DATA": str(data), "PYTHONUNBUFFERED": "1"}
    command = [
        sys.executable, "manage.py", "serve", "--https", "localhost",
        "--address", "127.0.0.1", "--port", str(free()),
    ]  # fmt: skip
    process = subprocess.Popen(
        command,
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    try:
        lines = []
        for line in process.stdout:
            lines.append(line)
            if "Ctrl-C" in line:
                break
        yield "".join(lines), data
    finally:
        os.killpg(process.pid, signal.SIGTERM)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait(10)
        process.stdout.close()


def fetch(address, context=None):
    """The answer, once the server is up."""
    ends = time.monotonic() + SECONDS
    while True:
        try:
            with urllib.request.urlopen(address, timeout=10, context=context) as answer:
                return answer.read(), answer.headers
        except urllib.error.URLError as error:
            if not isinstance(error.reason, ConnectionRefusedError):
                raise
            if time.monotonic() > ends:
                raise
            time.sleep(0.2)


def printed(served, pattern):
    return re.search(pattern, served[0]).group(1)


def test_who_has_installed_the_authority_trusts_the_worksheet(served):
    address = printed(served, r"The worksheet: (\S+)")
    install = printed(served, r"For each phone, once: (\S+)")
    der, headers = fetch(f"{install.replace('localhost', '127.0.0.1')}authority.crt")
    assert headers["Content-Type"] == "application/x-x509-ca-cert"
    trusting = ssl.create_default_context(cadata=der)

    page, _ = fetch(f"{address}health/", trusting)
    assert b"ok" in page
    _, headers = fetch(f"{address}sign-in/", trusting)
    cookie = headers["Set-Cookie"]
    assert "Secure" in cookie

    with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
        fetch(f"{address}health/", ssl.create_default_context())


def test_the_page_for_phones_shows_the_fingerprint_that_the_terminal_shows(served):
    install = printed(served, r"For each phone, once: (\S+)")
    base = install.replace("localhost", "127.0.0.1")
    page = fetch(base)[0].decode()
    der, _ = fetch(f"{base}authority.crt")
    digest = hashlib.sha256(der).hexdigest().upper()
    mark = ":".join(digest[i : i + 2] for i in range(0, 64, 2))
    assert mark in page
    assert mark in served[0]
    assert printed(served, r"The worksheet: (\S+)") in page


def test_it_gives_nothing_else_away(served):
    install = printed(served, r"For each phone, once: (\S+)")
    with pytest.raises(urllib.error.HTTPError, match="404"):
        fetch(install.replace("localhost", "127.0.0.1") + "authority-key.pem")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--https", "http://post"], "no host name or address"),
        (["--https", "post", "--key", "k.pem"], "go together"),
        (
            ["--https", "post", "--key", "k.pem", "--certificate", "c.pem"],
            "There is no",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_words(arguments, words):
    from django.core.management import CommandError, call_command

    with pytest.raises(CommandError, match=words):
        call_command("serve", *arguments)
