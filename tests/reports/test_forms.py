"""The public ICS forms as PDF: numbers, titles and order, what was typed, blank sheets.

The titles of the blocks below were read in transcripts of the public forms that the search
of stored pages gave: ICS 201 and ICS 214 of the FEMA forms booklet (502-2, 2010) and
ICS 208 HM as printed 3/98. They were not compared with the booklet itself.
"""

import io
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pikepdf
import pytest

from command import activity_log, incident_briefing, site_safety_plan
from command.form import WHOLE, Block, Section, Table
from reports.forms import Form, build, lines_of
from reports.reading import page_texts
from screening.verdicts import CAUTION
from tests.command.test_site_safety_plan import paper
from tests.reports.samples import NASTY

AT = datetime(2026, 3, 4, 20, 30, tzinfo=UTC)
CHICAGO = ZoneInfo("America/Chicago")
FORMS = {
    "201": incident_briefing,
    "208 HM": site_safety_plan,
    "214": activity_log,
}
PUBLISHED = {
    "201": [
        "Incident Name", "Incident Number", "Date/Time Initiated", "Map/Sketch",
        "Situation Summary and Health and Safety Briefing", "Prepared by",
        "Current and Planned Objectives",
        "Current and Planned Actions, Strategies, and Tactics",
        "Current Organization", "Resource Summary",
    ],
    "208 HM": [
        "Incident Name", "Date Prepared", "Operational Period", "Incident Location",
        "Incident Commander", "HM Group Supervisor", "Tech. Specialist - HM Reference",
        "Safety Officer", "Entry Leader", "Site Access Control Leader",
        "Asst. Safety Officer - HM", "Decontamination Leader",
        "Safe Refuge Area Manager", "Environmental Health", "", "",
        "Entry Team (Buddy System)", "Decontamination Element", "Material",
        "LEL Instrument(s)", "O2 Instrument(s)", "Toxicity/PPM Instrument(s)",
        "Radiological Instrument(s)", "Standard Decontamination Procedures",
        "Command Frequency", "Tactical Frequency", "Entry Frequency",
        "Medical Monitoring", "Medical Treatment and Transport In-place", "Site Map",
        "Entry Objectives", "Modifications to Documented SOP's or Work Practices",
        "Emergency Procedures", "Asst. Safety Officer - HM Signature",
        "HM Group Supervisor Signature", "Incident Commander Signature",
    ],
    "214": [
        "Incident Name", "Operational Period", "Name", "ICS Position",
        "Home Agency (and Unit)", "Resources Assigned", "Activity Log", "Prepared by",
    ],
}  # fmt: skip


def activity(words, at=AT, **more):
    return activity_log.Activity(at=at, words=words, by="J. Mora", **more)


def filled(name, *activities):
    if name == "208 HM":
        return site_safety_plan.sections(paper())
    if name == "201":
        known = incident_briefing.Known(
            number="7b0e", initiated=AT, done=((AT, "Entry 1 in"),), prepared_by="D. H."
        )
        return incident_briefing.sections(paper(), known)
    known = activity_log.Known(
        incident="Pump house",
        since=AT,
        name="Dana Holt",
        position="commander",
        agency="Brookfield",
        resources=(("Alder", "Entry 1", "Creek Town"),),
        activities=activities or (activity("Entry 1 in"),),
        at=AT,
        zone=CHICAGO,
    )
    return activity_log.sections(known)


def form(name, sections, **changes):
    given = {
        "title": FORMS[name].TITLE,
        "standard": FORMS[name].SOURCE,
        "sections": sections,
        "incident": "Quarry Lane pump house",
        "agency": "Brookfield",
        "made_at": AT,
        "zone": CHICAGO,
    }
    return Form(**given | changes)


def one_block(*lines, **facts):
    block = Block(number=1, title="Note", lines=lines, **facts)
    return form("214", (Section(number="", title="", blocks=(block,)),))


