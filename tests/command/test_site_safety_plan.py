"""The plan in the blocks of ICS 208 HM (3/98): each filled from what is known."""

from dataclasses import replace

import pytest

from command.site_safety_plan import Paper, Tool, blank, missing, sections
from screening.ensembles import Ensemble
from tests.command.plans import READY, crew, minutes, plan, record, scene

POSITIONS = {
    6: "hazmat_group_supervisor",
    7: "technical_specialist",
    9: "entry_leader",
    10: "site_access_control_leader",
    11: "assistant_safety_officer",
    12: "decontamination_leader",
    13: "safe_refuge_area_manager",
    14: "environmental_health",
}
WHOLE = READY | {
    ("period", ""): {"since": "2026-03-04T19:00:00Z"},
    **{
        ("positions", f"p{number}"): {"position": position, "name": f"N. {number}"}
        for number, position in POSITIONS.items()
    },
    ("decon", ""): {"ready": "yes", "method": "Wet, three stages", "standard": "yes"},
    ("medical", ""): {
        "aid": "Unit 4",
        "transport": "Unit 4",
        "hospital": "County",
        "monitoring": "yes",
    },
    ("communications", ""): {"command": "1", "tactical": "4", "entry": "7"},
    ("emergency", ""): {"procedures": "Three blasts: leave", "sop_changes": "none"},
}
TOOLS = (
    Tool(name="Meter 1", kind="gas_meter", sensors=("lel", "oxygen", "co")),
    Tool(name="Dosimeter 1", kind="dosimeter"),
)


def paper(changes=None, *, without=(), tools=TOOLS, more=(), **about):
    of = plan({**WHOLE, **(changes or {})}, without=without, more=more)
    view = scene(of)
    decon = crew("decon", id="decon-1", members=("Fir",))
    view = type(view)(plan=view.plan, at=view.at, crews=(*view.crews, decon))
    given = {"incident": "Pump house", "location": "Quarry Lane"} | about
    return Paper(scene=view, tools=tools, **given)


def block(of, number):
    return next(b for s in sections(of) for b in s.blocks if b.number == number)


def test_a_whole_plan_misses_no_block():
    assert missing(paper()) == ()


def test_the_blocks_stand_in_the_order_of_the_form():
    numbers = [b.number for section in sections(paper()) for b in section.blocks]

    assert numbers == list(range(1, 37))


@pytest.mark.parametrize(
    ("number", "gone"),
    [
        (1, {"incident": ""}),
        (3, {"without": ["period"]}),
        (5, {"without": ["command"]}),
        *((n, {"without": [("positions", f"p{n}")]}) for n in POSITIONS),
        (8, {"without": [("positions", "p1")]}),
        (20, {"tools": (TOOLS[1], Tool(name="M", kind="gas_meter", sensors=("co", "oxygen")))}),
        (21, {"tools": (TOOLS[1], Tool(name="M", kind="gas_meter", sensors=("co", "lel")))}),
        (22, {"tools": (TOOLS[1], Tool(name="M", kind="gas_meter", sensors=("lel", "oxygen")))}),
        (23, {"tools": TOOLS[:1]}),
        (24, {"without": ["decon"]}),
        (26, {"changes": {("communications", ""): {"command": "1", "entry": "7"}}}),
        (29, {"without": ["medical"]}),
        (31, {"without": ["objectives", "hazards"]}),
        (32, {"changes": {("emergency", ""): {"procedures": "Leave"}}}),
        (33, {"without": ["emergency"]}),
    ],
)  # fmt: skip
def test_a_block_that_is_taken_away_is_named(number, gone):
    assert number in {b.number for b in missing(paper(**gone))}


def test_the_line_of_a_zone_prints_with_what_it_was_set_by():
    """The ways of setting a line are kept apart: guide, reading, terrain or wind."""
    words = " ".join(block(paper(), 30).lines)

    assert "Hot zone: 60 m; set by: table of a guide, Guidebook" in words
    assert "page 125" in words


def test_the_figures_of_a_material_stand_with_their_sources():
    (row,) = block(paper(), 19).table.rows
    lines = " ".join(block(paper(), 19).lines)

    assert row[0] == "ammonia (label or placard seen)"
    assert "300 ppm" in row[5]  # NIOSH IDLH of ammonia
    assert "NIOSH" in lines
    # Both published lists stand; where they differ nothing is resolved silently.
    assert "NFPA 497" in row[11]
    assert "IEC 60079-20-1" in row[11]


def test_a_material_without_reference_data_says_so_in_every_column():
    """29 CFR 1910.120(j)(1)(iv), by analogy: hazardous until it is identified."""
    odd = paper({("substances", "s1"): {"name": "blue powder", "certainty": "told"}})

    (row,) = block(odd, 19).table.rows
    assert row[4:] == ("no reference data",) * 9


def test_what_people_wrote_of_references_stands_as_they_wrote_it():
    both = paper(
        {
            ("substances", "s1"): {
                "name": "ammonia",
                "certainty": "label",
                "facts": "Guide A: 15 to 28 %; guide B: 16 to 25 %",
            }
        }
    )

    assert "guide B: 16 to 25 %" in " ".join(block(both, 19).lines)


def test_dissent_stands_above_the_name():
    refusal = record(
        "signatures",
        {
            "capacity": "hazmat_group_supervisor",
            "name": "V. Rowan",
            "agrees": "no",
            "dissent": "Hot zone too small",
        },
        item="g2",
        seq=99,
        at=minutes(-1),
    )

    lines = block(paper(more=[refusal]), 35).lines

    assert "Hot zone too small" in lines[0]
    assert lines[1].startswith("Not signed: V. Rowan")


def test_the_briefing_stands_with_its_time_speaker_and_listeners():
    first = block(paper(), 34).lines[0]

    assert "2026-03-04 19:00" in first
    assert "S. Larch" in first
    assert "Alder, Birch" in first


def test_the_blank_form_has_every_block_and_no_answer():
    blocks = [b for section in blank() for b in section.blocks]

    assert [b.number for b in blocks] == list(range(1, 37))
    assert [line for b in blocks for line in b.lines] == []
    cells = [c for b in blocks if b.table for row in b.table.rows for c in row]
    assert cells
    assert set(cells) == {""}


def test_each_person_stands_with_what_that_person_wears():
    said = {"garment": "Splash suit", "own_dress": "Birch: nitrile, 30 min"}
    given = plan({("teams", "entry-1"): said})
    mixed = crew(own={"Birch": Ensemble.LEVEL_C})
    sheet = Paper(
        incident="Quarry Lane",
        location="",
        scene=replace(scene(given), crews=(mixed,)),
        tools=(),
    )

    table = block(sheet, 17).table

    assert dict(table.rows) == {
        "Alder, Entry 1": "Level B, splash, SCBA; Splash suit; Birch: nitrile, 30 min",
        "Birch, Entry 1": "Level C, splash, air-purifying (own); Birch: nitrile, 30 min",
    }
