"""Sealing a report with the agency's key (PAdES, ETSI EN 319 142-1).

At the scene there may be no network: then the level is B-B and the time of signing is the
signer's own word. With a time-stamp server it is B-T, and B-LT where the lists of revoked
certificates could be put in, too. Certification allows no change of any kind afterwards.
The keys come from `reports.keys`, the check of a sealed report is `reports.verifying`.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from reports import fonts
from reports.clock import moment
from reports.data import ChainHead
from reports.keys import (
    CertificateNotValidError,
    Root,
    Signer,
    SigningError,
    WrongPassphraseError,
    check_valid_at,
    fingerprint,
    issue_signer,
    make_root,
    unlocked,
)
from reports.quiet import quietly
from reports.time_stamps import TimeStampServer, client, level_of, stamp_in

__all__ = [
    "CertificateNotValidError",
    "Root",
    "Sealed",
    "Signer",
    "SigningError",
    "TimeStampServer",
    "WrongPassphraseError",
    "fingerprint",
    "issue_signer",
    "make_root",
    "sign_pdf",
]

FIELD: Final = "AgencySignature"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sealed:
    """A signed file, its PAdES level, and in words by whose clock."""

    pdf: bytes
    level: str
    clock: str


def sign_pdf(
    pdf: bytes,
    signer: Signer,
    *,
    passphrase: str,
    at: datetime,
    head: ChainHead | None = None,
    signed_for: str = "",
    reason: str = "After-action report sealed",
    visible: bool = True,
    time_stamps: TimeStampServer | None = None,
    revocations: bytes = b"",
) -> Sealed:
    """The sealed report: certified against any change, signed.

    `at` is the time of signing, aware. `signed_for` names the person who closed the
    report; it stands in the visible box on the last page with the time and the head.
    A time-stamp is asked for where there is a server; `revocations` is the root's list
    and goes in beside it. Where the server does not answer, the report is sealed without.
    Raises `WrongPassphraseError`, and `CertificateNotValidError` where the signer's or
    the root's certificate is not valid at `at` (the library itself would sign).
    """
    key, certificate = unlocked(signer.encrypted_key, passphrase)
    if certificate != signer.certificate:
        raise SigningError("The stored certificate does not belong to the stored key.")
    check_valid_at(signer.certificate, at, "the agency's signing key")
    check_valid_at(signer.root_certificate, at, "the agency's root")
    box = _Box(signer=signer, at=at, head=head, signed_for=signed_for, drawn=visible)
    simple = _simple_signer(signer, key)
    why = ""
    for step in _steps(time_stamps, revocations, signer):
        clock = f"time-stamped by {step.server.host}"
        try:
            signed = _signed(pdf, simple, at, reason, box.lines(clock), step)
            return Sealed(pdf=signed, level=_checked_level(signed), clock=clock)
        except OSError as error:  # the server: no later step can do better
            why = f" ({step.server.host} gave none: {error})"
            break
        except _cannot_embed():
            continue
    clock = f"by the signer's own clock, without a time-stamp{why}"
    words = "by the signer's own clock, without a time-stamp (PAdES B-B)"
    return Sealed(
        pdf=_signed(pdf, simple, at, reason, box.lines(words)), level="B-B", clock=clock
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """One way of signing with a time-stamp: with what proves its certificates, or not."""

    server: TimeStampServer
    revocations: bytes = b""
    roots: tuple[bytes, ...] = ()


def _steps(
    server: TimeStampServer | None, revocations: bytes, signer: Signer
) -> list[_Step]:
    if server is None:
        return []
    roots = (signer.root_certificate, *server.roots)
    lasting = _Step(server=server, revocations=revocations, roots=roots)
    plain = _Step(server=server)
    return [lasting, plain] if revocations and server.roots else [plain]


def _cannot_embed() -> tuple[type[Exception], ...]:
    from pyhanko.sign.general import SigningError as NotSigned
    from pyhanko_certvalidator.errors import PathError, ValidationError

    return (NotSigned, PathError, ValidationError)


def _checked_level(pdf: bytes) -> str:
    """The level of what was just signed; OSError where its time-stamp does not hold."""
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko_certvalidator import ValidationContext

    reader = PdfFileReader(io.BytesIO(pdf))
    signature = reader.embedded_signatures[0]
    nobody = ValidationContext(trust_roots=[], allow_fetching=False)
    with quietly():
        stamp = stamp_in(validate_pdf_signature(signature, nobody))
    if stamp is None or not stamp.intact:
        raise OSError("its time-stamp does not hold")
    return level_of(reader, signature, stamp)


def _signed(
    pdf: bytes,
    simple: Any,
    at: datetime,
    reason: str,
    lines: Sequence[str],
    step: _Step | None = None,
) -> bytes:
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

    class Unchanged(IncrementalPdfFileWriter):
        """The metadata stay those of the report."""

        def _update_meta(self) -> None:
            pass

    writer = Unchanged(io.BytesIO(pdf))
    out = io.BytesIO()
    with quietly():
        _pdf_signer(writer, simple, at, reason, lines, step).sign_pdf(
            writer, output=out
        )
    return out.getvalue()


def _simple_signer(signer: Signer, key: Any) -> Any:
    from asn1crypto import keys, x509
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
    )
    from pyhanko.sign.signers import SimpleSigner
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    certificate = x509.Certificate.load(signer.certificate)
    store = SimpleCertificateStore()  # type: ignore[no-untyped-call]  # not annotated
    store.register(certificate)
    for above in (*signer.between, signer.root_certificate):
        store.register(x509.Certificate.load(above))
    plain = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return SimpleSigner(
        signing_cert=certificate,
        signing_key=keys.PrivateKeyInfo.load(plain),
        cert_registry=store,
    )


def _pdf_signer(
    writer: Any,
    simple: Any,
    at: datetime,
    reason: str,
    lines: Sequence[str],
    step: _Step | None,
) -> Any:
    from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
    from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner

    class At(PdfSigner):
        """Signs with the time that it was given instead of the machine's own."""

        def init_signing_session(self, *args: Any, **kwargs: Any) -> Any:
            session = super().init_signing_session(*args, **kwargs)
            session.system_time = at
            return session

    meta = PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        reason=reason,
        **(_lasting(step) if step and step.revocations else {}),
    )
    box = _box(writer) if lines else None
    spec = SigFieldSpec(FIELD, on_page=-1, box=box)
    style = _stamp(lines) if lines else None
    return At(
        meta,
        signer=simple,
        stamp_style=style,
        new_field_spec=spec,
        timestamper=client(step.server) if step else None,
    )