def text(pdf):
    return " ".join(" ".join(page_texts(pdf)).split())


def squeezed(words):
    return re.sub(r"\s", "", words)


def plain(title):
    """Words alone: a stroke, "and" and "or" say the same in a title."""
    words = re.sub(r"[^a-z0-9 ]", "", re.sub(r"[/-]", " ", title.lower())).split()
    return " ".join(word for word in words if word not in ("and", "or"))


def blocks(sections):
    return [block for section in sections for block in section.blocks]


@pytest.mark.parametrize("name", FORMS)
@pytest.mark.parametrize("is_blank", [False, True], ids=["filled", "blank"])
def test_numbers_and_titles_are_those_of_the_public_form_in_its_order(name, is_blank):
    sections = FORMS[name].blank() if is_blank else filled(name)

    made = blocks(sections)
    heads = re.findall(r"\b(\d+)\. ", text(build(form(name, sections))))

    assert [plain(block.title) for block in made] == list(map(plain, PUBLISHED[name]))
    assert [block.number for block in made] == list(range(1, len(made) + 1))
    order = [int(head) for head in heads if int(head) <= len(made)]
    assert list(dict.fromkeys(order)) == list(range(1, len(made) + 1))


@pytest.mark.parametrize("name", FORMS)
def test_whatever_is_in_a_block_is_on_the_paper(name):
    sections = filled(name)

    printed = squeezed(text(build(form(name, sections))))

    for block in blocks(sections):
        assert squeezed(f"{block.number}. {block.title}") in printed
        for line in block.lines:
            assert squeezed(line) in printed
        cells = (
            [cell for row in block.table.rows for cell in row] if block.table else []
        )
        for word in " ".join(cells).split():
            # A long word may be cut at the edge of a narrow column.
            assert word[:4] in printed


@pytest.mark.parametrize("name", FORMS)
def test_a_blank_form_holds_nothing_of_the_incident(name):
    pdf = build(form(name, FORMS[name].blank(), by_hand=True))

    printed = text(pdf)
    assert "to fill in by hand" in printed
    assert "Quarry" not in printed
    assert "not recorded" not in printed
    assert "2026" not in printed
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert "Quarry" not in str(opened.docinfo.Title)


@pytest.mark.parametrize("size", ["A4", "letter"])
@pytest.mark.parametrize("name", FORMS)
def test_the_same_form_gives_the_same_bytes(name, size):
    made = form(name, filled(name))

    assert build(made, page_size=size) == build(made, page_size=size)
    later = replace(made, made_at=AT + timedelta(minutes=1))
    assert build(later, page_size=size) != build(made, page_size=size)


def test_every_page_has_the_name_its_number_and_the_caution():
    lines = [activity(f"Line {n}", AT + timedelta(minutes=n)) for n in range(300)]

    pages = page_texts(build(form("214", filled("214", *lines))))

    assert len(pages) > 4
    for number, page in enumerate(pages, start=1):
        assert "Quarry Lane pump house" in page
        assert "ICS 214" in page
        assert f"Page {number} of {len(pages)}" in page
        assert CAUTION in page
        assert "Printed 4 March 2026 14:30:00 CST (UTC−06:00)" in page


def test_a_long_log_goes_on_overleaf_under_its_head_and_loses_no_line():
    lines = [activity(f"Line {n}.", AT + timedelta(minutes=n)) for n in range(300)]

    pages = page_texts(build(form("214", filled("214", *lines))))

    for page in pages[1:-1]:
        assert "7. Activity log (continued)" in page
        assert "Notable activities" in page
    found = re.findall(r"Line (\d+)\.", " ".join(pages))
    assert list(map(int, found)) == list(range(300))


def test_a_title_language_and_agency_are_in_the_file():
    with pikepdf.open(io.BytesIO(build(form("214", filled("214"))))) as opened:
        assert opened.docinfo.Title == "Quarry Lane pump house: Activity log (ICS 214)"
        assert opened.docinfo.Author == "Brookfield"
        assert opened.docinfo.Subject == CAUTION
        assert opened.Root.Lang == "en"


