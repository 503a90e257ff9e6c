"""The report as a document: read back, page by page."""

import builtins
import io
import re
import socket
from dataclasses import replace

import pytest
from pyhanko.pdf_utils.reader import PdfFileReader

from reports.after_action import build
from reports.reading import page_texts
from screening.verdicts import CAUTION, Action
from tests.reports import samples
from tests.reports.samples import NASTY, empty, sample


@pytest.fixture(scope="module")
def closed():
    return build(sample())


def all_text(pdf):
    return "\n".join(page_texts(pdf))


def with_note(note):
    rows = samples.timeline()
    return sample(timeline=(replace(rows[1], note=note), *rows[2:]))


def squeezed(words):
    return re.sub(r"\s", "", words)


def test_it_says_what_happened(closed):
    words = " ".join(all_text(closed).split())

    for expected in (
        "Quarry Lane pump house",
        "214 Quarry Lane, Brookfield County Hazmat",
        "4 March 2026 14:00:00 CST (UTC−06:00)",
        "Closed 4 March 2026 15:15:00 CST (UTC−06:00), after 1 h 15 min",
        "Never looked for, Entry 1, tank room: fluoride vapour, gamma radiation",
        "LEL 0 %, O2 20.9 %, CO 0 ppm, H2S 0 ppm at floor height",
        "pH 2 on paper held in the air, at or below 4 (limit of the profile).",
        "Put right: by record 5, J. Mora, 14:06:00: the strip was not wetted",
        "Late: it arrived after later records",
        "Did not hold: no wet pH paper since the finding.",
        "29 CFR 1910.146(b)",
        "LEL withdraw is 20 %, looser than 10 %",
        "R of a gamma dosimeter is read as rem one for one.",
        "Incident commander, closed the incident Dana Whitlock",
        f"Chain head: record 7, SHA-256 {samples.HEAD.sha256}",
    ):
        assert expected in words


def test_every_page_has_the_name_its_number_and_the_caution(closed):
    pages = page_texts(closed)

    for number, page in enumerate(pages, start=1):
        assert "Quarry Lane pump house" in page
        assert f"Page {number} of {len(pages)}" in page
        assert CAUTION in page
        assert "Record 7, abababababab" in page


def test_continue_never_stands_without_what_was_not_looked_at(closed):
    first = " ".join(page_texts(closed)[0].split())

    assert re.search(r"Continue Backup .{0,60}Not looked at: fluoride vapour", first)
    assert "safe" not in all_text(closed).lower()


def test_the_same_incident_gives_the_same_bytes(closed):
    assert build(sample()) == closed


def test_an_incident_in_which_nothing_happened_prints():
    words = all_text(build(empty()))

    assert "Nothing was logged." in words
    assert "Interim report" in words
    assert "The incident is not closed." in words
    assert "Nobody has signed off yet." in words


@pytest.mark.parametrize(
    ("changes", "mark"),
    [
        ({"closed_at": None}, "Interim report"),
        ({"drill": True}, "After-action report, drill"),
        ({"demo": True}, "After-action report, invented data"),
    ],
)
def test_what_is_not_a_closed_real_incident_says_so_on_every_page(changes, mark):
    for page in page_texts(build(sample(**changes))):
        assert mark in page


def test_markup_in_a_note_prints_as_it_was_typed(closed):
    assert squeezed(NASTY) in squeezed(all_text(closed))
    assert "[U+1F525]" in all_text(closed)
    assert "[U+6F22]" in all_text(closed)


def test_markup_in_any_field_prints_as_it_was_typed_and_opens_nothing(monkeypatch):
    data = sample(
        incident=NASTY,
        agency=NASTY,
        location=NASTY,
        made_by=NASTY,
        profile_name=NASTY,
        loosened=(NASTY,),
        cautions=(NASTY,),
        decisions=(replace(sample().decisions[0], words=NASTY, by=NASTY),),
        sign_offs=(replace(sample().sign_offs[0], name=NASTY, meaning=NASTY),),
    )
    build(data)  # fonts and modules are loaded

    def refuse(*args, **kwargs):
        raise AssertionError(f"opened {args}")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(builtins, "open", refuse)
    monkeypatch.setattr("reportlab.lib.utils.open_for_read", refuse)
    pdf = build(data)
    monkeypatch.undo()

    assert squeezed(all_text(pdf)).count(squeezed(NASTY)) >= 8


