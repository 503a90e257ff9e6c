"""A phone that trusts the post's authority works without a link; another one says why not."""

import shutil
import subprocess

import pytest

from tests.browser.phones import log_acid, wait_ready, wait_stored
from tests.browser.post import HttpsPost, Post

HOST = HttpsPost.HOST


@pytest.fixture(scope="module")
def https_post(tmp_path_factory):
    with HttpsPost(tmp_path_factory.mktemp("https")) as post:
        yield post


@pytest.fixture(scope="module")
def plain_post(tmp_path_factory):
    with Post(
        tmp_path_factory.mktemp("plain"), ALLOWED_HOSTS=f"127.0.0.1,{HOST}"
    ) as post:
        yield post


def certutil(home, *arguments):
    database = home / ".pki" / "nssdb"
    database.mkdir(parents=True, exist_ok=True)
    subprocess.run(
        ["certutil", "-d", f"sql:{database}", *arguments], check=True, timeout=60
    )


@pytest.fixture
def trusting_home(https_post, tmp_path):
    """A home whose store of authorities holds the post's, as after its installation."""
    if shutil.which("certutil") is None:
        pytest.skip(
            "there is no certutil (Debian: libnss3-tools) to trust an authority"
        )
    home = tmp_path / "home"
    certutil(home, "-N", "--empty-password")
    certutil(home, "-A", "-t", "C,,", "-n", "post", "-i", str(https_post.authority))
    return home


def join(page, post, name):
    page.goto(f"{post.url}/field/#join={post.offer(name)['secret']}")
    page.wait_for_selector("button[data-kind='ph_paper']")


def test_a_phone_that_trusts_the_authority_works_without_a_link(
    https_post, start_browser, trusting_home
):
    page = start_browser(home=trusting_home)
    join(page, https_post, "Phone that trusts")
    wait_ready(page)

    page.context.set_offline(True)
    page.reload()
    log_acid(page, place="tank room")
    assert "1 waiting" in page.inner_text("#open-waiting")
    page.context.set_offline(False)
    wait_stored(page)

    (row,) = [
        row for row in https_post.log() if row["device"] == "Phone: Phone that trusts"
    ]
    assert (row["body"]["ph"], row["body"]["place"]) == (2, "tank room")


def test_the_cookie_of_a_phone_goes_over_https_only(
    https_post, start_browser, trusting_home
):
    page = start_browser(home=trusting_home)
    join(page, https_post, "Phone with a cookie")

    (cookie,) = [
        cookie
        for cookie in page.context.cookies(f"{https_post.url}/field/link/")
        if cookie["path"] == "/field/link/"
    ]

    assert cookie["name"].startswith("__Secure-")
    assert cookie["secure"]
    assert cookie["httpOnly"]


def test_without_that_trust_no_page_opens(https_post, start_browser):
    page = start_browser()

    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(f"{https_post.url}/field/")


def test_who_passed_the_warning_is_told_why_offline_is_off_and_what_to_do(
    https_post, start_browser
):
    page = start_browser(ignore_https_errors=True)
    join(page, https_post, "Phone that does not trust")

    page.wait_for_function(
        "() => document.querySelector('#offline-words').textContent.includes('trust')"
    )
    words = page.inner_text("#offline-words")

    assert "does not trust" in words
    assert "Without a link" in words
    assert "Install the authority" in words
    assert page.evaluate("() => navigator.serviceWorker.controller") is None


def test_plain_http_says_so_and_still_logs(plain_post, start_browser):
    page = start_browser()
    plain_post.url = f"http://{HOST}:{plain_post.port}"
    page.goto(f"{plain_post.url}/field/")
    page.wait_for_selector("text=Ask the command post for a code")
    assert page.evaluate("() => isSecureContext") is False
    words = page.inner_text("#offline-words")
    assert "not served by https" in words
    assert "Without a link" in words
    assert "Install the authority" in words

    join(page, plain_post, "Phone on plain http")
    assert "not served by https" in page.inner_text("#offline-words")
    log_acid(page, place="tank room")
    wait_stored(page)

    (row,) = [
        row for row in plain_post.log() if row["device"] == "Phone: Phone on plain http"
    ]
    assert (row["body"]["ph"], row["body"]["place"]) == (2, "tank room")
