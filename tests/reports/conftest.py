"""A sealed report, made once: keys cost time."""

import json
from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from reports import archival, chain, signing
from reports.after_action import build
from tests.reports import worksheets
from tests.reports.samples import sample

PASSPHRASE = "correct horse battery staple"
SEALED_AT = datetime(2026, 3, 4, 21, 30, tzinfo=UTC)
AGENCY = "Brookfield County Hazmat"


@pytest.fixture(scope="session")
def root():
    return signing.make_root(agency=AGENCY, passphrase=PASSPHRASE, at=SEALED_AT)


@pytest.fixture(scope="session")
def signer(root):
    return signing.issue_signer(
        root=root, agency=AGENCY, passphrase=PASSPHRASE, at=SEALED_AT
    )


@pytest.fixture(scope="session")
def draft():
    """An unsigned report with the files that belong in it."""
    sheet = worksheets.document()
    records, head = worksheets.chained(sheet)
    files = archival.sources(json.dumps(sheet).encode(), chain.chain_document(records))
    return SimpleNamespace(
        pdf=build(sample(head=head), attachments=files),
        head=head,
        records=records,
        sheet=sheet,
        files=files,
    )


@pytest.fixture(scope="session")
def seal(signer, draft):
    """Sign the draft, with anything changed."""

    def sign(pdf=None, data=None, **changes):
        if data is not None or "attachments" in changes:
            files = changes.pop("attachments", draft.files)
            pdf = build(data or sample(head=draft.head), attachments=files)
        options = {
            "passphrase": PASSPHRASE,
            "at": SEALED_AT,
            "head": draft.head,
            "signed_for": "Dana Whitlock",
        }
        key = changes.pop("signer", signer)
        return signing.sign_pdf(pdf or draft.pdf, key, **{**options, **changes}).pdf

    return sign


@pytest.fixture(scope="session")
def sealed(seal):
    return seal()
