"""The public ICS forms as files: the same blocks and values as their pages."""

import html
import io
import re

import pikepdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from incidents.views import plan_forms
from reports.reading import page_texts
from tests.factories import PersonFactory, acid, entry, join, log, minutes
from tests.incidents.services.test_plan import planned, say

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

NOTE = 'Seen by <b>Alder</b> & "Birch" \U0001f525'


@pytest.fixture
def incident(client):
    """A plan with something in every kind of block, and a log."""
    incident = planned(name="Pump house \r\n; filename=x")
    client.force_login(incident.opened_by)
    say(incident, "objectives", {"objective": "Find the valve"}, item="o1")
    say(incident, "mode", {"mode": "offensive", "why": "Valve can be reached"})
    say(incident, "check_in", {"name": "Engine 4", "agency": "Creek Town"}, item="c1")
    log(incident, acid(minutes(3), note=NOTE))
    log(incident, entry("par", minutes(4), team="entry-1"))
    return incident


@pytest.fixture
def same_moment(monkeypatch):
    """Page and file of one moment."""
    now = timezone.now()
    monkeypatch.setattr(plan_forms.timezone, "now", lambda: now)


def page_of(client, incident, name, query=""):
    address = reverse(f"incidents:{name}", args=(incident.pk,))
    return client.get(address + query).text


def file_of(client, incident, name, query=""):
    address = reverse("incidents:form-file", args=(incident.pk, name))
    return client.get(address + query)


def printed(answer):
    return " ".join(" ".join(page_texts(answer.content)).split())


def squeezed(words):
    return re.sub(r"\s", "", words)


def heads(page):
    found = re.findall(r"<(?:h[23]|caption)>\s*(\d+\. [^<]*?)\s*</", page)
    return list(map(html.unescape, found))


@pytest.mark.parametrize("query", ["", "?blank=1"], ids=["filled", "blank"])
@pytest.mark.parametrize("name", plan_forms.NAMES)
def test_the_file_has_the_blocks_of_the_page_in_its_order(
    client, incident, name, query
):
    page = page_of(client, incident, name, query)

    words = squeezed(printed(file_of(client, incident, name, query)))

    titles = [squeezed(head) for head in heads(page)]
    assert len(titles) in (8, 10, 36)
    at = -1
    for title in titles:
        at = words.find(title, at + 1)
        assert at >= 0, title


@pytest.mark.parametrize("name", plan_forms.NAMES)
def test_the_file_has_every_value_of_the_page(client, incident, name, same_moment):
    page = page_of(client, incident, name)
    form = page[page.index('class="blocks"') : page.index("</main>")]

    words = squeezed(printed(file_of(client, incident, name)))

    lines = re.findall(r"<p>(.*?)</p>", form, re.DOTALL)
    cells = re.findall(r"<td>(.*?)</td>", form, re.DOTALL)
    assert lines
    for line in lines:
        for part in line.split("<br>"):
            assert squeezed(html.unescape(part)) in words
    for cell in cells:
        for word in html.unescape(cell.replace("<br>", " ")).split():
            assert word[:4] in words or not word.isascii()


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("site-safety-plan", ["Find the valve", "Quarry Lane"]),
        ("incident-briefing", ["Find the valve", "Valve can be reached", "STOP"]),
        ("activity-log", ["Incident opened", "pH 2", "Engine 4", "Creek Town"]),
    ],
)
def test_what_is_known_stands_in_the_file(client, incident, name, known):
    words = printed(file_of(client, incident, name))

    for expected in known:
        assert expected.lower() in words.lower()


def test_a_note_prints_as_it_was_typed(client, incident):
    words = squeezed(printed(file_of(client, incident, "activity-log")))

    assert squeezed(NOTE.replace("\U0001f525", "[U+1F525]")) in words


@pytest.mark.parametrize("name", plan_forms.NAMES)
def test_it_comes_as_a_pdf_with_a_harmless_name(client, incident, name):
    answer = file_of(client, incident, name)

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")
    said = answer["Content-Disposition"]
    assert said == f'attachment; filename="pump-house-filenamex-{name}.pdf"'


@pytest.mark.parametrize("name", plan_forms.NAMES)
def test_the_blank_file_holds_nothing_of_the_incident(client, incident, name):
    answer = file_of(client, incident, name, "?blank=1")

    words = printed(answer)
    assert "Pump house" not in words
    assert str(incident.pk) not in words
    assert "pH 2" not in words
    assert answer["Content-Disposition"].endswith(f'"blank-{name}.pdf"')


@pytest.mark.parametrize("name", plan_forms.NAMES)
def test_the_same_moment_gives_the_same_bytes(client, incident, name, same_moment):
    first = file_of(client, incident, name).content

    assert file_of(client, incident, name).content == first


def test_paper_is_a4_or_letter_and_nothing_else(client, incident):
    sizes = {}
    for query in ("", "?paper=letter"):
        answer = file_of(client, incident, "activity-log", query)
        with pikepdf.open(io.BytesIO(answer.content)) as opened:
            sizes[query] = [int(side) for side in opened.pages[0].MediaBox][2:]

    assert sizes == {"": [595, 841], "?paper=letter": [612, 792]}
    assert file_of(client, incident, "activity-log", "?paper=x").status_code == 404


@pytest.mark.parametrize("name", plan_forms.NAMES)
def test_the_page_leads_to_its_file(client, incident, name):
    address = reverse("incidents:form-file", args=(incident.pk, name))

    filled = page_of(client, incident, name)
    blank = page_of(client, incident, name, "?blank=1")

    for query in ("", "?paper=letter"):
        assert f'href="{address}{query}"' in filled
    for query in ("?blank=1", "?paper=letter&amp;blank=1"):
        assert f'href="{address}{query}"' in blank


def test_a_viewer_may_read_it_and_a_stranger_finds_nothing(client, incident):
    viewer = join(incident, "viewer")
    client.force_login(viewer)
    assert file_of(client, incident, "activity-log").status_code == 200

    client.force_login(PersonFactory.create(agency=incident.agency))
    assert file_of(client, incident, "activity-log").status_code == 404

    client.force_login(PersonFactory.create())
    assert file_of(client, incident, "activity-log").status_code == 404

    client.logout()
    assert file_of(client, incident, "activity-log").status_code == 302


def test_a_longer_log_costs_no_more_queries(client, incident):
    def cost():
        with CaptureQueriesContext(connection) as queries:
            file_of(client, incident, "activity-log")
        return len(queries)

    cost()
    first = cost()
    for number in range(19):
        log(incident, acid(minutes(5 + number)))
    cost()

    assert cost() == first
