"""The scribe's line: what is understood, what is pointed at, what may follow."""

import re
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from incidents.radio import Known, complete, understand

NOW = datetime(2026, 3, 4, 19, 30, tzinfo=UTC)
KNOWN = Known(
    teams={"entry-1": "Entry 1", "backup": "Backup"},
    now=NOW,
    zone=ZoneInfo("America/Chicago"),
    members={
        "entry-1": {"a": "Kim Okoro", "b": "Lee Varga"},
        "backup": {"c": "Lee Moss"},
    },
    places=("tank room", "tank room 2"),
    last_places={"entry-1": "tank room"},
    containers=("drum 3",),
    instruments={"gas_meter": {"meter-1": "Meter 1", "meter-2": "Meter 2"}},
    gases=("ammonia", "carbon dioxide"),
    bands=("red", "blue", "blue_green", "dark_blue"),
)


def body_of(line, known=KNOWN):
    understood = understand(line, known)
    assert understood.problems == ()
    return {
        key: str(value) if key.endswith(("_percent", "_ppm", "ph", "_ev")) else value
        for key, value in understood.body.items()
    }


TANK = {"team": "entry-1", "place": "tank room"}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("lel 4 o2 20.8", {"kind": "gas_meter", "lel_percent": "4", "oxygen_percent": "20.8"}),
        ("LEL 4% O2 20.80 %", {"kind": "gas_meter", "lel_percent": "4", "oxygen_percent": "20.80"}),
        ("lel over o2 20.8", {"kind": "gas_meter", "over_range": ["lel"], "oxygen_percent": "20.8"}),
        (
            "voc 12 lamp 10.6 ev co 5 ppm h2s 0",
            {"kind": "gas_meter", "voc_ppm": "12", "lamp_ev": "10.6", "co_ppm": "5", "h2s_ppm": "0"},
        ),
        (
            "lel 0 oxygen 20.9 at floor with meter 2",
            {
                "kind": "gas_meter", "lel_percent": "0", "oxygen_percent": "20.9",
                "height": "floor", "instrument": "meter-2",
            },
        ),
        ("ph 2 wet", {"kind": "ph_paper", "ph": "2", "moistened": True, "sample": "vapour"}),
        (
            "ph blue green dry on hook",
            {
                "kind": "ph_paper", "band": "blue_green", "moistened": False,
                "sample": "vapour", "carried_on": "hook",
            },
        ),
        (
            "ph white wet liquid",
            {"kind": "ph_paper", "bleached": True, "moistened": True, "sample": "liquid"},
        ),
        (
            "ki no change wet",
            {
                "kind": "ki_starch_paper", "result": "no_change", "moistened": True,
                "sample": "vapour",
            },
        ),
        (
            "ki line at edge liquid wet edge looked at",
            {
                "kind": "ki_starch_paper", "result": "line_at_wet_edge", "moistened": True,
                "sample": "liquid", "edge_checked": True,
            },
        ),
        (
            "fluoride changed wet note lower shelf, left",
            {
                "kind": "fluoride_paper", "result": "changed", "moistened": True,
                "sample": "vapour", "note": "lower shelf, left",
            },
        ),
        ("sign rising pitch", {"kind": "sign", "what": "rising_pitch"}),
        ("par all", {"kind": "par"}),
    ],
)  # fmt: skip
def test_a_line_becomes_the_entry_that_its_words_say(line, said):
    place = {} if said["kind"] == "par" else TANK
    with_place = "" if said["kind"] == "par" else " tank room"
    assert body_of(f"entry 1{with_place} {line}") == {
        "team": "entry-1",
        **place,
        **said,
    }


def test_figures_with_their_units():
    body = body_of("entry 1 tank room rate 5 mrem/h from 3 m alarm")
    assert (str(body["dose_rate"]["value"]), body["dose_rate"]["unit"]) == (
        "5",
        "mrem/h",
    )
    assert (str(body["distance"]["value"]), body["distance"]["unit"]) == ("3", "m")
    assert body["alarm"] is True
    body = body_of("entry 1 tank room imager drum 3 41 C around 20 C shiny")
    assert body["container"] == "drum 3"
    assert body["target"] == "closed_container"
    assert (str(body["surface"]["value"]), body["surface"]["unit"]) == ("41", "degC")
    assert (str(body["surroundings"]["value"]), body["shiny"]) == ("20", True)
    body = body_of("entry 1 air kim 3200 psi")
    assert (body["member"], str(body["pressure"]["value"])) == ("a", "3200")


def test_the_longest_known_place_counts_and_a_new_one_needs_no_quotes():
    assert body_of("entry 1 tank room 2 ph 7 wet")["place"] == "tank room 2"
    assert body_of("entry 1 loading dock ph 7 wet")["place"] == "loading dock"
    assert body_of('entry 1 "ph lab" ph 7 wet')["place"] == "ph lab"
    assert body_of('entry 1 "air lock" ph 7 wet')["place"] == "air lock"


