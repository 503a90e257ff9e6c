"""The pages of a drill: what each of the crew sees when, and what is hidden on every route."""

import json
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from incidents.models import APP_KINDS, Drill, DrillScript, Incident, PlannedDrill
from incidents.selectors import drills as read
from incidents.services import drills
from incidents.services.errors import StorageBusyError
from tests.drills import SCRIPT, after, file_of, officer, script_with, started, step
from tests.factories import PersonFactory, acid, log, open_incident
from tests.incidents.views.test_who_may_open_what import (
    MATRIX,
    address,
    cases,
    signed_in,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def url(name, *args):
    return reverse(f"incidents:{name}", args=args)


@pytest.fixture
def drill():
    """Stepped by hand up to the acid: its verdict is not out yet."""
    drill, people = started(at=timezone.now(), seconds=300)
    drill.people = people
    step(drill, timezone.now())
    step(drill, timezone.now())
    return drill


def newest(drill):
    rows = drill.incident.entries.exclude(kind__in=APP_KINDS)
    return rows.order_by("-seq").first().seq


def text_of(drill, person, name="drill", *args):
    return signed_in(person).get(url(name, drill.pk, *args)).text


def decide(drill, person, seq, action, **more):
    return signed_in(person).post(
        url("drill-answer", drill.pk, seq), {"action": action, **more}
    )


# What only the engine says: its words for this acid, and the rule's number and title.
ENGINE_SAYS = ("Acid vapour at the stop limit", "Rule 1,", "hydrogen fluoride")


def shows_verdict(text):
    return any(words in text for words in ENGINE_SAYS) or 'class="verdict' in text


# --- Two people -----------------------------------------------------------------------------


def test_the_verdict_comes_when_both_have_decided(drill):
    commander, technician = drill.people["commander"], drill.people["technician"]
    seq = newest(drill)
    assert "pH 2" in text_of(drill, commander)
    assert not shows_verdict(text_of(drill, commander))

    decide(drill, commander, seq, "stop", look="fluoride_paper")
    for person in (commander, technician):
        assert not shows_verdict(text_of(drill, person))

    decide(drill, technician, seq, "continue")
    for person in (commander, technician):
        text = text_of(drill, person)
        assert "Acid vapour at the stop limit" in text
        assert "common practice, no source" in text


def test_nobody_of_the_crew_sees_what_another_decided(drill):
    commander, technician = drill.people["commander"], drill.people["technician"]
    for seq in (newest(drill) - 1, newest(drill)):
        decide(drill, commander, seq, "withdraw")
        decide(drill, technician, seq, "continue")

    text = text_of(drill, technician)

    assert commander.shown_name not in text
    assert "You decided: Continue" in text
    assert "You decided: Withdraw" not in text


def test_the_verdict_comes_when_the_time_has_run_out():
    began = timezone.now() - (after(31) - after(0))
    drill, people = started(at=began, seconds=30)
    step(drill, began)
    text = text_of(drill, people["commander"])
    assert 'class="verdict continue"' in text
    assert "Not answered in time" in text


def test_the_training_officer_sees_all_at_once(drill):
    decide(drill, drill.people["commander"], newest(drill), "stop")
    text = text_of(drill, drill.led_by)
    assert "Acid vapour at the stop limit" in text
    assert drill.people["commander"].shown_name in text
    assert "no answer yet" in text


def test_the_page_asks_again_and_gets_nothing_while_nothing_changed(drill):
    client = signed_in(drill.people["commander"])
    page = client.get(url("drill", drill.pk)).text
    again = re.search(r'hx-get="([^"]+seen=[0-9a-f]+)"', page)[1]
    assert client.get(again).status_code == 204
    step(drill, timezone.now())
    answer = client.get(again)
    assert answer.status_code == 200
    assert "Fluoride" in answer.text


def test_an_answer_by_htmx_brings_the_fragment_and_a_second_one_says_so(drill):
    client, seq = signed_in(drill.people["commander"]), newest(drill)
    htmx = {"HX-Request": "true"}
    where = url("drill-answer", drill.pk, seq)

    first = client.post(where, {"action": "stop"}, headers=htmx)
    second = client.post(where, {"action": "continue"}, headers=htmx)

    assert first.status_code == 200
    assert first.text.lstrip().startswith('<div id="drill-live"')
    assert second.status_code == 422
    assert "answered this one" in second.text


@pytest.mark.parametrize(
    "sent", [{}, {"action": "dance"}, {"action": "stop", "look": "x"}]
)
def test_a_decision_is_one_of_four(drill, sent):
    person = drill.people["commander"]
    answer = signed_in(person).post(url("drill-answer", drill.pk, newest(drill)), sent)
    assert answer.status_code == 422
    assert not drill.answers.exists()


def test_a_part_sees_only_what_it_is_to_see():
    drill, people = started(
        document=script_with(sees={"d3": ["technician"]}), at=timezone.now()
    )
    step(drill, timezone.now())
    assert "20.9" in text_of(drill, people["technician"])
    assert "20.9" not in text_of(drill, people["commander"])


def test_a_drill_by_the_clock_gives_what_is_due_to_whoever_asks():
    began = timezone.now() - (after(100) - after(0))
    drill, people = started(at=began, speed=1, seconds=300)
    assert drill.incident.entries.exclude(kind__in=APP_KINDS).count() == 1
    assert "20.9" in text_of(drill, people["technician"])
    assert drill.incident.entries.exclude(kind__in=APP_KINDS).count() == 3


# --- Hidden means hidden ------------------------------------------------------------------------

# Every route of the site that may name an incident, by the matrix of the site itself.
HIDDEN = cases(
    (name, row)
    for name, rows in MATRIX.items()
    for row in rows
    if row.in_incident
    and name not in ("held", "device-revoke")  # a drill has no phones
)


@pytest.mark.parametrize(("name", "row"), HIDDEN)
def test_no_page_of_a_running_drill_opens_to_its_crew(drill, name, row):
    where = address(name, row, drill.incident)
    before = drill.incident.entries.count()
    for person in drill.people.values():
        client = signed_in(person)
        for answer in (client.get(where), client.post(where)):
            assert answer.status_code in (302, 403, 404, 405)
            assert not shows_verdict(answer.text)
            if answer.status_code == 302:
                assert answer.url == url("drill", drill.pk)
    assert drill.incident.entries.count() == before


POSTED = cases(
    (name, row)
    for name, rows in MATRIX.items()
    for row in rows
    if row.in_incident
    and row.post["commander"] in (200, 302, 409, 422)
    and name not in ("held", "device-revoke", "report-make")
)


@pytest.mark.parametrize(("name", "row"), POSTED)
def test_no_page_of_a_drill_writes_to_it_for_who_leads_it_either(drill, name, row):
    """What an empty form is enough for (a Mayday, taking back) is refused in words."""
    where = address(name, row, drill.incident)
    before = drill.incident.entries.count()

    answer = signed_in(drill.led_by).post(where)

    assert answer.status_code in (200, 302, 403, 404, 409, 422)
    assert drill.incident.entries.count() == before


def test_a_training_officer_in_the_crew_is_crew():
    leader = officer()
    colleague = officer(agency=leader.agency)
    drill, _ = started(leader=leader, at=timezone.now())
    crew = {colleague: "technician"}
    other = drills.start_drill(
        person=leader,
        script=drill.script,
        crew=crew,
        speed=0,
        answer_seconds=300,
        at=timezone.now(),
    )
    step(other, timezone.now())
    client = signed_in(colleague)
    assert client.get(url("sheet", other.pk)).status_code == 302
    assert client.get(url("sheet", drill.pk)).status_code == 200
    assert not shows_verdict(text_of(other, colleague))


WITHOUT_ARGUMENTS = cases(
    (name, row)
    for name, rows in MATRIX.items()
    for row in rows
    if not row.in_incident and not row.kwargs and row.get.get("viewer") in (200, 403)
)


@pytest.mark.parametrize(("name", "row"), WITHOUT_ARGUMENTS)
def test_no_other_page_tells_the_crew_either(drill, name, row):
    where = reverse(f"incidents:{name}")
    for person in drill.people.values():
        text = signed_in(person).get(where).text
        assert "Etching shop drill" not in text or name in ("incident-list", "drills")


def test_after_the_end_every_page_opens(drill):
    drills.end_drill(incident_id=drill.pk, person=drill.led_by, at=timezone.now())
    for person in drill.people.values():
        client = signed_in(person)
        for name in ("sheet", "log", "charts", "record", "worksheet-json", "fits"):
            assert client.get(url(name, drill.pk)).status_code == 200
        assert client.get(url("drill-results", drill.pk)).status_code == 200


def test_strangers_find_no_drill(drill):
    nobody = (
        PersonFactory.create(agency=drill.led_by.agency),
        PersonFactory.create(),
        officer(),
    )
    for person in nobody:
        client = signed_in(person)
        for name in ("drill", "drill-live", "drill-results"):
            assert client.get(url(name, drill.pk)).status_code == 404
        for name in ("drill-next", "drill-end"):
            assert client.post(url(name, drill.pk)).status_code == 404
        assert decide(drill, person, newest(drill), "stop").status_code == 404
    assert not drill.answers.exists()


# --- Results -------------------------------------------------------------------------------------


def test_results_are_seen_by_the_person_and_the_training_officer_only(drill):
    commander, technician = drill.people["commander"], drill.people["technician"]
    decide(drill, commander, newest(drill), "withdraw")
    assert signed_in(commander).get(url("drill-results", drill.pk)).status_code == 404
    drills.end_drill(incident_id=drill.pk, person=drill.led_by, at=timezone.now())

    own = text_of(drill, commander, "drill-results")
    leaders = text_of(drill, drill.led_by, "drill-results")

    assert "More careful than the engine" in own
    assert technician.shown_name not in own
    assert technician.shown_name in leaders
    assert "no certificate" in own
    of_commander = url("drill-person", commander.pk)
    assert signed_in(commander).get(of_commander).status_code == 200
    assert signed_in(drill.led_by).get(of_commander).status_code == 200
    for stranger in (technician, PersonFactory.create(), officer()):
        assert signed_in(stranger).get(of_commander).status_code == 404
    assert signed_in(technician).get(url("drill-person", 10**6)).status_code == 404


def test_nothing_of_a_log_or_report_tells_what_one_of_the_crew_decided(drill):
    commander = drill.people["commander"]
    decide(drill, commander, newest(drill), "withdraw")
    drills.end_drill(incident_id=drill.pk, person=drill.led_by, at=timezone.now())
    bodies = list(drill.incident.entries.values_list("body", flat=True))
    assert not any(
        "withdraw" in body and commander.shown_name in body for body in bodies
    )


# --- Scripts and beginning ---------------------------------------------------------------------


def test_a_script_is_written_looked_at_and_begun():
    leader = officer()
    technician = PersonFactory.create(agency=leader.agency)
    client = signed_in(leader)
    kept = client.post(url("drill-script-new"), {"text": file_of().decode()})
    script = DrillScript.objects.get()
    assert kept.url == url("drill-script", script.pk)
    page = client.get(kept.url).text
    assert "Look for fluoride after any acid." in page
    assert "Withdraw" in page

    begun = client.post(
        url("drill-start", script.pk),
        {"speed": "0", "answer_seconds": "60", f"part-{technician.pk}": "technician"},
    )

    drill = Drill.objects.get()
    assert begun.url == url("drill", drill.pk)
    assert [one.person for one in drill.crew.all()] == [technician]


def test_what_is_wrong_with_a_script_is_said_with_its_place():
    broken = script_with(goals=[])
    broken["log"][3]["ph"] = 15
    client = signed_in(officer())
    answer = client.post(url("drill-script-new"), {"text": json.dumps(broken)})
    assert answer.status_code == 422
    for pointer in ("/drill/goals", "/log/3/ph"):
        assert pointer in answer.text
    assert not DrillScript.objects.exists()


def test_only_who_reviews_sees_a_script():
    leader = officer()
    signed_in(leader).post(url("drill-script-new"), {"text": file_of().decode()})
    number = DrillScript.objects.get().pk
    inside = PersonFactory.create(agency=leader.agency)
    for name in ("drill-script", "drill-script-file", "drill-start", "drill-plan"):
        assert signed_in(inside).get(url(name, number)).status_code == 403
        assert signed_in(officer()).get(url(name, number)).status_code == 404
    same = signed_in(leader).get(url("drill-script-file", number))
    assert json.loads(same.content) == SCRIPT


def test_neither_a_name_on_paper_nor_the_way_to_a_drill_is_kept_in_a_cache(drill):
    crew = signed_in(drill.people["technician"])
    away = crew.get(url("page-head", drill.incident_id))
    named = signed_in(drill.led_by).get(url("page-head", drill.incident_id))

    assert away.url == url("drill", drill.pk)
    assert named["Content-Type"].startswith("text/css")
    assert away["Cache-Control"] == named["Cache-Control"] == "no-store"


def test_a_day_is_planned_seen_by_the_crew_and_in_the_calendar():
    leader = officer()
    technician = PersonFactory.create(agency=leader.agency)
    other = PersonFactory.create(agency=leader.agency)
    client = signed_in(leader)
    client.post(url("drill-script-new"), {"text": file_of().decode()})
    number = DrillScript.objects.get().pk
    planned = client.post(
        url("drill-plan", number), {"day": "2099-05-04", "crew": [technician.pk]}
    )
    assert planned.url == url("drills")

    calendar = signed_in(technician).get(url("drill-days"))
    assert calendar["Content-Type"] == "text/calendar; charset=utf-8"
    assert "DTSTART;VALUE=DATE:20990504" in calendar.text
    assert "SUMMARY:Drill: Etching shop drill" in calendar.text
    assert "VEVENT" not in signed_in(other).get(url("drill-days")).text
    assert "2099-05-04" in signed_in(technician).get(url("drills")).text


def test_a_planned_drill_begins_with_its_crew_and_is_planned_no_longer():
    leader = officer()
    technician = PersonFactory.create(agency=leader.agency)
    other = PersonFactory.create(agency=leader.agency)
    client = signed_in(leader)
    client.post(url("drill-script-new"), {"text": file_of().decode()})
    number = DrillScript.objects.get().pk
    client.post(
        url("drill-plan", number), {"day": "2099-05-04", "crew": [technician.pk]}
    )
    planned = PlannedDrill.objects.get()
    start = f"{url('drill-start', number)}?planned={planned.pk}"
    assert start in client.get(url("drills")).text

    form = client.get(start).context["form"]
    assert form[f"part-{technician.pk}"].value() == "technician"
    assert not form[f"part-{other.pk}"].value()

    chosen = {f"part-{technician.pk}": "technician", "speed": 0, "answer_seconds": 60}
    begun = client.post(start, chosen)

    planned.refresh_from_db()
    assert begun.url == url("drill", planned.begun_as_id)
    assert "2099-05-04" not in client.get(url("drills")).text
    assert "VEVENT" not in signed_in(technician).get(url("drill-days")).text
    # It begins once; another time it is a drill of its own.
    assert client.get(start).status_code == 404


def test_what_another_script_or_agency_planned_fills_no_form():
    leader, stranger = officer(), officer()
    technician = PersonFactory.create(agency=leader.agency)
    client = signed_in(leader)
    client.post(url("drill-script-new"), {"text": file_of().decode()})
    signed_in(stranger).post(url("drill-script-new"), {"text": file_of().decode()})
    own, theirs = DrillScript.objects.order_by("pk")
    client.post(
        url("drill-plan", own.pk), {"day": "2099-05-04", "crew": [technician.pk]}
    )
    planned = PlannedDrill.objects.get().pk

    start = f"{url('drill-start', theirs.pk)}?planned={planned}"
    assert signed_in(stranger).get(start).status_code == 404
    for wrong in ("x", "", "99999999999999999999", "-1"):
        start = f"{url('drill-start', own.pk)}?planned={wrong}"
        assert client.get(start).status_code == 404


def test_a_drill_that_is_called_off_leaves_list_and_calendar():
    leader = officer()
    technician = PersonFactory.create(agency=leader.agency)
    client = signed_in(leader)
    client.post(url("drill-script-new"), {"text": file_of().decode()})
    number = DrillScript.objects.get().pk
    client.post(
        url("drill-plan", number), {"day": "2099-05-04", "crew": [technician.pk]}
    )
    planned = PlannedDrill.objects.get()
    where = url("drill-call-off", planned.pk)

    assert signed_in(technician).post(where).status_code == 403
    assert signed_in(officer()).post(where).status_code == 404
    assert "VEVENT" in client.get(url("drill-days")).text
    assert client.post(where).status_code == 302
    assert "VEVENT" not in client.get(url("drill-days")).text
    assert "2099-05-04" not in signed_in(technician).get(url("drills")).text


@pytest.mark.parametrize("day", ["2001-05-04", "no day", ""])
def test_a_day_that_is_none_or_over_is_not_planned(day):
    leader = officer()
    technician = PersonFactory.create(agency=leader.agency)
    client = signed_in(leader)
    client.post(url("drill-script-new"), {"text": file_of().decode()})
    where = url("drill-plan", DrillScript.objects.get().pk)
    sent = {"day": day, "crew": [technician.pk]}
    assert client.post(where, sent).status_code == 422
    assert not PlannedDrill.objects.exists()


def test_an_empty_crew_begins_nothing():
    leader = officer()
    client = signed_in(leader)
    client.post(url("drill-script-new"), {"text": file_of().decode()})
    number = DrillScript.objects.get().pk
    answer = client.post(
        url("drill-start", number), {"speed": "1", "answer_seconds": "60"}
    )
    assert answer.status_code == 422
    assert "Give at least one person" in answer.text
    assert not Incident.objects.exists()


def test_a_script_is_made_of_a_past_incident():
    leader = officer()
    incident = open_incident(
        person=PersonFactory.create(agency=leader.agency), at=timezone.now()
    )
    client = signed_in(leader)
    log(incident, acid(timezone.now()))
    where = url("drill-script-from", incident.pk)
    assert "Instead of Alder" in client.get(where).text
    assert where in client.get(url("reports", incident.pk)).text
    assert client.post(where, {"name": "x"}).status_code == 422

    made = client.post(
        where,
        {
            "name": "Tank room, again",
            "place": "Nowhere Lane",
            "goals": "Look for fluoride.\nThen leave.",
            "person-0": "P. Ersatz",
        },
    )

    script = DrillScript.objects.get()
    assert made.url == url("drill-script", script.pk)
    assert script.from_incident == incident
    page = client.get(made.url).text
    assert "Look for fluoride." in page
    assert "P. Ersatz" in script.document
    for word in ("Quarry", "Alder", "Birch", "tank room", str(incident.pk)):
        assert word not in script.document


def test_a_page_takes_as_many_queries_for_two_questions_as_for_three(drill):
    person = drill.people["technician"]
    seen = read.drill_for(person, drill.pk)
    read.injects(seen, person, timezone.now())
    with CaptureQueriesContext(connection) as two:
        read.injects(seen, person, timezone.now())
    step(drill, timezone.now())
    seen = read.drill_for(person, drill.pk)
    read.injects(seen, person, timezone.now())
    with CaptureQueriesContext(connection) as three:
        read.injects(seen, person, timezone.now())
    assert len(three) == len(two) <= 3


def test_a_drill_whose_due_readings_cannot_be_stored_is_shown_as_far_as_it_is(
    monkeypatch,
):
    began = timezone.now() - (after(100) - after(0))
    drill, people = started(at=began, speed=1, seconds=300)

    def busy(**given):
        raise StorageBusyError("Not now.")

    monkeypatch.setattr(drills, "append_entry", busy)
    answer = signed_in(people["technician"]).get(url("drill", drill.pk))

    assert answer.status_code == 200
    assert "20.9" not in answer.text
    monkeypatch.undo()
    assert "20.9" in text_of(drill, people["technician"])
