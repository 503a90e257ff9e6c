"""The table of methods: every row with its source, every sentence found again."""

import ast
from pathlib import Path

import pytest

import screening
from screening.methods import (
    COMMON_PRACTICE,
    KINDS,
    METHODS,
    SENTENCES,
    next_step,
    reason,
    recognise,
    row_of,
    rows_on,
)
from screening.substances import STATUSES
from screening.verdicts import Hazard

# Detector tubes are no kind of reading of a worksheet.
NOT_OURS = {"C64"}
MADE_ELSEWHERE = {
    # by instrument: screening.instruments; where nobody looked: screening.coverage
    "bump_failed_after", "bump_failed", "calibration_overdue", "bump_not_today", "nobody",
    "lot_check_failed_after", "lot_check_failed", "lot_expired", "lot_not_checked",
}  # fmt: skip


def test_every_row_of_the_job_map_that_a_reading_can_meet_is_here():
    ours = {row.id for row in METHODS if row.id.startswith("C")}

    assert ours == {f"C{n}" for n in range(1, 69)} - NOT_OURS
    assert len(METHODS) == len({row.id for row in METHODS})


@pytest.mark.parametrize("row", METHODS, ids=[row.id for row in METHODS])
def test_every_row_says_when_where_from_and_what_next(row):
    assert row.kind in KINDS
    assert row.subject
    assert row.method
    assert row.tells_when or row.cannot_when or row.never_when
    assert row.next_step.endswith(".")
    assert row.status in STATUSES
    assert row.source
    assert (row.source == COMMON_PRACTICE) <= (row.status == "common practice")
    assert row.cited.endswith("[memory]") == (row.status == "memory")


def test_every_hazard_of_the_coverage_has_a_method_and_what_can_go_wrong():
    for hazard in Hazard:
        rows = rows_on(hazard)
        if hazard.value.endswith("vapour") or hazard.value.startswith("oxygen"):
            assert any(row.tells_when for row in rows), hazard
            assert any(row.cannot_when or row.never_when for row in rows), hazard


def test_a_sentence_has_one_key_and_no_two_read_alike():
    assert len(SENTENCES) == sum(len(row.says) for row in METHODS)
    assert len({sentence.text for sentence in SENTENCES.values()}) == len(SENTENCES)


def test_a_reason_without_its_figure_is_refused():
    assert reason("ph_dry_air", humidity="12") == "pH paper was dry, at 12 % humidity"
    with pytest.raises(KeyError):
        reason("ph_dry_air")
    with pytest.raises(KeyError):
        reason("no such sentence")


@pytest.mark.parametrize("key", sorted(SENTENCES))
def test_every_sentence_is_found_again_with_what_was_put_in(key):
    sentence = SENTENCES[key]
    fields = set(sentence.pattern.groupindex)
    facts = {name: f"some {name}, 10.6 eV" for name in fields}
    text = reason(key, **facts)
    if sentence.aside:
        text = f"{reason('ph_wet')}; {text}"

    said = recognise(text)[-1]

    assert said.sentence is sentence
    assert said.facts == facts
    assert "{" not in said.next_step


def test_what_is_not_in_the_table_is_not_recognised():
    assert recognise("the crew thought so") == ()
    assert recognise("wet pH paper held in the air; the crew thought so") == ()
    assert row_of("the crew thought so") is None
    assert next_step("the crew thought so") == ""


def test_no_sentence_lulls():
    for row in METHODS:
        words = " ".join(
            (row.tells_when, row.cannot_when, row.never_when, row.next_step)
            + tuple(sentence.text for sentence in row.says)
        ).lower()
        assert "all clear" not in words
        assert "safe" not in words.split()


def test_the_engine_uses_every_key_and_no_other():
    """In a call of `reason`, or as the sentence of a need (`screening.reach`)."""
    used = set()
    for path in Path(screening.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            match node:
                case ast.Call(func=ast.Name(id="reason"), args=[key, *_]):
                    used |= _words(key)
                case ast.keyword(arg="sentence"):
                    used |= _words(node.value)
                case ast.Call(func=ast.Name(id="_touched"), args=[key, *_]):
                    used |= _words(key)
                case ast.AnnAssign(target=ast.Name(id="_NOTED_AGAINST")):
                    used |= _words(node) & SENTENCES.keys()
                case ast.FunctionDef(name="_why"):
                    used |= _words(node) & SENTENCES.keys()
    used = used - {"lel_infrared_", "", " "} | {
        "lel_infrared_hydrogen",
        "lel_infrared_acetylene",
    }

    assert used <= SENTENCES.keys()
    assert SENTENCES.keys() - used <= MADE_ELSEWHERE


def _words(node):
    return {
        part.value
        for part in ast.walk(node)
        if isinstance(part, ast.Constant) and isinstance(part.value, str)
    }
