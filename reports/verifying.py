"""Checking a sealed report, each thing separately, so that a refusal says why.

Stricter than a PDF reader: the signature must cover the whole file, nothing whatever may
have been added since, and the attached records must hash to the head that is printed.
"""

import hashlib
import io
import logging
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from reports import chain, reading
from reports.container import unknown_part
from reports.data import ChainHead
from reports.keys import fingerprint
from reports.sections.sign_off import HEAD_LABEL, HEAD_TITLE
from reports.signing import CHAIN_FILE, WORKSHEET_FILE

_PRINTED: Final = re.compile(
    re.escape(HEAD_TITLE)
    + r"\s+"
    + re.escape(HEAD_LABEL)
    + r"\s+(\d+), SHA-256\s+([0-9a-f]{64})\b"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing that was looked at. `holds` is None where it could not be."""

    name: str
    holds: bool | None
    words: str

    def __str__(self) -> str:
        outcome = {True: "holds", False: "REFUSED", None: "not checked"}[self.holds]
        return f"{self.name}: {outcome}. {self.words}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """All checks of one file, and what was read from it."""

    checks: tuple[Check, ...]
    sha256: str
    printed_head: ChainHead | None = None
    signed_at: datetime | None = None  # the signer's own word
    certificate_fingerprint: str = ""

    @property
    def holds(self) -> bool:
        """Whether every check was made and every one holds."""
        return all(check.holds for check in self.checks)

    @property
    def refused(self) -> tuple[Check, ...]:
        """The checks that found something wrong."""
        return tuple(check for check in self.checks if check.holds is False)


def verify_pdf(
    pdf: bytes,
    roots: Sequence[bytes],
    *,
    expected_sha256: str | None = None,
    expected_head: ChainHead | None = None,
) -> Verification:
    """Check a sealed report against the agency's roots (DER) and what was kept of it.

    Never raises for a bad file: what cannot be read is a check that does not hold.
    Nothing is fetched. `expected_sha256` is the hash stored when the file was made,
    `expected_head` a head kept elsewhere; without one its check says "not checked".
    """
    digest = hashlib.sha256(pdf).hexdigest()
    signature = _Signature(checks=[])
    _guarded("signature", signature.checks, lambda: _signature(pdf, roots, signature))
    printed: list[ChainHead] = []
    content: list[Check] = []
    _guarded("attachments", content, lambda: _content(pdf, content, printed))
    head = printed[0] if printed else None
    return Verification(
        checks=(
            *signature.checks,
            _stored_hash(digest, expected_sha256),
            *content,
            _kept_head(head, expected_head),
        ),
        sha256=digest,
        printed_head=head,
        signed_at=signature.at,
        certificate_fingerprint=signature.fingerprint,
    )


@dataclass(slots=True)
class _Signature:
    checks: list[Check]
    at: datetime | None = None
    fingerprint: str = ""


def _guarded(name: str, checks: list[Check], look: Any) -> None:
    try:
        look()
    except Exception as error:  # a damaged file may fail anywhere in a parser
        reason = f"The file could not be read: {type(error).__name__}: {error}"
        checks.append(Check(name=name, holds=False, words=reason))


def _signature(pdf: bytes, roots: Sequence[bytes], found: _Signature) -> None:
    from pyhanko.pdf_utils.reader import PdfFileReader

    embedded = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    if len(embedded) != 1:
        words = f"One signature was expected, {len(embedded)} found."
        found.checks.append(Check(name="signature", holds=False, words=words))
        return
    signature = embedded[0]
    found.at = signature.self_reported_timestamp
    found.fingerprint = fingerprint(signature.signer_cert.dump())
    status = _status(signature, roots, found.at)
    found.checks += [
        Check(
            name="signature",
            holds=bool(status.intact and status.valid),
            words="The signed bytes are as they were signed."
            if status.intact and status.valid
            else "The file was changed after it was signed.",
        ),
        Check(
            name="trust",
            holds=bool(status.trusted),
            words="Certified by the agency's root at the time of signing."
            if status.trusted
            else "The certificate is not from a root of the agency, or was not valid.",
        ),
        _coverage(status),
        _modification(signature, status),
        _container(pdf, signature, roots),
    ]


def _status(signature: Any, roots: Sequence[bytes], at: datetime | None) -> Any:
    from asn1crypto import x509
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko_certvalidator import ValidationContext

    # The moment is that of signing: a certificate that has expired since still holds.
    context = ValidationContext(
        trust_roots=[x509.Certificate.load(bytes(root)) for root in roots],
        allow_fetching=False,
        moment=at,
        best_signature_time=at,
    )
    with _quietly():
        return validate_pdf_signature(signature, context)


@contextmanager
def _quietly() -> Iterator[None]:
    """Keep pyHanko's log out of the way: what it finds is said in the checks."""
    log = logging.getLogger("pyhanko")
    level = log.level
    log.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        log.setLevel(level)


def _coverage(status: Any) -> Check:
    from pyhanko.sign.validation.status import SignatureCoverageLevel

    whole = status.coverage == SignatureCoverageLevel.ENTIRE_FILE
    words = "The signature covers the whole file."
    if not whole:
        words = "Something stands in the file that the signature does not cover."
    return Check(name="coverage", holds=whole, words=words)


def _modification(signature: Any, status: Any) -> Check:
    from pyhanko.sign.diff_analysis import ModificationLevel
    from pyhanko.sign.fields import MDPPerm

    level = status.modification_level
    certified = signature.docmdp_level == MDPPerm.NO_CHANGES
    none = level == ModificationLevel.NONE and bool(status.docmdp_ok)
    words = "Nothing was added after signing, and no change is allowed."
    if not certified:
        words = "The signature does not forbid changes, as a report's own does."
    elif not none:
        words = "The file was added to after it was signed."
    return Check(name="no later change", holds=none and certified, words=words)


def _container(pdf: bytes, signature: Any, roots: Sequence[bytes]) -> Check:
    """Nothing hidden beside the signature, where it cannot look itself."""
    unknown = unknown_part(pdf, signature, {fingerprint(bytes(root)) for root in roots})
    words = "Beside the signature there is nothing but known certificates."
    if unknown:
        words = f"The signature's container: {unknown}."
    return Check(name="container", holds=not unknown, words=words)


def _stored_hash(digest: str, expected: str | None) -> Check:
    name = "stored SHA-256"
    if expected is None:
        words = f"No stored hash was given; the file has {digest}."
        return Check(name=name, holds=None, words=words)
    same = digest == expected.lower()
    words = f"The file has {digest}" + (
        ", as stored." if same else f", not {expected}."
    )
    return Check(name=name, holds=same, words=words)


def _content(pdf: bytes, checks: list[Check], printed: list[ChainHead]) -> None:
    files = reading.attachments(pdf)
    missing = [name for name in (WORKSHEET_FILE, CHAIN_FILE) if name not in files]
    words = f"Missing: {', '.join(missing)}." if missing else "Both files are attached."
    checks.append(Check(name="attachments", holds=not missing, words=words))
    head = printed_head(pdf)
    if head:
        printed.append(head)
    if missing:
        return
    checks += [_chain(files, head), _worksheet(files)]


def printed_head(pdf: bytes) -> ChainHead | None:
    """The head that the last page prints under its own heading; None without one.

    What people wrote stands before it on the page, so the last one counts. Raises
    whatever the parser raises for a file that is no PDF.
    """
    found = _PRINTED.findall(reading.page_texts(pdf)[-1])
    if not found:
        return None
    seq, sha256 = found[-1]
    return ChainHead(seq=int(seq), sha256=sha256)


def _chain(files: Mapping[str, bytes], printed: ChainHead | None) -> Check:
    name = "printed head"
    if printed is None:
        return Check(name=name, holds=False, words="The last page prints no head.")
    try:
        head = chain.head_of(files[CHAIN_FILE])
    except chain.ChainError as error:
        return Check(name=name, holds=False, words=f"Attached chain: {error}.")
    if head != printed:
        words = f"The attached chain ends at record {head.seq}, {head.sha256}."
        return Check(name=name, holds=False, words=words)
    words = (
        f"The attached chain hashes to record {head.seq}, {head.sha256}, as printed."
    )
    return Check(name=name, holds=True, words=words)


def _worksheet(files: Mapping[str, bytes]) -> Check:
    try:
        differs = chain.disagreement(files[WORKSHEET_FILE], files[CHAIN_FILE])
    except chain.ChainError as error:
        differs = str(error)
    words = f"{differs}." if differs else "The worksheet says what the records say."
    return Check(name="worksheet", holds=not differs, words=words)


def _kept_head(printed: ChainHead | None, expected: ChainHead | None) -> Check:
    name = "kept head"
    if expected is None:
        return Check(name=name, holds=None, words="No head kept elsewhere was given.")
    same = printed == expected
    words = f"Record {expected.seq}, {expected.sha256}"
    words += ", as printed." if same else " was kept; the file prints another."
    return Check(name=name, holds=same, words=words)
