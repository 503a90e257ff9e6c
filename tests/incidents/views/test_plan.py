"""The pages of the plan: what is missing, each form, two commanders, paper."""

import json
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from command.parts import PARTS
from incidents import services
from incidents.models.log import PLAN
from incidents.plans import plan_of
from tests.factories import join, open_incident
from tests.incidents.services.test_plan import TEAMS, make_ready

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident(db):
    return open_incident(
        at=timezone.now(),
        teams=TEAMS,
        first_parts=[
            ("size_up", "", {"place": "Quarry Lane"}),
            ("command", "", {"name": "Dana Holt"}),
        ],
    )


def url(incident, part, item=""):
    address = reverse("incidents:plan-part", args=(incident.pk, part))
    return f"{address}?item={item}" if item else address


def typed(client, incident, part, item=""):
    """The form as a browser would send it back untouched."""
    form = client.get(url(incident, part, item)).context["form"]
    sent = {}
    for field in form:
        value = field.value()
        if value not in (None, []):
            sent[field.html_name] = value
    return sent


def send(client, incident, part, item="", **changes):
    data = typed(client, incident, part, item) | changes
    return client.post(url(incident, part, item), data)


# --- The page ---------------------------------------------------------------------------


def test_the_page_says_what_is_not_ready_with_its_source_and_its_form(
    client, incident, commander
):
    page = client.get(reverse("incidents:plan", args=(incident.pk,)))

    assert "Not ready yet" in page.text
    assert "Decon not ready" in page.text
    assert "29 CFR 1910.120(k)(2)(i)" in page.text
    assert url(incident, "decon") in page.text
    assert "Entry team 1" in page.text


def test_unknown_prints_as_unknown_and_never_blank(client, incident, commander):
    page = client.get(reverse("incidents:plan", args=(incident.pk,)))

    size_up = page.text.split('id="part-size_up"')[1].split("</section>")[0]
    assert "place: Quarry Lane;" in size_up
    assert size_up.count(": unknown") == 9
    assert ": ;" not in size_up


def test_an_incident_without_a_plan_says_what_begins_one(client, commander):
    old = open_incident(person=commander, at=timezone.now())

    page = client.get(reverse("incidents:plan", args=(old.pk,)))

    assert "No plan was begun" in page.text
    assert "Not ready yet" not in page.text


@pytest.mark.parametrize("part", [key for key, part in PARTS.items() if part.offered])
def test_every_part_has_a_form_that_opens(client, incident, commander, part):
    page = client.get(url(incident, part))

    assert page.status_code == 200
    assert 'id="save-part"' in page.text


def test_what_only_the_program_writes_has_no_form(client, incident, commander):
    assert client.get(url(incident, "override")).status_code == 404
    assert client.get(url(incident, "nothing")).status_code == 404


def test_twenty_records_take_no_more_queries_than_one(
    client, incident, commander, django_assert_max_num_queries
):
    def count():
        with django_assert_max_num_queries(40) as seen:
            client.get(reverse("incidents:plan", args=(incident.pk,)))
        return len(seen)

    services.check_in_all(
        incident_id=incident.pk,
        person=incident.opened_by,
        names={"x": "One"},
        at=timezone.now(),
    )
    count()
    one = count()
    services.check_in_all(
        incident_id=incident.pk,
        person=incident.opened_by,
        names={f"x{n}": f"Person {n}" for n in range(20)},
        at=timezone.now(),
    )
    count()

    assert count() == one


# --- Forms ------------------------------------------------------------------------------


def test_what_was_typed_is_kept_word_for_word(client, incident, commander):
    answer = send(
        client,
        incident,
        "zones",
        "hot",
        distance="60,50",
        distance_unit="ft",
        basis="guide",
        edition="Guidebook 20XX",
        page="125",
        corners="45.1, -88.1\n45.2, -88.1\n45.2, -88.3",
    )

    hot = plan_of(incident).zones["hot"]
    assert answer.status_code == 302
    assert hot.distance.shown == "60.50 ft"
    assert (hot.basis, hot.edition, hot.page) == ("guide", "Guidebook 20XX", "125")
    assert [f"{p.longitude}" for p in hot.corners] == ["-88.1", "-88.1", "-88.3"]


