"""The sealed file against the clauses of ISO 19005-3 (PDF/A-3u) that are checked here.

No validator of the standard could be had (not on PyPI, npm or in Debian), so each check
names the clause it stands for, from memory of ISO 19005-3:2012. The file is read back by
pikepdf, which has no part in writing it. What no test here names is not checked.
"""

import io
import os
import re
import subprocess
import sys
from datetime import UTC, timedelta

import pikepdf
import pytest
from fontTools.ttLib import TTFont
from lxml import etree

from reports.after_action import build
from reports.archival import Attachment, colour_profile
from reports.reading import page_texts
from tests.reports.conftest import SEALED_AT
from tests.reports.samples import NASTY, empty, sample

XMP = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "pdf": "http://ns.adobe.com/pdf/1.3/",
    "pdfaid": "http://www.aiim.org/pdfa/ns/id/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
}
NAME_LIMIT = 127  # ISO 19005-3, 6.1.13
STRING_LIMIT = 32_767  # the same


@pytest.fixture(scope="module")
def document(sealed):
    with pikepdf.open(io.BytesIO(sealed)) as opened:
        yield opened


def everything(document):
    """Each object of the file and what stands inside it."""

    def inside(one):
        yield one
        if isinstance(one, pikepdf.Dictionary | pikepdf.Stream):
            for key in one.keys():  # noqa: SIM118  (a Dictionary does not iterate)
                if not getattr(one[key], "is_indirect", False):
                    yield from inside(one[key])
        elif isinstance(one, pikepdf.Array):
            for each in one:
                if not getattr(each, "is_indirect", False):
                    yield from inside(each)

    for one in document.objects:
        yield from inside(one)


def dictionaries(document):
    kinds = pikepdf.Dictionary | pikepdf.Stream
    return [one for one in everything(document) if isinstance(one, kinds)]


def fonts(document):
    return [one for one in dictionaries(document) if one.get("/Type") == "/Font"]


def metadata(document):
    return etree.fromstring(bytes(document.Root.Metadata.read_bytes()))


def test_it_begins_and_ends_as_6_1_2_and_6_1_3_have_it(sealed, document):
    first, second = sealed.split(b"\n", 2)[:2]

    assert re.fullmatch(rb"%PDF-1\.[0-7]", first)
    assert second[:1] == b"%"
    assert all(byte > 127 for byte in second[1:5])
    assert len(second) >= 5
    assert sealed.rstrip(b"\n").endswith(b"%%EOF")
    assert "/Encrypt" not in document.trailer
    assert all(len(bytes(half)) == 16 for half in document.trailer.ID)


def test_streams_are_framed_as_6_1_7_has_it(sealed):
    starts = re.findall(rb"\bstream(\r\n|\n|.)", sealed, re.DOTALL)
    ends = re.findall(rb"(.)endstream", sealed, re.DOTALL)

    frames = [one for one in zip(starts, ends, strict=False) if one[0] != b"\n"]
    assert len(ends) > 10
    assert set(ends) == {b"\n"}
    assert frames == []


def test_the_length_of_each_stream_is_its_own_and_its_filter_allowed_6_1_7(document):
    # qpdf compares each /Length with where endstream stands, and says so.
    assert document.check_pdf_syntax() == []
    for one in dictionaries(document):
        filters = str(one.get("/Filter", ""))
        assert "LZW" not in filters
        assert "Crypt" not in filters
        if isinstance(one, pikepdf.Stream):
            assert not {"/F", "/FFilter", "/FDecodeParms"} & set(one.keys())


def test_names_and_strings_keep_within_the_limits_of_6_1_13(document):
    for one in everything(document):
        if isinstance(one, pikepdf.Name):
            assert len(str(one).encode()) <= NAME_LIMIT
        if isinstance(one, pikepdf.String):
            assert len(bytes(one)) <= STRING_LIMIT


def test_one_output_intent_covers_the_colours_6_2_3_and_6_2_4_3(document):
    (intent,) = document.Root.OutputIntents
    profile = intent.DestOutputProfile.read_bytes()

    assert intent.S == "/GTS_PDFA1"
    assert profile == colour_profile()
    assert profile[36:40] == b"acsp"  # ICC.1: the file's signature
    assert profile[12:20] == b"mntrRGB "
    assert profile[8] <= 4  # no newer than ISO 32000-1 knows
    assert int.from_bytes(profile[:4], "big") == len(profile)
    assert intent.DestOutputProfile.N == 3
    used = {operator for page in document.pages for operator in operators(page)}
    assert not used & {"k", "K", "sh", "cs", "CS", "sc", "scn"}


def operators(page):
    return {str(one.operator) for one in pikepdf.parse_content_stream(page)}


def test_the_profile_is_the_same_each_time_and_read_by_its_library(monkeypatch):
    from PIL import ImageCms

    first = colour_profile()
    colour_profile.cache_clear()

    assert colour_profile() == first
    name = ImageCms.getProfileName(ImageCms.ImageCmsProfile(io.BytesIO(first)))
    assert "sRGB" in name


