"""Checking a sealed report, each thing separately, so that a refusal says why.

Stricter than a PDF reader: the signature must cover the whole file, nothing whatever may
have been added since, and the attached records must hash to the head that is printed.
"""

import hashlib
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from reports import chain, reading
from reports.archival import CHAIN_FILE, WORKSHEET_FILE
from reports.checks import Check, revocation, time_stamp
from reports.container import stamp_fault, unknown_part
from reports.data import ChainHead
from reports.keys import fingerprint
from reports.quiet import quietly
from reports.revoking import Revoked
from reports.sections.sign_off import HEAD_LABEL, HEAD_TITLE
from reports.time_stamps import Stamp, level_of, stamp_in

STORED_HASH: Final = "stored SHA-256"
KEPT_HEAD: Final = "kept head"
_PRINTED: Final = re.compile(
    re.escape(HEAD_TITLE)
    + r"\s+"
    + re.escape(HEAD_LABEL)
    + r"\s+(\d+), SHA-256\s+([0-9a-f]{64})\b"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """All checks of one file, and what was read from it."""

    checks: tuple[Check, ...]
    sha256: str
    printed_head: ChainHead | None = None
    signed_at: datetime | None = None  # the signer's own word
    stamp: Stamp | None = None  # another's word, where there is a time-stamp
    signer: str = ""  # the name in the certificate: whoever made it chose it
    level: str = ""  # of PAdES: B-B, B-T or B-LT
    certificate_fingerprint: str = ""
    # The top of the certificates in the file, as they name each other; to compare only.
    root_fingerprint: str = ""
    anchor_fingerprint: str = (
        ""  # the trusted root that certified it; "" where none did
    )

    @property
    def holds(self) -> bool:
        """Whether every check was made and every one holds."""
        return all(check.holds for check in self.checks)

    def held_against(
        self, *, sha256: str | None, head: ChainHead | None
    ) -> "Verification":
        """The same with what was kept elsewhere: the hash stored when the file was made
        and a head. Without one its check says "not checked".
        """
        kept = (
            *(one for one in self.checks if one.name not in (STORED_HASH, KEPT_HEAD)),
            _stored_hash(self.sha256, sha256),
            _kept_head(self.printed_head, head),
        )
        return replace(self, checks=kept)

    @property
    def refused(self) -> tuple[Check, ...]:
        """The checks that found something wrong."""
        return tuple(check for check in self.checks if check.holds is False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the one who checks knows beforehand. All certificates and lists are DER."""

    roots: tuple[bytes, ...] = ()
    time_roots: tuple[bytes, ...] = ()  # of time-stamp authorities
    revoked: tuple[Revoked, ...] = ()
    lists: tuple[bytes, ...] = ()  # of revoked certificates, signed by a root


def verify_pdf(
    pdf: bytes,
    roots: Sequence[bytes] = (),
    *,
    known: Known | None = None,
    expected_sha256: str | None = None,
    expected_head: ChainHead | None = None,
) -> Verification:
    """Check a sealed report against the agency's roots (DER) and what was kept of it.

    Never raises for a bad file: what cannot be read is a check that does not hold.
    Nothing is fetched. `expected_sha256` and `expected_head` as for `held_against`.
    """
    digest = hashlib.sha256(pdf).hexdigest()
    known = known or Known(roots=tuple(map(bytes, roots)))
    signature = _Signature(checks=[])
    _guarded("signature", signature.checks, lambda: _signature(pdf, known, signature))
    printed: list[ChainHead] = []
    content: list[Check] = []
    _guarded("attachments", content, lambda: _content(pdf, content, printed))
    head = printed[0] if printed else None
    found = Verification(
        checks=(*signature.checks, *content),
        sha256=digest,
        printed_head=head,
        signed_at=signature.at,
        stamp=signature.stamp,
        signer=signature.signer,
        level=signature.level,
        certificate_fingerprint=signature.fingerprint,
        root_fingerprint=signature.root,
        anchor_fingerprint=signature.anchor,
    )
    return found.held_against(sha256=expected_sha256, head=expected_head)


@dataclass(slots=True)
class _Signature:
    checks: list[Check]
    at: datetime | None = None
    stamp: Stamp | None = None
    signer: str = ""
    level: str = ""
    fingerprint: str = ""
    root: str = ""
    anchor: str = ""


def _guarded(name: str, checks: list[Check], look: Any) -> None:
    try:
        look()
    except (Exception, RecursionError) as error:  # a parser may fail anywhere
        reason = f"The file could not be read: {type(error).__name__}: {error}"
        checks.append(Check(name=name, holds=False, words=reason[:300]))


def _signature(pdf: bytes, known: Known, found: _Signature) -> None:
    from pyhanko.pdf_utils.reader import PdfFileReader

    reader = PdfFileReader(io.BytesIO(pdf))
    embedded = reader.embedded_signatures
    if len(embedded) != 1:
        words = f"One signature was expected, {len(embedded)} found."
        found.checks.append(Check(name="signature", holds=False, words=words))
        return
    signature = embedded[0]
    _read_signer(signature, found)
    if fault := stamp_fault(signature.signer_info):
        words = f"The signature's container: {fault}."
        left = "Not looked at: its container is not one of a sealed report."
        found.checks += [
            Check(name="container", holds=False, words=words),
            Check(name="signature", holds=None, words=left),
        ]
        return
    status, found.stamp = _looked_at(signature, known, found.at)
    found.level = level_of(reader, signature, found.stamp)
    if status.trusted and status.validation_path is not None:
        found.anchor = fingerprint(status.validation_path.first.dump())
    whole = bool(status.intact and status.valid)
    words = "The signed bytes are as they were signed."
    found.checks += [
        Check(
            name="signature",
            holds=whole,
            words=words if whole else "The file was changed after it was signed.",
        ),
        _trust(status, found),
        revocation(reader, signature, known, found.at, found.stamp),
        *time_stamp(found.stamp),
        _coverage(status),
        _modification(signature, status),
        _container(pdf, signature, status, known, found.stamp),
    ]


def _read_signer(signature: Any, found: _Signature) -> None:
    found.at = signature.self_reported_timestamp
    certificate = signature.signer_cert
    found.fingerprint = fingerprint(certificate.dump())
    named = certificate.subject.native
    found.signer = str(named.get("common_name") or certificate.subject.human_friendly)
    others = list(signature.other_embedded_certs or ())
    top = certificate
    for _ in others:
        above = [each for each in others if each.subject == top.issuer]
        if not above or above[0] is top:
            break
        top = above[0]
    found.root = fingerprint(top.dump())


def _looked_at(
    signature: Any, known: Known, at: datetime | None
) -> tuple[Any, Stamp | None]:
    """The status at the time of signing: by a time-stamp that is trusted, else as said."""
    status = _status(signature, known, at)
    stamp = stamp_in(status)
    if stamp and stamp.intact and stamp.trusted:
        status = _status(signature, known, stamp.at)
    return status, stamp


def _status(signature: Any, known: Known, at: datetime | None) -> Any:
    from asn1crypto import x509
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.settings import KeyUsageConstraints
    from pyhanko_certvalidator import ValidationContext

    # One of the two is enough: an imported certificate may have either.
    use = KeyUsageConstraints(
        key_usage={"digital_signature", "non_repudiation"}, match_all_key_usages=False
    )
    # The moment is that of signing: a certificate that has expired since still holds.
    own, times = (
        ValidationContext(
            trust_roots=[x509.Certificate.load(bytes(root)) for root in roots],
            allow_fetching=False,
            moment=at,
            best_signature_time=at,
        )
        for roots in (known.roots, known.time_roots)
    )
    with quietly():
        return validate_pdf_signature(signature, own, times, key_usage_settings=use)


def _trust(status: Any, found: _Signature) -> Check:
    words = "Certified by the agency's root at the time of signing."
    if not (status.intact and status.valid):
        words = "The signature is not in order, so its certificate says nothing of the file."
    elif not status.trusted:
        words = (
            "The certificate is not from a root that is known here, or was not valid. "
            f"The root's SHA-256 is {found.root}: compare it with what the agency gave."
        )
    return Check(name="trust", holds=bool(status.trusted), words=words)


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


def _container(
    pdf: bytes, signature: Any, status: Any, known: Known, stamp: Stamp | None
) -> Check:
    """Nothing hidden beside the signature, where it cannot look itself."""
    certificates = {fingerprint(root) for root in known.roots}
    for each in status.validation_path or ():
        certificates.add(fingerprint(each.dump()))
    stamped = stamp is not None and stamp.intact
    unknown = unknown_part(pdf, signature, certificates, stamped=stamped)
    words = "Beside the signature there is nothing but known certificates."
    if stamped and not unknown:
        words = (
            "Beside the signature there are only known certificates and a time-stamp."
        )
    if unknown:
        words = f"The signature's container: {unknown}."
    return Check(name="container", holds=not unknown, words=words)


def _stored_hash(digest: str, expected: str | None) -> Check:
    name = STORED_HASH
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
    name = KEPT_HEAD
    if expected is None:
        return Check(name=name, holds=None, words="No head kept elsewhere was given.")
    same = printed == expected
    words = f"Record {expected.seq}, {expected.sha256}"
    words += ", as printed." if same else " was kept; the file prints another."
    return Check(name=name, holds=same, words=words)