@pytest.mark.parametrize(
    ("part", "item", "changes", "field", "words"),
    [
        ("zones", "hot", {"basis": "guide", "runs": "fence"}, "edition", "edition"),
        ("zones", "hot", {"basis": "reading", "distance": "far"}, "distance", "number"),
        (
            "zones",
            "hot",
            {"basis": "reading", "corners": "here and there"},
            "corners",
            "Line 1",
        ),
        ("weather", "", {"wind_from": "400"}, "wind_from", "degrees"),
        ("weather", "", {"wind_from": "270", "wind_towards": "80"}, "wind_towards", ""),
        ("benchmarks", "isolated", {"done": "half past"}, "done", "14:02"),
        ("decon", "", {}, "ready", "choose one"),
        (
            "command",
            "",
            {"name": "X", "takes_over_from": "Y", "face_to_face": "yes"},
            "takes_over_from",
            "Dana",
        ),
        (
            "signatures",
            "",
            {"name": "X", "capacity": "incident_commander", "agrees": "yes"},
            "waiver",
            "6 HM group supervisor",
        ),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_nothing_typed_is_lost(
    client, incident, commander, part, item, changes, field, words
):
    before = incident.entries.count()

    answer = send(client, incident, part, item, **changes)

    assert answer.status_code == 422
    assert "Error:" in answer.text.split("</title>")[0]
    errors = " ".join(answer.context["form"].errors[field])
    assert words in errors
    assert incident.entries.count() == before
    form = answer.context["form"]
    assert {name: form[name].value() for name in changes} == changes


def test_a_time_is_the_one_nearest_to_now(client, incident, commander):
    send(client, incident, "benchmarks", "isolated", done="2026-05-12 14:02")

    (record,) = plan_of(incident).items("benchmarks").values()
    assert record.says.done.isoformat() == "2026-05-12T14:02:00-05:00"


def test_a_briefing_offers_the_members_by_name_and_takes_others(
    client, incident, commander
):
    answer = send(
        client,
        incident,
        "briefing",
        listeners=["Alder", "Birch"],
        listeners_more="R. Crane\n",
    )

    (briefing,) = plan_of(incident).briefings
    assert answer.status_code == 302
    assert briefing.listeners == ("Alder", "Birch", "R. Crane")


def test_those_named_in_a_team_are_checked_in_by_one_press(client, incident, commander):
    page = client.get(url(incident, "check_in"))
    assert "Named in a team, not checked in" in page.text

    client.post(
        url(incident, "check_in"), {"check_in": "all", "arrived": ["Alder", "Cedar"]}
    )

    assert [c.name for c in plan_of(incident).checked_in] == ["Alder", "Cedar"]
    assert "Birch" in client.get(url(incident, "check_in")).text


def test_an_item_is_taken_out_with_a_reason(client, incident, commander):
    send(client, incident, "objectives", objective="Close it")
    (item,) = plan_of(incident).items("objectives")

    refused = client.post(url(incident, "objectives"), {"take_out": "", "item": item})
    done = client.post(
        url(incident, "objectives"), {"take_out": "Typed twice", "item": item}
    )

    assert (refused.status_code, done.status_code) == (422, 302)
    assert plan_of(incident).items("objectives") == {}


def test_two_commanders_see_one_another_and_nothing_is_lost(
    client, incident, commander
):
    other = join(incident, "commander", display_name="R. Vale")
    mine = typed(client, incident, "decon") | {"ready": "yes", "method": "Foam"}
    services.record_part(
        incident_id=incident.pk,
        person=other,
        part="decon",
        says={"ready": "no", "method": "Rinse in two stages"},
        at=timezone.now(),
    )

    answer = client.post(url(incident, "decon"), mine)

    assert answer.status_code == 409
    assert "R. Vale" in answer.text
    assert "Rinse in two stages" in answer.text
    assert answer.context["form"]["method"].value() == "Foam"
    assert plan_of(incident).decon.method == "Rinse in two stages"

    again = {f.html_name: f.value() for f in answer.context["form"] if f.value()}
    assert client.post(url(incident, "decon"), again).status_code == 302
    assert plan_of(incident).decon.method == "Foam"
    assert incident.entries.filter(kind=PLAN).count() == 4


def test_a_double_tap_is_kept_once(client, incident, commander):
    data = typed(client, incident, "decon") | {"ready": "yes"}

    answers = [client.post(url(incident, "decon"), data) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert incident.entries.filter(kind=PLAN).count() == 3


def test_a_closed_incident_shows_its_plan_and_takes_nothing(
    client, incident, commander
):
    data = typed(client, incident, "decon") | {"ready": "yes"}
    services.close_incident(
        incident_id=incident.pk, person=commander, at=timezone.now(), reason="x"
    )

    answer = client.post(url(incident, "decon"), data)

    assert answer.status_code == 422
    assert plan_of(incident).decon is None
    assert 'id="save-part"' not in client.get(url(incident, "decon")).text


def test_command_is_handed_over_with_both_names(client, incident, commander):
    start = typed(client, incident, "command")
    assert start["takes_over_from"] == "Dana Holt"
    assert "Decon not ready" in start["open_items"]

    send(client, incident, "command", name="R. Vale", face_to_face="yes")

    assert plan_of(incident).commander(timezone.now()) == "R. Vale"


# --- Going in ---------------------------------------------------------------------------


def enter(client, incident, **changes):
    address = reverse("incidents:decision", args=(incident.pk, "enter"))
    form = client.get(address).context["form"]
    data = {"client_uuid": form["client_uuid"].value(), "team": "entry-1"}
    return client.post(address, data | changes)


def test_a_team_that_is_not_ready_is_kept_out_with_each_reason(
    client, incident, commander
):
    answer = enter(client, incident, place="dock")

    assert answer.status_code == 422
    for words in ("Not briefed", "Plan not signed", "29 CFR 1910.120(q)(3)(vi)"):
        assert words in answer.text
    assert "Go anyway, and why" in answer.text
    assert answer.context["form"]["place"].value() == "dock"
    assert not incident.entries.filter(kind="enter").exists()


def test_go_anyway_takes_two_presses_and_is_in_the_log(client, incident, commander):
    kept_out = enter(client, incident)
    form = kept_out.context["form"]

    answer = client.post(
        reverse("incidents:decision", args=(incident.pk, "enter")),
        {
            "client_uuid": form["client_uuid"].value(),
            "team": "entry-1",
            "anyway": "Rescue before the full team has assembled",
        },
    )

    assert answer.status_code == 302
    log = client.get(reverse("incidents:log", args=(incident.pk,))).text
    assert "goes anyway" in log
    assert "Rescue before the full team" in log
    sheet = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    assert "Went in without" in sheet


def test_a_ready_team_goes_in_as_before(client, incident, commander):
    made = incident.opened_by.shown_name
    services.record_part(
        incident_id=incident.pk,
        person=commander,
        part="command",
        says={"name": made, "takes_over_from": "Dana Holt", "face_to_face": "yes"},
        based_on=plan_of(incident).last("command").seq,
        at=timezone.now(),
    )
    make_ready(incident, at=timezone.now(), command=False)

    assert enter(client, incident).status_code == 302


def test_what_keeps_a_team_out_is_said_before_anyone_presses(
    client, incident, commander
):
    page = client.get(reverse("incidents:decision", args=(incident.pk, "enter")))

    assert re.search(r"Not ready yet: Entry team 1 \(\d+\)", page.text)


# --- The end ----------------------------------------------------------------------------


def test_closing_asks_who_takes_over_the_site(client, incident, commander):
    """29 CFR 1910.120(q)(11): what follows the emergency has somebody who does it."""
    address = reverse("incidents:close", args=(incident.pk,))

    refused = client.post(address, {"reason": ""})
    send(client, incident, "handing_over", recipient="Q. Sorrel", of="Contractor")
    closed = client.post(address, {"reason": ""})

    assert refused.status_code == 422
    assert "Nobody is named" in refused.text
    assert closed.status_code == 302
    incident.refresh_from_db()
    assert incident.is_closed


# --- Paper ------------------------------------------------------------------------------


def test_the_site_safety_plan_has_all_blocks_and_says_what_is_not_recorded(
    client, incident, commander
):
    page = client.get(reverse("incidents:site-safety-plan", args=(incident.pk,)))

    numbers = [int(n) for n in re.findall(r"<h3>(\d+)\.", page.text)]
    assert numbers == list(range(1, 37))
    assert "Quarry Lane" in page.text
    assert page.text.count("not recorded") >= 20


def test_the_blank_form_carries_nothing_of_the_incident_in_its_blocks(
    client, incident, commander
):
    address = reverse("incidents:site-safety-plan", args=(incident.pk,))

    page = client.get(f"{address}?blank=1")

    blocks = page.text.split('class="blocks"', 1)[1].split("</main>")[0]
    assert "Quarry" not in blocks
    assert "not recorded" not in blocks
    assert "Signature" in blocks


def test_the_activity_log_has_every_line_of_the_log(client, incident, commander):
    send(client, incident, "weather", wind_from="270")

    page = client.get(reverse("incidents:activity-log", args=(incident.pk,)))

    assert "Incident opened" in page.text
    assert "wind from: 270°" in page.text
    assert [f"{n}. " in page.text for n in range(1, 9)] == [True] * 8


def test_zones_with_corners_leave_as_polygons(client, incident, commander):
    corners = "45.1, -88.1\n45.2, -88.1\n45.2, -88.3"
    for zone, ring in (("hot", corners), ("warm", "")):
        send(
            client, incident, "zones", zone, runs="fence", basis="reading", corners=ring
        )

    answer = client.get(reverse("incidents:zones-file", args=(incident.pk,)))

    (feature,) = json.loads(answer.content)["features"]
    assert feature["properties"]["zone"] == "Hot zone"
    (ring,) = feature["geometry"]["coordinates"]
    assert ring[0] == ring[-1]
    assert len(ring) == 4
    # RFC 7946, 3.1.1 and 3.1.6: longitude first, an outer ring counter-clockwise.
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:], strict=False))
    assert area > 0
    assert ring[0][1] in (45.1, 45.2)


def test_the_head_of_a_printed_page_cannot_break_out_of_its_rule(client, commander):
    odd = open_incident(person=commander, at=timezone.now(), name='A"; } * { x: \\')

    sheet = client.get(reverse("incidents:page-head", args=(odd.pk,)))

    assert sheet.headers["Content-Type"].startswith("text/css")
    content = sheet.text.split('"')[1]
    assert "".join(chr(int(code, 16)) for code in re.findall(r"\\(\w+) ", content)) == (
        odd.name
    )
    assert sheet.text.count('"') == 2


def test_two_references_that_differ_are_said_on_the_page_of_the_substances(
    client, incident, commander
):
    facts = "Guide A: 15 to 28 %; guide B: 16 to 25 %"
    send(
        client,
        incident,
        "substances",
        "s1",
        name="blue gas",
        certainty="told",
        facts=facts,
    )

    listed = client.get(url(incident, "substances")).text
    plan = client.get(reverse("incidents:plan", args=(incident.pk,))).text

    assert "lower LEL of 15 % is used" in listed
    assert "references on blue gas differ" in listed
    assert "15 to 28 % (Guide A); 16 to 25 % (guide B)" in plan
