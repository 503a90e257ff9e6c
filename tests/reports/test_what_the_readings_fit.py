"""The report's evidence, sources of coverage, time inside and heat."""

import json
import re

import pytest

from reports.after_action import build
from reports.from_worksheet import report_data
from reports.reading import page_texts
from screening.evidence import EVIDENCE_CAUTION
from screening.substances import SUBSTANCES
from screening.suspects import SUSPECT_CAUTION
from screening.worksheet import load_json
from tests.reports.worksheets import document, entry, gas, quantity


def report(sheet=None, **options):
    raw = json.dumps(sheet or document()).encode()
    return report_data(load_json(raw), **options)


def words_of(data):
    return " ".join("\n".join(page_texts(build(data))).split())


@pytest.fixture(scope="module")
def story():
    return words_of(report())


def section(words, start, end):
    return words[words.index(start) : words.index(end)]


# --- evidence ------------------------------------------------------------------------


def test_every_substance_of_the_table_is_printed_once_in_one_of_three_groups():
    groups = report().fits

    names = [
        name
        for group in groups
        for line in group.lines
        for clause in line.clauses
        for name in clause.names
    ]
    assert sorted(names) == sorted(substance.name for substance in SUBSTANCES)
    assert [group.weight for group in groups] == [
        "contradicted",
        "not_excluded",
        "not_seen",
    ]


def test_the_section_names_the_readings_and_has_its_caution_beside_it(story):
    evidence = section(story, "What the readings fit", "Decisions")

    assert EVIDENCE_CAUTION in evidence
    assert re.search(r"Contradicted: \d+ of 37", evidence)
    assert re.search(r"Not excluded: \d+ of 37", evidence)
    assert re.search(r"Could not have been seen: \d+ of 37", evidence)
    # pH 2 in the tank room at 14:02 is what an ammonia would not show
    assert re.search(r"pH 2, tank room, 14:02: .*Ammonia \(anhydrous\)", evidence)


def test_no_sentence_of_it_says_what_it_is(story):
    evidence = section(story, "What the readings fit", "Decisions").lower()

    for substance in SUBSTANCES:
        assert f"it is {substance.name}" not in evidence
        assert f"{substance.name} is present" not in evidence
    assert not re.search(r"\bsafe\b", evidence)


def test_a_named_suspect_has_its_facts_its_readings_and_its_caution(story):
    suspects = section(story, "Named suspects", "Contradicted:")

    assert SUSPECT_CAUTION in suspects
    assert "Ammonia: not excluded." in suspects
    assert "pH 2, tank room, 14:02: alone would read base." in suspects
    assert "10 % of the lower is 15,000 ppm" in suspects
    assert "its assigned protection factor is 10,000" in suspects
    assert "edition of 2012" in suspects
    assert "The current Emergency Response Guidebook governs." in suspects


def test_the_ensembles_of_a_suspect_are_those_that_were_worn():
    (suspect,) = report().suspects

    said = [fact.text for fact in suspect.facts if fact.topic == "Ensemble"]
    assert [text.partition(":")[0] for text in said] == [
        "Turnout gear, SCBA; Level B, splash, SCBA",
        "Level A, vapour-tight, SCBA",
    ]


def test_a_suspect_that_the_table_lacks_says_so():
    words = words_of(report({**document(), "suspects": ["germane"]}))

    assert "Germane: not in the table of substances: ask for its data." in words


def test_without_a_paper_or_a_meter_nothing_could_have_been_seen():
    words = words_of(report(document([entry("e1", 0, "enter")])))

    assert "No paper and no meter was read" in words
    assert "Contradicted:" not in words


def test_a_long_log_prints_no_longer_evidence():
    def log(count):
        return [gas(f"g{n}", n, 0) for n in range(count)]

    def size(count):
        groups = report(document(log(count))).fits
        return sum(len(line.clauses) for group in groups for line in group.lines)

    assert size(60) == size(3)


def test_a_place_with_a_nasty_name_prints_as_it_was_typed():
    nasty = "<b>bay</b> & pit"
    paper = {"sample": "vapour", "moistened": True, "ph": 7, "place": nasty}

    assert f"pH 7, {nasty}, 14:00" in words_of(
        report(document([entry("p1", 0, "ph_paper", **paper)]))
    )


# --- where a coverage reason is from -------------------------------------------------


def test_each_reason_of_the_coverage_carries_the_number_of_its_source(story):
    coverage = section(story, "What was looked for", "What the readings fit")

    numbers = {int(n) for n in re.findall(r"\[(\d+)\]", coverage)}
    assert numbers
    assert numbers == set(range(1, max(numbers) + 1))
    sources = coverage.partition("Sources of the reasons")[2]
    for number in numbers:
        assert f"[{number}] " in sources
    assert re.search(r"\[\d+\] common practice, no source \((C|W)\d+", sources)


def test_a_source_from_memory_keeps_its_mark_in_the_list():
    data = report()

    cited = {line.source for place in data.coverage for line in place.lines}
    marked = [source for source in cited if source.endswith("[memory]")]
    words = words_of(data)
    for source in marked:
        assert source in words


def test_what_was_never_looked_for_is_printed_by_team_and_place(story):
    coverage = section(story, "What was looked for", "What the readings fit")

    assert "Never looked for, entry-1, tank room:" in coverage
    assert "Nothing that was carried would have shown the following" in coverage
    assert "Carbon dioxide" in coverage


# --- time inside and heat ------------------------------------------------------------


def test_each_time_inside_is_printed_with_how_long_it_was(story):
    teams = section(story, "Teams and ensembles", "Rules that spoke")

    assert "14:00:00 to 14:13:00, 13 min" in teams


def test_a_stay_longer_than_the_interval_says_so():
    hot = document([entry("e1", 0, "enter"), entry("x1", 31, "exit")])
    hot["incident"]["weather"]["air_temperature"] = quantity(30, "degC")

    words = words_of(report(hot))

    # 30 °C is 86 °F, in full sun 99: 15 minutes in a suit (four-agency manual 1985)
    assert "31 min, 2 looks at people due" in words


def test_heat_is_printed_with_its_sources(story):
    heat = section(story, "Heat:", "Rules that spoke")

    assert "Heat index 67 °F, under the lowest category" in heat
    assert "Level B, splash, SCBA: look at people after each 90 min of work" in heat
    assert "four-agency guidance manual 1985" in heat
    assert "pulse over 110 or 99.6 °F in the mouth" in heat


def test_a_team_still_inside_has_an_open_stay():
    data = report(document([entry("e1", 0, "enter"), gas("g1", 9, 0)]))

    assert "14:00:00, still inside after 9 min" in words_of(data)
