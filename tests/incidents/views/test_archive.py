"""The archive's two pages: filters in the address, and what they say."""

import pytest
from django.urls import reverse

from incidents import services
from incidents.models import ArchiveRow
from tests.factories import (
    PersonFactory,
    acid,
    entry,
    log,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

LIST = reverse("incidents:archive")
FIGURES = reverse("incidents:archive-figures")


@pytest.fixture
def commander():
    return PersonFactory.create(display_name="Dana Holt")


@pytest.fixture
def reviewer(commander, client):
    person = PersonFactory.create(
        agency=commander.agency, may_open=False, may_review=True
    )
    client.force_login(person)
    return person


def stopped(commander, *, heard=60, at=0, name="Quarry Lane pump house", answered=True):
    """A Stop that was heard after so many seconds; closed."""
    found = open_incident(person=commander, name=name, at=minutes(at))
    log(found, entry("enter", minutes(at + 1), team="entry-1"))
    stop = log(found, acid(minutes(at + 2))).entry
    if heard:
        log(found, entry("acknowledge", minutes(at + 2 + heard / 60), entry=stop.key))
    if answered:
        log(found, entry("exit", minutes(at + 8), team="entry-1"))
    return services.close_incident(
        incident_id=found.pk,
        person=commander,
        at=minutes(at + 50),
        reason="Handed over",
    )


def words(response):
    return " ".join(response.content.decode().split())


def test_who_reviews_has_the_archive_on_the_first_page(client, reviewer, commander):
    home = reverse("incidents:incident-list")
    answer = words(client.get(home))
    assert f'href="{LIST}"' in answer
    assert f'href="{FIGURES}"' in answer
    client.force_login(commander)
    answer = words(client.get(home))
    assert f'href="{LIST}"' in answer
    assert f'href="{FIGURES}"' not in answer


def test_the_list_says_what_each_incident_came_to(client, reviewer, commander):
    stopped(commander)
    answer = words(client.get(LIST))
    assert "1 incident" in answer
    assert "Quarry Lane pump house" in answer
    assert "Stop" in answer
    assert "acid vapour" in answer
    assert "Clear filters" not in answer


def test_who_reviews_goes_on_to_the_sheet_without_a_part_in_it(
    client, reviewer, commander
):
    found = open_incident(person=commander)
    for name in ("sheet", "sheet-live", "late", "log"):
        answer = client.get(reverse(f"incidents:{name}", args=(found.pk,)))
        assert answer.status_code == 200, name
    other = open_incident(person=PersonFactory.create())
    gone = client.get(reverse("incidents:sheet", args=(other.pk,)))
    assert gone.status_code == 404


def test_filters_stand_in_the_address_and_can_be_cleared(client, reviewer, commander):
    stopped(commander)
    query = {"text": "pump", "worst": "2", "hazard": "acid_vapour", "person": "dana"}
    answer = client.get(LIST, query)
    page = words(answer)
    assert "1 incident" in page
    assert 'value="pump"' in page
    assert '<option value="2" selected>Stop</option>' in page
    assert f'href="{LIST}">Clear filters' in page
    assert f"{FIGURES}?text=pump&amp;person=dana&amp;hazard=acid_vapour" in page
    assert "0 incidents" in words(client.get(LIST, query | {"rule": "11"}))


def test_what_cannot_be_looked_for_is_said_and_finds_nothing(client, reviewer):
    answer = client.get(
        LIST, {"rule": "999", "since": "2026-05-05", "until": "2026-05-04"}
    )
    assert answer.status_code == 422
    page = words(answer)
    assert "Rule that spoke: choose one of the list." in page
    assert "Error: Archive" in page
    assert client.get(FIGURES, {"since": "yesterday"}).status_code == 422


def test_a_crossed_pair_of_days_is_said(client, reviewer):
    answer = client.get(LIST, {"since": "2026-05-05", "until": "2026-05-04"})
    assert "Opened until is before opened from." in words(answer)


def test_words_that_could_be_markup_are_text(client, reviewer, commander):
    stopped(commander, name="<b>Bold</b> works")
    page = words(client.get(LIST, {"text": "<b>bold"}))
    assert "&lt;b&gt;Bold" in page
    assert "<b>Bold" not in page


def test_pages_of_fifty_keep_the_filters(client, reviewer, commander):
    for number in range(51):
        open_incident(person=commander, name=f"Call {number}", at=minutes(number))
    page = words(client.get(LIST, {"text": "call"}))
    assert "51 incidents, 1 to 50 shown" in page
    assert 'rel="next" href="?text=call&amp;page=2"' in page
    second = words(client.get(LIST, {"text": "call", "page": "2"}))
    assert "Call 0" in second
    assert 'rel="prev" href="?text=call&amp;page=1"' in second
    assert "51 to 51 shown" in words(client.get(LIST, {"page": "999"}))
    assert "1 to 50 shown" in words(client.get(LIST, {"page": "9999999999"}))


def test_an_open_incident_is_marked(client, reviewer, commander):
    found = open_incident(person=commander)
    log(found, acid(minutes(1)))
    page = words(client.get(LIST))
    assert "<b>Open</b>" in page
    assert "2 records so far" in page
    assert "what was found is listed when it is closed" in page


def test_incidents_without_a_row_are_said_to_be_missing(client, reviewer, commander):
    stopped(commander)
    ArchiveRow.objects.all().delete()
    page = words(client.get(LIST))
    assert "1 incident of your agency is not in the archive yet" in page


def test_an_empty_archive_says_what_will_be_here(client, reviewer):
    assert "Closed incidents stand here" in words(client.get(LIST))
    assert "Close the first incident to begin" in words(client.get(FIGURES))


def test_under_ten_cases_each_is_printed_and_no_median(client, reviewer, commander):
    stopped(commander, heard=60)
    stopped(commander, heard=20, at=100)
    stopped(commander, heard=0, at=200)
    page = words(client.get(FIGURES))
    assert "3 closed incidents" in page
    assert "20 s, 1 min" in page
    assert 'data-label="Never heard">1<' in page
    assert "2 of 3" in page  # heard, by rule
    assert "%</td>" not in page


def test_a_rule_that_was_always_let_be_is_listed(client, reviewer, commander):
    stopped(commander, answered=False)
    page = words(client.get(FIGURES))
    assert "Always let be, for the SOP committee" in page
    assert "Rule 1, acid vapour at the stop limit: 1 of 1" in page
    stopped(commander, at=100)
    assert "No rule was always let be." in words(client.get(FIGURES))


@pytest.mark.parametrize(
    ("by", "name"),
    [
        ("year", "2026"),
        ("rule", "Acid vapour at the stop limit"),
        ("place", "tank room"),
        ("nonsense", "2026"),
    ],
)
def test_a_stop_is_told_apart_by_year_rule_or_place(
    client, reviewer, commander, by, name
):
    stopped(commander)
    page = words(client.get(FIGURES, {"by": by, "text": "pump"}))
    assert f'<th scope="row">{name}</th>' in page
    assert "?text=pump&amp;by=place" in page


def test_the_figures_are_of_what_the_filters_find(client, reviewer, commander):
    stopped(commander, heard=60)
    stopped(commander, heard=20, at=100, name="Mill")
    page = words(client.get(FIGURES, {"text": "mill"}))
    assert "1 closed incident<" in page
    assert "20 s, 1 min" not in page


def test_the_chart_says_in_words_what_it_shows(client, reviewer, commander):
    stopped(commander)
    page = words(client.get(FIGURES))
    assert "2026: 1 cases: 1 min</desc>" in page
    assert 'style="' not in page


@pytest.mark.parametrize("count", [1, 20])
def test_the_pages_cost_the_same_number_of_queries(
    client, reviewer, commander, count, django_assert_num_queries
):
    for number in range(count):
        stopped(commander, at=100 * number)
    with django_assert_num_queries(8):
        client.get(LIST)
    with django_assert_num_queries(7):
        client.get(FIGURES)
