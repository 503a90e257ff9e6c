"""The sealed file in programs that have no part in making it: OpenSSL, poppler."""

import hashlib
import io
import shutil
import subprocess
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.pdf_utils.reader import PdfFileReader

from reports import signing
from reports.signing import TimeStampServer
from tests.reports.authority import authority
from tests.reports.conftest import AGENCY, PASSPHRASE

needs_openssl = pytest.mark.skipif(
    shutil.which("openssl") is None, reason="there is no openssl on PATH"
)
needs_pdfsig = pytest.mark.skipif(
    shutil.which("pdfsig") is None, reason="there is no pdfsig on PATH"
)


def run(*arguments):
    return subprocess.run(arguments, capture_output=True, text=True, check=False)


def pem(path, *certificates):
    path.write_bytes(
        b"".join(
            x509.load_der_x509_certificate(one).public_bytes(Encoding.PEM)
            for one in certificates
        )
    )
    return str(path)


def cms_of(pdf):
    """The signature (CMS, DER) and the bytes that it is over."""
    signature = PdfFileReader(io.BytesIO(pdf)).embedded_signatures[0]
    first, length, second, rest = (int(each) for each in signature.byte_range)
    return signature, pdf[first : first + length] + pdf[second : second + rest]


@needs_openssl
@pytest.mark.parametrize("changed", [False, True])
def test_openssl_says_of_the_signature_what_we_say(sealed, root, tmp_path, changed):
    signature, covered = cms_of(sealed)
    (tmp_path / "cms.der").write_bytes(signature.pkcs7_content)
    (tmp_path / "covered").write_bytes(covered + b" " * changed)

    done = run(
        "openssl", "cms", "-verify", "-binary", "-inform", "DER",
        "-in", str(tmp_path / "cms.der"),
        "-content", str(tmp_path / "covered"),
        "-CAfile", pem(tmp_path / "root.pem", root.certificate),
        "-purpose", "any", "-no_check_time",
        "-out", str(tmp_path / "out"),
    )  # fmt: skip

    assert (done.returncode == 0) is not changed, done.stderr


@needs_openssl
@pytest.mark.parametrize("changed", [False, True])
def test_openssl_says_of_the_time_stamp_what_we_say(draft, tmp_path, changed):
    at = datetime.now(UTC) - timedelta(hours=1)
    root = signing.make_root(agency=AGENCY, passphrase=PASSPHRASE, at=at)
    signer = signing.issue_signer(
        root=root, agency=AGENCY, passphrase=PASSPHRASE, at=at
    )
    with authority() as running:
        sealed = signing.sign_pdf(
            draft.pdf,
            signer,
            passphrase=PASSPHRASE,
            at=at,
            time_stamps=TimeStampServer(address=running.address),
        )
    assert sealed.level == "B-T"
    signature, _ = cms_of(sealed.pdf)
    info = signature.signer_info
    token = info["unsigned_attrs"][0]["values"][0].dump()
    (tmp_path / "token.der").write_bytes(token)
    value = info["signature"].native + b"x" * changed

    done = run(
        "openssl", "ts", "-verify", "-token_in",
        "-in", str(tmp_path / "token.der"),
        "-digest", hashlib.sha256(value).hexdigest(),
        "-CAfile", pem(tmp_path / "root.pem", running.root),
    )  # fmt: skip

    assert ("Verification: OK" in done.stdout + done.stderr) is not changed, done.stderr


@needs_pdfsig
def test_poppler_finds_the_whole_file_signed_and_valid(sealed, tmp_path):
    file = tmp_path / "report.pdf"
    file.write_bytes(sealed)

    said = run("pdfsig", "-nocert", str(file)).stdout

    assert "Signature is Valid." in said
    assert "Total document signed" in said
    assert "ETSI.CAdES.detached" in said


@needs_pdfsig
def test_poppler_finds_a_changed_byte(sealed, tmp_path):
    file = tmp_path / "report.pdf"
    place = sealed.index(b"/OutputIntent")
    file.write_bytes(sealed[:place] + b"/outputIntent" + sealed[place + 13 :])

    assert "Signature is Valid." not in run("pdfsig", "-nocert", str(file)).stdout