def test_nothing_is_transparent_6_2_10(document):
    for one in dictionaries(document):
        assert one.get("/SMask") in (None, "/None")
        assert one.get("/BM") in (None, "/Normal")
        for alpha in ("/ca", "/CA"):
            assert one.get(alpha) in (None, 1)
        if "/Group" in one:
            assert one.Group.S != "/Transparency"


def test_every_font_is_embedded_6_2_11_4(document):
    with_program = [one for one in fonts(document) if one.Subtype != "/Type0"]

    assert len(with_program) >= 3  # two cuts on the pages, one in the box
    for font in with_program:
        assert font.FontDescriptor.FontFile2.read_bytes()[:4] == b"\x00\x01\x00\x00"
        assert re.match(r"/[A-Z]{6}\+", str(font.BaseFont))


def simple_fonts(document):
    return [one for one in fonts(document) if one.Subtype == "/TrueType"]


def test_simple_fonts_are_symbolic_with_one_table_of_characters_6_2_11_6(document):
    assert simple_fonts(document)
    for font in simple_fonts(document):
        program = TTFont(io.BytesIO(font.FontDescriptor.FontFile2.read_bytes()))

        assert int(font.FontDescriptor.Flags) & 4
        assert not int(font.FontDescriptor.Flags) & 32
        assert "/Encoding" not in font
        assert len(program["cmap"].tables) == 1


def shown_codes(document, page):
    """The codes that a page shows, by the name of the font."""
    shown, current = {}, ""
    for one in pikepdf.parse_content_stream(page):
        if str(one.operator) == "Tf":
            current = str(one.operands[0])
        if str(one.operator) in ("Tj", "'"):
            shown.setdefault(current, set()).update(bytes(one.operands[-1]))
    return shown


def test_the_widths_of_what_is_shown_are_those_of_the_program_6_2_11_5(document):
    looked = 0
    for page in document.pages:
        for name, codes in shown_codes(document, page).items():
            font = page.Resources.Font[name]
            program = TTFont(io.BytesIO(font.FontDescriptor.FontFile2.read_bytes()))
            table = program["cmap"].tables[0].cmap
            em = program["head"].unitsPerEm
            for code in codes:
                glyph = table.get(code, table.get(0xF000 + code))
                assert glyph not in (None, ".notdef"), code
                drawn = program["hmtx"][glyph][0] * 1000 / em
                said = float(font.Widths[code - int(font.FirstChar)])
                assert abs(drawn - said) <= 1
                looked += 1
    assert looked > 100


def to_unicode(font):
    """Codes and characters of a ToUnicode map, by a reading of its own."""
    data = font.ToUnicode.read_bytes().decode("latin-1")
    found = {}
    for block in re.findall(r"beginbfrange(.*?)endbfrange", data, re.DOTALL):
        for low, high, rest in re.findall(
            r"<(\w+)>\s*<(\w+)>\s*(<\w+>|\[.*?\])", block, re.DOTALL
        ):
            each = re.findall(r"<(\w+)>", rest)
            for offset, code in enumerate(range(int(low, 16), int(high, 16) + 1)):
                one = each[offset] if rest.startswith("[") else each[0]
                found[code] = bytes.fromhex(one).decode("utf-16-be")
    for block in re.findall(r"beginbfchar(.*?)endbfchar", data, re.DOTALL):
        for code, text in re.findall(r"<(\w+)>\s*<(\w+)>", block):
            found[int(code, 16)] = bytes.fromhex(text).decode("utf-16-be")
    return found


def test_every_character_that_is_shown_has_its_unicode_6_2_11_7_2(document):
    for page in document.pages:
        for name, codes in shown_codes(document, page).items():
            known = to_unicode(page.Resources.Font[name])
            for code in codes:
                assert known.get(code), (name, code)
                assert known[code] not in ("\0", "\ufeff", "\ufffe")


def test_the_box_of_the_signature_has_its_unicode_too_6_2_11_7_2(document):
    (composite,) = [one for one in fonts(document) if one.Subtype == "/Type0"]

    assert composite.Encoding == "/Identity-H"
    assert composite.DescendantFonts[0].CIDToGIDMap == "/Identity"
    assert len(to_unicode(composite)) > 20


def test_the_only_annotation_is_the_signature_and_it_prints_6_3(document):
    annotations = [one for page in document.pages for one in page.get("/Annots", [])]
    (box,) = annotations

    assert box.Subtype == "/Widget"
    assert int(box.F) & 4  # print
    assert not int(box.F) & (1 | 2 | 32)  # invisible, hidden, no view
    assert set(box.AP.keys()) == {"/N"}
    assert "/NeedAppearances" not in document.Root.AcroForm
    assert "/XFA" not in document.Root.AcroForm


