"""The lines of a report that the set-up gives."""

from reports.worksheet_facts import members
from tests.engine.documents import member, team, worksheet


def test_a_member_who_wears_something_else_stands_with_it():
    people = [{"id": "a"}, {"id": "b", "ensemble": "level_c"}]
    document = worksheet(teams=[team(members=people)])

    lines = members(document, "entry-1", {"entry-1/b": "Birch"})

    assert lines == ("a", "Birch, wears Level C, splash, air-purifying")


def test_the_cylinder_stands_after_what_is_worn():
    people = [{**member("a"), "ensemble": "level_d"}]

    (line,) = members(worksheet(teams=[team(members=people)]), "entry-1", {})

    assert line.startswith("a, wears Level D, work uniform, cylinder ")
