"""The questions of a sceptical chief: each is answered on a page that is there."""

import re
from pathlib import Path

from django.urls import get_resolver

TABLE = Path(__file__).resolve().parent.parent / "docs" / "questions.md"


def answers():
    """Number and page names of each row."""
    for line in TABLE.read_text("utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if cells[0].isdigit():
            yield int(cells[0]), re.findall(r"`([a-z-]+)`", cells[-1])


def test_there_are_twenty_and_each_has_a_page():
    rows = list(answers())
    assert [number for number, _ in rows] == list(range(1, 21))
    assert all(pages for _, pages in rows)


def test_each_page_is_a_route():
    routes = {
        pattern.name
        for namespace in [get_resolver().namespace_dict["incidents"]]
        for pattern in namespace[1].url_patterns
    }
    named = {page for _, pages in answers() for page in pages}
    assert named - routes == set()