def test_nothing_acts_6_5(document):
    assert not {"/OpenAction", "/AA"} & set(document.Root.keys())
    assert "/JavaScript" not in document.Root.Names
    for one in dictionaries(document):
        assert not {"/AA", "/JS"} & set(one.keys())
        assert one.get("/S") not in ("/JavaScript", "/Launch", "/URI")


def test_the_metadata_name_the_part_and_the_level_6_6_4(document):
    packet = metadata(document)

    assert packet.findtext(".//pdfaid:part", namespaces=XMP) == "3"
    assert packet.findtext(".//pdfaid:conformance", namespaces=XMP) == "U"
    assert "/Filter" not in document.Root.Metadata
    described = packet.find(".//rdf:Description", namespaces=XMP)
    known = {f"{{{name}}}" for name in XMP.values()}
    assert {re.match(r"{.*}", one.tag)[0] for one in described} <= known


def test_metadata_and_information_say_the_same_6_6_3(document):
    packet, info = metadata(document), document.docinfo

    assert packet.findtext(".//dc:title//rdf:li", namespaces=XMP) == str(info.Title)
    assert packet.findtext(".//dc:creator//rdf:li", namespaces=XMP) == str(info.Author)
    assert packet.findtext(".//dc:description//rdf:li", namespaces=XMP) == str(
        info.Subject
    )
    assert packet.findtext(".//pdf:Producer", namespaces=XMP) == str(info.Producer)
    made = sample().made_at.astimezone(UTC)
    assert packet.findtext(".//xmp:CreateDate", namespaces=XMP) == f"{made:%FT%TZ}"
    assert str(info.CreationDate).startswith(f"D:{made:%Y%m%d%H%M%S}")


def test_each_attachment_says_what_it_is_and_belongs_to_the_file_6_8(document, draft):
    names = document.Root.Names.EmbeddedFiles.Names
    specs = [names[index] for index in range(1, len(names), 2)]

    written = sorted(one.name for one in draft.files)
    assert [str(one.UF) for one in specs] == written
    assert [str(one.F) for one in specs] == written
    for one in specs:
        assert one.EF.F.Subtype == "/application/json"
        assert "/ModDate" in one.EF.F.Params
        assert str(one.Desc)
        assert one.AFRelationship in ("/Source", "/Data")
        assert one.objgen in [each.objgen for each in document.Root.AF]


def test_title_language_and_contents_are_there_for_the_reader(document):
    with document.open_outline() as outline:
        titles = [one.title for one in outline.root]

    assert document.Root.ViewerPreferences.DisplayDocTitle
    assert str(document.Root.Lang) == "en"
    assert "Sign-off" in titles
    assert titles[0] == "What stood at the end"


def test_sealing_leaves_pages_metadata_and_identifier_as_they_were(sealed, draft):
    assert sealed.startswith(draft.pdf)
    with (
        pikepdf.open(io.BytesIO(sealed)) as after,
        pikepdf.open(io.BytesIO(draft.pdf)) as before,
    ):
        assert after.docinfo == before.docinfo
        assert after.Root.Metadata.read_bytes() == before.Root.Metadata.read_bytes()
        assert bytes(after.trailer.ID[0]) == bytes(before.trailer.ID[0])


def test_other_files_give_another_identifier():
    one = Attachment(name="a.json", data=b"{}", description="a")
    other = Attachment(name="a.json", data=b"[]", description="a")
    identifiers = {
        bytes(pikepdf.open(io.BytesIO(pdf)).trailer.ID[0])
        for pdf in (build(empty(), attachments=[each]) for each in (one, other))
    }

    assert len(identifiers) == 2


IN_ANOTHER_PROCESS = """
import hashlib
from reports.after_action import build
from reports.archival import sources
from tests.reports.samples import sample
pdf = build(sample(), attachments=sources(b"{}", b"[]"))
print(hashlib.sha256(pdf).hexdigest())
"""


def test_the_body_is_the_same_in_two_processes():
    def made(seed):
        return subprocess.run(
            [sys.executable, "-c", IN_ANOTHER_PROCESS],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout

    first, second = made("1"), made("2")

    assert len(first.strip()) == 64
    assert first == second


def test_a_later_report_of_the_same_incident_differs_in_its_time_only(draft):
    later = sample(head=draft.head, made_at=SEALED_AT + timedelta(days=1))

    before, after = (page_texts(build(one)) for one in (sample(head=draft.head), later))

    changed = [
        (one, other)
        for page, page_after in zip(before, after, strict=True)
        for one, other in zip(page.split("\n"), page_after.split("\n"), strict=True)
        if one != other
    ]
    assert changed
    assert all("2026" in one and "2026" in other for one, other in changed)


def test_titles_with_markup_stay_text_in_the_metadata():
    pdf = build(empty(incident=NASTY + " & \U0001f525"))

    with pikepdf.open(io.BytesIO(pdf)) as opened:
        title = metadata(opened).findtext(".//dc:title//rdf:li", namespaces=XMP)
        assert title.startswith(NASTY + " & [U+1F525]")
