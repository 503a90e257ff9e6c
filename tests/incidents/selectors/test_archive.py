"""Finding incidents again: by every filter, folded, for who may see them."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from incidents import services
from incidents.models import ArchiveRow
from incidents.selectors import (
    Wanted,
    archive_page,
    archived,
    kept_figures,
    not_archived,
)
from tests.factories import (
    AgencyFactory,
    PersonFactory,
    SopProfileFactory,
    acid,
    join,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

ZONE = ZoneInfo("America/Chicago")


@pytest.fixture
def agency():
    return AgencyFactory.create(time_zone="America/Chicago")


@pytest.fixture
def reviewer(agency):
    return PersonFactory.create(agency=agency, may_open=False, may_review=True)


@pytest.fixture
def commander(agency):
    return PersonFactory.create(agency=agency, display_name="Théo Linden")


def close(incident, at=None):
    return services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=at or minutes(600),
        reason="Handed over",
    )


@pytest.fixture
def works(commander):
    """Acid found in the dosing room of a works; closed."""
    found = open_incident(
        person=commander,
        name="Paper mill",
        location="Rue des Érables 4",
        suspects=["hydrogen chloride"],
    )
    log(found, acid(minutes(1), place="Dosing room", note="Red at the Sill"))
    return close(found)


@pytest.fixture
def school(commander):
    """Nothing found, by an edition of the SOP; closed."""
    sop = SopProfileFactory.create(agency=commander.agency, version="7")
    found = open_incident(
        person=commander, name="School 100 %", sop=sop, at=minutes(60)
    )
    log(found, meter(minutes(61), place="Hall_2"))
    return close(found)


def names(person, /, **wanted):
    rows = archived(person, Wanted(**wanted), ZONE)
    return [line.incident.name for line in archive_page(rows, 1).lines]


def test_a_reviewer_finds_every_incident_newest_first(reviewer, works, school):
    assert names(reviewer) == ["School 100 %", "Paper mill"]


@pytest.mark.parametrize(
    "wanted",
    [
        {"text": "mill"},
        {"text": "  PAPER  sill "},
        {"text": "erab"},
        {"text": "Érables"},
        {"text": "theo"},
        {"text": "muriatic"},
        {"text": "2026-03-04 dosing"},
        {"place": "dosing r"},
        {"place": "des erables"},
        {"substance": "HYDROGEN chl"},
        {"substance": "muriatic"},
        {"person": "linden"},
        {"person": "Theo Linden", "hazard": "acid_vapour", "rule": 1, "worst": 2},
        {"sop": 0},
        {"until": date(2026, 3, 4), "text": "mill"},
    ],
)
def test_every_filter_finds_the_works(reviewer, works, school, wanted):
    assert "Paper mill" in names(reviewer, **wanted)


@pytest.mark.parametrize(
    "wanted",
    [
        {"text": "mill school"},
        {"place": "chlor"},
        {"substance": "chlorine"},
        {"person": "ottilie"},
        {"hazard": "base_vapour"},
        {"rule": 11},
        {"worst": 3},
        {"sop": 987_654},
        {"since": date(2026, 3, 5)},
        {"until": date(2026, 3, 3)},
        {"text": "%"} | {"place": "%"},
        {"place": "dosing_room"},
    ],
)
def test_no_filter_finds_what_is_not_there(reviewer, works, wanted):
    assert names(reviewer, **wanted) == []


def test_an_incidents_own_number_finds_it(reviewer, works, school):
    assert names(reviewer, text=str(school.pk)) == ["School 100 %"]
    assert names(reviewer, text=str(school.pk)[:13]) == ["School 100 %"]


def test_signs_of_a_pattern_are_letters_like_others(reviewer, works, school):
    assert names(reviewer, place="hall_2") == ["School 100 %"]
    assert names(reviewer, place="ha%2") == []


def test_an_edition_finds_what_was_judged_by_it(reviewer, works, school):
    assert names(reviewer, sop=school.sop_id) == ["School 100 %"]


def test_days_are_those_of_the_agencys_clock(reviewer, works):
    # Opened at 19:00 UTC on 4 March, which is 13:00 in the agency's zone.
    assert names(reviewer, since=date(2026, 3, 4), until=date(2026, 3, 4)) != []
    late = open_incident(person=works.opened_by, name="Night", at=minutes(60 * 9))
    assert names(reviewer, since=date(2026, 3, 4), until=date(2026, 3, 4)) == [
        late.name,
        works.name,
    ]


def test_without_the_mark_one_finds_what_one_has_a_part_in(works, school):
    person = join(school, "viewer")
    assert names(person) == ["School 100 %"]
    assert names(PersonFactory.create(agency=works.agency)) == []


def test_another_agency_finds_nothing(works):
    assert names(PersonFactory.create(may_review=True)) == []


def test_a_part_given_as_mutual_aid_is_found_by_a_reviewer_too(works):
    guest = PersonFactory.create(may_review=True)
    own = open_incident(person=guest, name="Own")
    works.roles.create(person=guest, role="viewer", mutual_aid=True)
    assert set(names(guest)) == {"Paper mill", own.name}


def test_a_drill_is_never_found(reviewer, commander):
    drill = open_incident(person=commander, name="Drill", is_drill=True)
    log(drill, acid(minutes(1)))
    close(drill)
    assert names(reviewer) == []
    assert kept_figures(archived(reviewer, Wanted(), ZONE), ZONE) == []
    assert not_archived(reviewer) == 0


def test_an_open_incident_is_found_with_what_stands_so_far(reviewer, commander):
    found = open_incident(person=commander)
    log(found, acid(minutes(1)))
    rows = archived(reviewer, Wanted(), ZONE)
    (line,) = archive_page(rows, 1).lines
    assert line.is_open
    assert line.worst.word == "stop"
    assert kept_figures(rows, ZONE) == []


def test_an_incident_that_has_no_row_is_counted(reviewer, works):
    ArchiveRow.objects.all().delete()
    assert not_archived(reviewer) == 1


def test_fifty_to_a_page_and_the_last_page_for_what_lies_beyond(reviewer, commander):
    for number in range(51):
        open_incident(person=commander, name=f"Call {number}", at=minutes(number))
    rows = archived(reviewer, Wanted(), ZONE)
    first, second, beyond = (archive_page(rows, number) for number in (1, 2, 99))
    assert (len(first.lines), first.total, first.last) == (50, 51, 2)
    assert [line.incident.name for line in second.lines] == ["Call 0"]
    assert (second.first_shown, second.last_shown) == (51, 51)
    assert beyond == second


@pytest.mark.parametrize("count", [1, 20])
def test_a_page_costs_the_same_number_of_queries(
    reviewer, commander, count, django_assert_num_queries
):
    for number in range(count):
        found = open_incident(person=commander, at=minutes(number))
        if number % 2:
            close(found)
    with django_assert_num_queries(4):
        archive_page(archived(reviewer, Wanted(text="quarry"), ZONE), 1)
    with django_assert_num_queries(2):
        kept_figures(archived(reviewer, Wanted(), ZONE), ZONE)