def test_where_no_place_is_said_it_is_that_of_the_last_time_and_named_so():
    understood = understand("entry 1 ph 7 wet", KNOWN)
    assert understood.body["place"] == "tank room"
    assert understood.assumed == {"place", "sample"}
    assert "place" not in understand("backup ph 7 wet", KNOWN).body


def test_the_only_team_need_not_be_said():
    alone = Known(teams={"entry-1": "Entry 1"}, now=NOW, zone=KNOWN.zone)
    understood = understand("ph 7 wet", alone)
    assert understood.body["team"] == "entry-1"
    assert "team" in understood.assumed


def test_who_was_not_heard_is_named_by_a_part_of_the_name_that_nobody_else_has():
    assert body_of("entry 1 par without kim")["unanswered"] == ["a"]
    assert body_of("entry 1 par without lee kim")["unanswered"] == ["b", "a"]


def test_a_time_before_midnight_and_one_to_come():
    said = "entry 1 tank room ph 7 wet at 13:12"
    assert body_of(said)["at"] == "2026-03-04T13:12:00-06:00"
    problem = understand("entry 1 tank room ph 7 wet at 14:02", KNOWN).problems[0]
    assert "has not come yet" in problem.expected


@pytest.mark.parametrize(
    ("line", "word", "expected"),
    [
        ("entry 1 tank room lel four", "four", "what lel reads"),
        ("entry 1 tank room lel 4,5 o2 20", "4,5", "4.5"),
        ("entry 1 tank room ph 2", "", "wet or dry"),
        ("entry 1 tank room ph 2 wet dry", "dry", "once only"),
        ("entry 1 tank room ph pink wet", "pink", "a colour of the chart"),
        ("entry 1 tank room lel 4 lel 5", "lel 5", "once only"),
        ("entry 1 tank room lel 4 ph 2 wet", "ph", "end of the line"),
        ("entry 1 tank room imager drum 3 41", "", "unit"),
        ("entry 1 air pat 3200 psi", "pat", "a member"),
        ("entry 1 tank room air pat 3200 psi", "pat", "a member"),
        ("entry 7 tank room ph 2 wet", "entry", "Entry 1 or Backup"),
        ("ph 2 wet", "ph", "Entry 1 or Backup"),
        ("entry 1", "", "what was read"),
        ("", "", "Entry 1 or Backup"),
        ("entry 1 tank room par all", "tank room", "no place"),
        ("entry 1 wears", "", "level a"),
        ("ventilate", "", "how"),
    ],
)
def test_an_error_points_at_the_word(line, word, expected):
    (problem,) = understand(line, KNOWN).problems
    if word is not None:
        assert line[problem.start : problem.end] == word
    assert expected in problem.expected


def test_what_may_follow():
    assert complete("", KNOWN)[:2] == ("Entry 1", "Backup")
    assert complete("ent", KNOWN)[0] == "Entry 1"
    assert complete("entry ", KNOWN)[0] == "1"
    assert "ph" in complete("entry 1 tank room ", KNOWN)
    assert complete("entry 1 tank room ph 2 ", KNOWN)[:2] == ("wet", "dry")
    assert complete("entry 1 tank room ph 2 w", KNOWN) == ("wet",)
    assert complete("entry 1 tank room imager drum 3 41 ", KNOWN) == (
        "c",
        "°c",
        "f",
        "°f",
    )
    assert "kim" in complete("entry 1 par without ", KNOWN)
    assert complete("entry 9 ", KNOWN) == ()
    assert complete("tank room ", KNOWN) == ("2", "ventilate")


def test_what_a_person_may_not_log_does_not_begin_a_reading():
    technician = Known(
        teams=KNOWN.teams, now=NOW, zone=KNOWN.zone, kinds=frozenset({"ph_paper"})
    )
    assert understand("entry 1 tank room ph 7 wet", technician).whole
    assert not understand("entry 1 exit", technician).whole


def test_a_line_of_any_text_is_answered_and_never_breaks():
    for line in (
        '"',
        '"""',
        "entry 1 note",
        "\t",
        "%",
        "entry 1 x" * 200,
        "é\u2028 ph",
    ):
        understood = understand(line, KNOWN)
        assert understood.problems
        complete(line, KNOWN)


def test_every_whole_line_of_the_page_s_help_is_understood():
    """The page teaches by example; an example that is not understood would mislead."""
    page = Path("templates/log/partials/radio_help.html").read_text(encoding="utf-8")
    examples = re.findall(r"<kbd>([^<]+)</kbd>", page)
    begins = ("entry", "ki", "fluoride", "imager", "rate", "dose", "sign", "alarm")
    lines = [each for each in examples if each.split()[0] in begins]
    assert len(lines) >= 18
    for line in lines:
        whole = line if line.startswith("entry") else f"entry 1 tank room {line}"
        assert understand(whole, KNOWN).problems == (), whole
    assert understand("tank room ventilate fan at the door", KNOWN).whole
    assert understand("entry 1 tank room lel over o2 20.8 at waist", KNOWN).whole
    assert understand("entry 1 tank room ammonia 30", KNOWN).whole
