"""Sealing a report: PAdES B-B by the agency's key, its sources attached.

No network: there is no time-stamp authority at the scene, so the time of signing is the
signer's own word. Certification allows no change of any kind afterwards. The keys come
from `reports.keys`, the check of a sealed report is `reports.verifying`.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
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

__all__ = [
    "CHAIN_FILE",
    "WORKSHEET_FILE",
    "Attachment",
    "CertificateNotValidError",
    "Root",
    "Signer",
    "SigningError",
    "WrongPassphraseError",
    "fingerprint",
    "issue_signer",
    "make_root",
    "sign_pdf",
    "sources",
]

WORKSHEET_FILE: Final = "worksheet.json"
CHAIN_FILE: Final = "chain.json"
FIELD: Final = "AgencySignature"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """A file that goes into the PDF. `relationship` is PDF's /AFRelationship."""

    name: str
    data: bytes
    description: str
    relationship: str = "Data"
    mime_type: str = "application/json"


def sources(worksheet: bytes, chain: bytes) -> tuple[Attachment, Attachment]:
    """The two attachments by which a report is checked against its printed head."""
    return (
        Attachment(
            name=WORKSHEET_FILE,
            data=worksheet,
            description="The worksheet that this report was made from",
            relationship="Source",
        ),
        Attachment(
            name=CHAIN_FILE,
            data=chain,
            description="The records of the log as they were hashed",
        ),
    )


def sign_pdf(
    pdf: bytes,
    signer: Signer,
    *,
    passphrase: str,
    at: datetime,
    attachments: Sequence[Attachment] = (),
    head: ChainHead | None = None,
    signed_for: str = "",
    reason: str = "After-action report sealed",
    visible: bool = True,
) -> bytes:
    """The sealed report: files attached, certified against any change, signed.

    `at` is the time of signing, aware. `signed_for` names the person who closed the
    report; it stands in the visible box on the last page with the time and the head.
    Raises `WrongPassphraseError`, and `CertificateNotValidError` where the signer's or
    the root's certificate is not valid at `at` (the library itself would sign).
    """
    key, certificate = unlocked(signer.encrypted_key, passphrase)
    if certificate != signer.certificate:
        raise SigningError("The stored certificate does not belong to the stored key.")
    check_valid_at(signer.certificate, at, "the agency's signing key")
    check_valid_at(signer.root_certificate, at, "the agency's root")

    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    for attachment in attachments:
        _attach(writer, attachment, at)
    lines = _stamp_lines(signer, at, head, signed_for) if visible else ()
    out = io.BytesIO()
    _pdf_signer(writer, _simple_signer(signer, key), at, reason, lines).sign_pdf(
        writer, output=out
    )
    return out.getvalue()


def _attach(writer: Any, attachment: Attachment, at: datetime) -> None:
    from pyhanko.pdf_utils import embed
    from pyhanko.pdf_utils.generic import pdf_name

    data = embed.EmbeddedFileObject.from_file_data(
        writer,
        data=attachment.data,
        mime_type=attachment.mime_type,
        params=embed.EmbeddedFileParams(creation_date=at, modification_date=at),
    )
    spec = embed.FileSpec(
        file_spec_string=attachment.name,
        file_name=attachment.name,
        embedded_data=data,
        description=attachment.description,
        af_relationship=pdf_name(f"/{attachment.relationship}"),
    )
    embed.embed_file(writer, spec)


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
    store.register(x509.Certificate.load(signer.root_certificate))
    plain = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return SimpleSigner(
        signing_cert=certificate,
        signing_key=keys.PrivateKeyInfo.load(plain),
        cert_registry=store,
    )


def _pdf_signer(
    writer: Any, simple: Any, at: datetime, reason: str, lines: Sequence[str]
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
    )
    box = _box(writer) if lines else None
    spec = SigFieldSpec(FIELD, on_page=-1, box=box)
    style = _stamp(lines) if lines else None
    return At(meta, signer=simple, stamp_style=style, new_field_spec=spec)


def _box(writer: Any) -> tuple[int, int, int, int]:
    from reports import layout

    page = writer.find_page_for_modification(-1)[0].get_object()
    width = float(page["/MediaBox"][2])
    left, bottom, right, top = layout.signature_box(width)
    return round(left), round(bottom), round(right), round(top)


def _stamp_lines(
    signer: Signer, at: datetime, head: ChainHead | None, signed_for: str
) -> tuple[str, ...]:
    from reports import text

    by = f"Sealed for {signed_for}" if signed_for else "Sealed"
    lines = [
        by,
        f"at {moment(at, at.tzinfo)}, by the signer's own clock" if at.tzinfo else "",
        f"Certificate {signer.fingerprint}",
    ]
    if head:
        lines.append(f"Head {head.seq}, {head.sha256}")
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
