"""The chain that travels with a report can be followed with nothing but a hash."""

import json

import pytest

from reports import chain
from tests.reports import worksheets


@pytest.fixture(scope="module")
def story():
    sheet = worksheets.document()
    records, head = worksheets.chained(sheet)
    return sheet, records, head


def test_hashing_the_records_again_gives_the_head(story):
    _, records, head = story

    assert chain.head_of(chain.chain_document(records)) == head


def test_an_edited_record_breaks_the_one_after_it(story):
    _, records, _ = story
    edited = list(records)
    edited[3] = edited[3].replace(b'\\"ph\\": 2', b'\\"ph\\": 7')
    assert edited[3] != records[3]

    with pytest.raises(chain.ChainError, match="record 5 does not follow"):
        chain.head_of(chain.chain_document(edited))


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ([0, 2, 3], "record 2 says that it is 3"),
        ([1, 0], "record 1 says that it is 2"),
        ([], "no record"),
    ],
)
def test_a_missing_or_moved_record_is_named(story, order, words):
    _, records, _ = story

    with pytest.raises(chain.ChainError, match=words):
        chain.head_of(chain.chain_document([records[index] for index in order]))


@pytest.mark.parametrize(
    "document",
    [
        b"",
        b"[]",
        b'{"format": "something else"}',
        b'{"format": "hazmat-incident-chain", "version": 2, "records": []}',
        b'{"format": "hazmat-incident-chain", "version": 1, "records": [1]}',
        b'{"format": "hazmat-incident-chain", "version": 1, "records": ["x"]}',
    ],
)
def test_what_is_no_chain_is_refused(document):
    with pytest.raises(chain.ChainError):
        chain.head_of(document)


def test_the_worksheet_agrees_with_its_own_records(story):
    sheet, records, _ = story

    differs = chain.disagreement(
        json.dumps(sheet).encode(), chain.chain_document(records)
    )

    assert differs == ""


def change_setup(sheet):
    sheet["suspects"] = ["chlorine"]


def drop_entry(sheet):
    sheet["log"].pop()


def repeat_entry(sheet):
    sheet["log"].append(dict(sheet["log"][0]))


def change_entry(sheet):
    sheet["log"][2]["ph"] = 7


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (change_setup, "set-up"),
        (drop_entry, "other entries"),
        (repeat_entry, "other entries"),
        (change_entry, "p1"),
    ],
)
def test_a_worksheet_that_says_something_else_is_named(story, change, words):
    _, records, _ = story
    sheet = worksheets.document()
    change(sheet)

    differs = chain.disagreement(
        json.dumps(sheet).encode(), chain.chain_document(records)
    )

    assert words in differs


def test_the_set_up_that_counts_is_the_last_amended_one(story):
    sheet, records, _ = story
    first = json.loads(records[0])
    body = json.dumps({"setup": {**json.loads(first["body"])["setup"], "suspects": []}})
    amended = json.dumps({**first, "kind": "amendment", "body": body})
    document = chain.chain_document([*records, amended.encode()])

    differs = chain.disagreement(json.dumps(sheet).encode(), document)

    assert "set-up" in differs