def test_no_image_no_link_and_no_script_gets_in(closed):
    reader = PdfFileReader(io.BytesIO(closed))

    for page in reader.root["/Pages"]["/Kids"]:
        page = page.get_object()
        assert "/Annots" not in page
        assert "/XObject" not in page["/Resources"]
    assert not {"/OpenAction", "/AA", "/Names"} & set(reader.root)


def test_every_font_is_embedded(closed):
    reader = PdfFileReader(io.BytesIO(closed))
    fonts = reader.root["/Pages"]["/Kids"][0].get_object()["/Resources"]["/Font"]

    assert len(fonts) >= 2
    for name in fonts:
        assert "/FontFile2" in fonts[name]["/FontDescriptor"]


@pytest.mark.parametrize(
    "note",
    [
        pytest.param("a longer note than anyone reads " * 640, id="20 kB note"),
        pytest.param("x" * 20_000, id="a word of 20,000 letters"),
        pytest.param("line\n" * 900, id="900 lines"),
        pytest.param("<b>" * 3000, id="3,000 tags"),
        pytest.param("e" + "\u0301" * 5000, id="a heap of accents"),
    ],
)
def test_the_longest_note_prints_whole(note):
    text = all_text(build(with_note(note)))

    longest = max(note.split(), key=len)
    letters = squeezed(text)
    if "\u0301" in note:
        assert "[4995moremarks]" in letters
    else:
        assert letters.count("x") >= longest.count("x")
        assert letters.count("<b>") >= note.count("<b>")
        assert letters.count("line") >= note.count("line")


def test_a_long_log_repeats_its_heading_on_every_page():
    pages = page_texts(build(samples.long_log(300)))

    log = [page for page in pages if "KI-starch paper dry" in page]
    assert len(log) > 5
    assert all("What was read or decided" in page for page in log)
    numbers = re.findall(r"^(\d+)$", "\n".join(log), re.MULTILINE)
    assert {str(n) for n in range(1, 301)} <= set(numbers)


def test_a_remark_is_never_parted_from_its_record():
    pages = page_texts(build(samples.long_log(300)))

    for page in pages:
        after_head = page.split("Because\n")[-1]
        assert not after_head.lstrip("By\n").startswith(("Late", "Heard", "Note"))


def test_it_prints_on_letter_paper_too():
    pdf = build(sample(), page_size="letter")

    page = PdfFileReader(io.BytesIO(pdf)).root["/Pages"]["/Kids"][0].get_object()
    assert [float(side) for side in page["/MediaBox"]] == [0, 0, 612, 792]
    assert samples.HEAD.sha256 in page_texts(pdf)[-1]


def test_verdicts_stand_in_words():
    data = sample()
    for action in Action:
        team = replace(data.teams[0], action=action)

        assert action.label in page_texts(build(replace(data, teams=(team,))))[0]


def test_other_scripts_and_signs_print_in_order_or_as_code_points():
    """Noto Sans has no Hebrew, no Arabic and no emoji; nothing may turn a line round."""
    note = "\u05e9\u05dc gas \u202eexe.txt\u202c \u0627\u0644 \U0001f468\u200d\U0001f469 Łódź 5 µSv/h"

    text = squeezed(all_text(build(with_note(note))))

    assert (
        squeezed(
            "[U+05E9][U+05DC] gas [U+202E]exe.txt[U+202C] [U+0627][U+0644] "
            "[U+1F468][U+200D][U+1F469] Łódź 5 µSv/h"
        )
        in text
    )


def test_ten_thousand_characters_print_from_the_first_to_the_last():
    note = " ".join(f"<{number:04d}>" for number in range(1429))
    assert len(note) >= 10_000

    text = squeezed(all_text(build(with_note(note))))

    assert [n for n in range(1429) if f"<{n:04d}>" not in text] == []