def test_letter_paper_is_letter_paper():
    with pikepdf.open(
        io.BytesIO(build(form("214", filled("214")), page_size="letter"))
    ) as opened:
        assert list(map(int, opened.pages[0].MediaBox)) == [0, 0, 612, 792]


# --- What people type ---------------------------------------------------------------------


@pytest.mark.parametrize("where", ["line", "cell"])
def test_markup_emoji_and_other_scripts_print_as_they_were_typed(where):
    note = f"{NASTY} \U0001f525 שלום"
    made = one_block(note)
    if where == "cell":
        made = form("214", filled("214", activity(note)))

    printed = squeezed(text(build(made)))

    assert squeezed(NASTY) in printed.replace("J.Mora", "")
    assert "[U+1F525]" in printed
    for letter in "שלום":
        assert letter in printed or f"[U+{ord(letter):04X}]" in printed


@pytest.mark.parametrize(
    "note",
    [
        pytest.param("word " * 1999 + "end.!", id="words"),
        pytest.param("x" * 9995 + "end.!", id="one word"),
        pytest.param("\n" * 9995 + "end.!", id="empty lines"),
    ],
)
@pytest.mark.parametrize("where", ["line", "cell", "third"])
def test_ten_thousand_signs_print_to_their_end(note, where):
    made = one_block(note, width=2 if where == "third" else WHOLE)
    if where == "cell":
        made = form("214", filled("214", activity(note), activity("Next line")))

    printed = squeezed(text(build(made)))

    assert "end.!" in printed
    assert printed.count("x") >= note.count("x")
    assert printed.count("word") >= note.count("word")
    assert where != "cell" or "Nextline" in printed


def test_a_long_name_of_an_incident_stays_in_its_line():
    made = form("214", filled("214"), incident="Very long " * 100)

    pages = page_texts(build(made))

    assert "…" in pages[0]
    assert "Page 1 of 1" in pages[0]


def test_what_was_struck_says_so_in_words():
    line = activity("pH 2", struck="not wetted (J. Mora)", recorded_at=AT)

    printed = text(build(form("214", filled("214", line))))

    assert "[struck] pH 2 [put right: not wetted (J. Mora)]" in printed
    assert "logged 14:30:00" in printed


def test_what_is_not_ready_stands_above_the_blocks():
    printed = text(build(form("208 HM", filled("208 HM"), notice="weather; zones")))

    assert printed.index("Not ready yet: weather; zones") < printed.index("1. Incident")


# --- How blocks stand ---------------------------------------------------------------------


@pytest.mark.parametrize("name", FORMS)
def test_blocks_beside_each_other_fill_the_width(name):
    for section in filled(name):
        for line in lines_of(section.blocks):
            assert sum(block.width for block in line) == WHOLE


def test_a_heading_never_stands_alone_at_the_foot_of_a_page():
    for name in FORMS:
        for by_hand in (False, True):
            sections = FORMS[name].blank() if by_hand else filled(name)
            pages = page_texts(build(form(name, sections, by_hand=by_hand)))
            for page in pages:
                after = re.split(r"Section \w+\. ", page)[-1]
                assert re.search(r"\b\d+\. ", after)


def test_boxes_of_unequal_length_go_on_beside_each_other():
    people = tuple((f"Name {n}", "Level B") for n in range(150))
    table = Table(columns=("Name", "PPE level"), rows=people)
    pair = (
        Block(number=17, title="Entry team", table=table, width=3),
        Block(number=18, title="Decon", lines=("short",), width=3),
    )
    made = form("208 HM", (Section(number="", title="", blocks=pair),))

    printed = text(build(made))

    assert printed.count("short") == 1
    assert "18. Decon (continued)" not in printed
    assert "17. Entry team (continued)" in printed
    assert [f"Name {n} " in printed for n in range(150)] == [True] * 150
