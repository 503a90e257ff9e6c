"""The report as an archive keeps it: PDF/A-3u, with the files that it was made from.

Takes the pages as they were set and writes the file anew: an output intent, metadata, a
file identifier and the attachments are added, nothing on a page is changed. The same
pages, files and time give the same bytes.

ISO 19005-3 (from memory) is what it is built to. No validator of that standard is part
of this project: `tests/reports/test_archival.py` says which of its clauses are checked.
"""

import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, Final
from xml.sax.saxutils import escape

WORKSHEET_FILE: Final = "worksheet.json"
CHAIN_FILE: Final = "chain.json"
LANGUAGE: Final = "en"
CREATOR: Final = "Hazmat Incident Worksheet"
PRODUCER: Final = "ReportLab, pyHanko"
PDF_VERSION: Final = (1, 7)
OUTPUT_CONDITION: Final = "sRGB IEC61966-2.1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """A file that goes into the PDF. `relationship` is PDF's /AFRelationship."""

    name: str
    data: bytes
    description: str
    relationship: str = "Data"
    mime_type: str = "application/json"


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What the file says of itself, the same in its metadata and its information."""

    title: str
    agency: str
    subject: str
    made_at: datetime


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


def archived(pdf: bytes, about: About, attachments: Sequence[Attachment] = ()) -> bytes:
    """The pages of `pdf` as an archival file that carries `attachments`."""
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.pdf_utils.writer import copy_into_new_writer

    reader = PdfFileReader(io.BytesIO(pdf))
    writer: Any = copy_into_new_writer(reader, {"info": _information(about)})
    writer._document_id = _identifier(pdf, about, attachments)
    writer._update_meta = lambda: None  # it would write the time of now
    writer.root.update(_of_catalog(writer, about))
    # A name tree is in the order of its names (ISO 32000-1, 7.9.6).
    for attachment in sorted(attachments, key=lambda one: one.name):
        _attach(writer, attachment, about.made_at)
    writer.output_version = PDF_VERSION  # what PDF/A-3 rests on, not a newer one
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _identifier(pdf: bytes, about: About, attachments: Sequence[Attachment]) -> Any:
    """Both halves from the content: the same content has the same identifier."""
    from pyhanko.pdf_utils.generic import ArrayObject, ByteStringObject

    digest = hashlib.sha256(pdf)
    digest.update(_metadata(about))
    for one in attachments:
        digest.update(f"{one.name} {len(one.data)} ".encode())
        digest.update(one.data)
    half = digest.digest()[:16]
    return ArrayObject([ByteStringObject(half), ByteStringObject(half)])


def _information(about: About) -> Any:
    from pyhanko.pdf_utils.generic import TextStringObject as Text
    from pyhanko.pdf_utils.generic import pdf_date

    at = pdf_date(about.made_at.astimezone(UTC).replace(microsecond=0))
    return _dictionary(
        Title=Text(about.title),
        Author=Text(about.agency),
        Subject=Text(about.subject),
        Creator=Text(CREATOR),
        Producer=Text(PRODUCER),
        CreationDate=at,
        ModDate=at,
    )


def _dictionary(**entries: Any) -> Any:
    from pyhanko.pdf_utils import generic

    named = {generic.pdf_name(f"/{key}"): value for key, value in entries.items()}
    return generic.DictionaryObject(named)  # type: ignore[no-untyped-call]  # theirs


def _of_catalog(writer: Any, about: About) -> Any:
    from pyhanko.pdf_utils import generic
    from pyhanko.pdf_utils.generic import pdf_name

    metadata = generic.StreamObject(
        _dictionary(Type=pdf_name("/Metadata"), Subtype=pdf_name("/XML")),
        stream_data=_metadata(about),
    )
    shown: Any = generic.BooleanObject
    return _dictionary(
        Metadata=writer.add_object(metadata),
        OutputIntents=generic.ArrayObject([_output_intent(writer)]),
        ViewerPreferences=_dictionary(DisplayDocTitle=shown(True)),
        Lang=generic.TextStringObject(LANGUAGE),
    )


def _output_intent(writer: Any) -> Any:
    from pyhanko.pdf_utils import generic
    from pyhanko.pdf_utils.generic import pdf_name

    number: Any = generic.NumberObject
    profile: Any = generic.StreamObject(
        _dictionary(N=number(3)), stream_data=colour_profile()
    )
    profile.compress()
    condition = generic.TextStringObject(OUTPUT_CONDITION)
    intent = _dictionary(
        Type=pdf_name("/OutputIntent"),
        S=pdf_name("/GTS_PDFA1"),
        OutputConditionIdentifier=condition,
        Info=condition,
        DestOutputProfile=writer.add_object(profile),
    )
    return writer.add_object(intent)


@lru_cache(maxsize=1)
def colour_profile() -> bytes:
    """An ICC profile of sRGB, the same whenever it is made.

    LittleCMS writes the time of now into the header, and a version newer than ISO 32000-1
    knows; all that it uses is in version 4.2, so the header says that.
    """
    from PIL import ImageCms

    made = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    made[8:12] = bytes.fromhex("04200000")
    made[24:36] = bytes.fromhex("07d000010001000000000000")  # 2000-01-01
    return bytes(made)


def _metadata(about: About) -> bytes:
    """The XMP packet: predefined schemas only, so that none has to be described."""
    at = about.made_at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    return _PACKET.format(
        title=escape(about.title),
        agency=escape(about.agency),
        subject=escape(about.subject),
        language=LANGUAGE,
        creator=CREATOR,
        producer=PRODUCER,
        at=at,
    ).encode("utf-8")


_PACKET: Final = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about=""
    xmlns:dc="http://purl.org/dc/elements/1.1/"
    xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
    xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"
    xmlns:xmp="http://ns.adobe.com/xap/1.0/">
   <dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
   <dc:creator><rdf:Seq><rdf:li>{agency}</rdf:li></rdf:Seq></dc:creator>
   <dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
   <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
   <pdf:Producer>{producer}</pdf:Producer>
   <pdfaid:part>3</pdfaid:part>
   <pdfaid:conformance>U</pdfaid:conformance>
   <xmp:CreateDate>{at}</xmp:CreateDate>
   <xmp:CreatorTool>{creator}</xmp:CreatorTool>
   <xmp:MetadataDate>{at}</xmp:MetadataDate>
   <xmp:ModifyDate>{at}</xmp:ModifyDate>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""


def _attach(writer: Any, attachment: Attachment, at: datetime) -> None:
    from pyhanko.pdf_utils import embed
    from pyhanko.pdf_utils.generic import pdf_name

    at = at.astimezone(UTC).replace(microsecond=0)
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
