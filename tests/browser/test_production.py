"""As it is deployed: files collected, hashed and compressed, served over https."""

import secrets

import pytest

from tests.browser.phones import log_acid, wait_empty, wait_ready
from tests.browser.post import HttpsPost


class ProductionPost(HttpsPost):
    """The demo's incident, in a server that runs as in production."""

    def __init__(self, data):
        super().__init__(data)
        self.environment |= {
            "SECRET_KEY": secrets.token_urlsafe(64),
            "SIGNING_PASSPHRASE": secrets.token_urlsafe(64),
            "STATIC_ROOT": str(data / "static"),
        }

    def begin(self):
        """Load the demo, which production has no command for, and collect the files."""
        super().begin()
        self.environment |= {
            "WORKSHEET_MODE": "production",
            "ALLOWED_HOSTS": self.HOST,
            "DATABASE_URL": f"sqlite:///{self.environment['WORKSHEET_DATA']}/"
            "worksheet.sqlite3",
        }
        self.manage("collectstatic", "--noinput", "--verbosity", "0")


@pytest.fixture(scope="module")
def production(tmp_path_factory):
    with ProductionPost(tmp_path_factory.mktemp("production")) as post:
        yield post


@pytest.fixture
def phone(start_browser):
    """A phone that takes the post's certificate."""
    return start_browser("--ignore-certificate-errors")


def test_a_phone_opens_warns_and_keeps_without_a_link_in_production(phone, production):
    """Under hashed names each script has to be kept under the name it is asked for."""
    phone.goto(f"{production.url}/field/#join={production.offer('Phone P')['secret']}")
    wait_ready(phone)
    phone.context.set_offline(True)

    phone.goto(f"{production.url}/field/")
    log_acid(phone)

    assert "Computed on the phone" in phone.inner_text(".computed")
    assert "1 waiting" in phone.inner_text("#open-waiting")
    phone.context.set_offline(False)
    wait_empty(phone)
    assert [row["device"] for row in production.log()] == ["Phone: Phone P"]