def _lasting(step: _Step) -> dict[str, Any]:
    """What proves the certificates later goes in with the signature, under it."""
    from asn1crypto import x509
    from pyhanko.sign.signers.pdf_signer import (
        DSSContentSettings,
        SigDSSPlacementPreference,
    )
    from pyhanko_certvalidator import ValidationContext

    context = ValidationContext(
        trust_roots=[x509.Certificate.load(root) for root in step.roots],
        crls=[step.revocations],
        allow_fetching=True,
    )
    together = SigDSSPlacementPreference.TOGETHER_WITH_SIGNATURE
    return {
        "embed_validation_info": True,
        "validation_context": context,
        "dss_settings": DSSContentSettings(include_vri=False, placement=together),
    }


def _box(writer: Any) -> tuple[int, int, int, int]:
    from reports import layout

    page = writer.find_page_for_modification(-1)[0].get_object()
    width = float(page["/MediaBox"][2])
    left, bottom, right, top = layout.signature_box(width)
    return round(left), round(bottom), round(right), round(top)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Box:
    """What the visible box on the last page says."""

    signer: Signer
    at: datetime
    head: ChainHead | None
    signed_for: str
    drawn: bool

    def lines(self, clock: str) -> tuple[str, ...]:
        from reports import text

        if not self.drawn:
            return ()
        lines = [
            f"Sealed for {self.signed_for}" if self.signed_for else "Sealed",
            f"at {moment(self.at, self.at.tzinfo or UTC)}, {clock}",
            f"Certificate {self.signer.fingerprint}",
        ]
        if self.head:
            lines.append(f"Head {self.head.seq}, {self.head.sha256}")
        return tuple(text.fitted(line, 470, STAMP_SIZE) for line in lines)


STAMP_SIZE: Final = 8


def _stamp(lines: Sequence[str]) -> Any:
    from pyhanko.pdf_utils.font.api import FontEngineFactory
    from pyhanko.pdf_utils.font.opentype import GlyphAccumulator
    from pyhanko.pdf_utils.layout import AxisAlignment, Margins, SimpleBoxLayoutRule
    from pyhanko.pdf_utils.text import TextBoxStyle
    from pyhanko.stamp import TextStampStyle

    class Face(FontEngineFactory):
        """The report's own typeface, from memory."""

        def create_font_engine(self, writer: Any, obj_stream: Any = None) -> Any:
            face = io.BytesIO(fonts.font_bytes(fonts.REGULAR))
            return GlyphAccumulator(writer, face, STAMP_SIZE, obj_stream=obj_stream)

    left = SimpleBoxLayoutRule(
        x_align=AxisAlignment.ALIGN_MIN,
        y_align=AxisAlignment.ALIGN_MID,
        margins=Margins(left=8, right=8, top=4, bottom=4),
    )
    words = "\n".join(lines).replace("%", "%%")
    return TextStampStyle(
        stamp_text=words,
        border_width=0,
        text_box_style=TextBoxStyle(font=Face(), font_size=STAMP_SIZE, leading=12),
        inner_content_layout=left,
    )
