"""The plan in the log: chained, never written over, and in the way of an entry."""

import uuid
from decimal import Decimal

import pytest

from incidents import plan_history, plans, selectors, services
from incidents.documents import loads
from incidents.models.log import PLAN
from incidents.services import chain
from screening.verdicts import Action
from tests.factories import START, entry, join, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

MEMBERS = ("Alder", "Birch")
TEAMS = [
    {
        "id": "entry-1",
        "name": "Entry team 1",
        "role": "entry",
        "ensemble": "level_b",
        "members": [{"id": "a", "name": "Alder"}, {"id": "b", "name": "Birch"}],
    },
    {
        "id": "backup-1",
        "name": "Backup",
        "role": "backup",
        "ensemble": "level_b",
        "members": [{"id": "c", "name": "Cedar"}, {"id": "d", "name": "Dogwood"}],
    },
]
SIZE_UP = {"place": "Quarry Lane"}


def planned(**changes):
    """An incident whose plan was begun at its opening, as the page does it."""
    given = {"teams": TEAMS, "first_parts": [("size_up", "", SIZE_UP)]} | changes
    return open_incident(**given)


def say(incident, part, says, *, item="", at=1, person=None, **more):
    moment = minutes(at) if isinstance(at, int) else at
    return services.record_part(
        incident_id=incident.pk,
        person=person or incident.opened_by,
        part=part,
        item=item,
        says=says,
        at=moment,
        **more,
    )


def make_ready(incident, *, at=1, command=True):
    commander = incident.opened_by.shown_name
    for part, item, says in (
        *([("command", "", {"name": commander})] if command else []),
        ("mode", "", {"mode": "offensive", "why": "Valve can be reached"}),
        ("positions", "p1", {"position": "safety_officer", "name": "S. Larch"}),
        ("zones", "hot", {"runs": "fence", "basis": "terrain_or_wind"}),
        ("weather", "", {"wind_from": Decimal(240)}),
        *(("check_in", name, {"name": name}) for name in MEMBERS),
        ("teams", "backup-1", {"dressed": "yes"}),
        ("decon", "", {"ready": "yes"}),
        ("medical", "", {"aid": "Unit 4", "transport": "Unit 4"}),
        ("briefing", "b1", {"speaker": "S. Larch", "listeners": list(MEMBERS)}),
        (
            "signatures",
            "g1",
            {
                "capacity": "incident_commander",
                "name": commander,
                "agrees": "yes",
                "waiver": "drill",
            },
        ),
    ):
        say(incident, part, says, item=item, at=at)


def go_in(incident, *, at=5, recorded=None, team="entry-1", key=None, **more):
    return services.enter_team(
        incident_id=incident.pk,
        person=incident.opened_by,
        body=entry("enter", minutes(at), team=team, place="dock"),
        client_uuid=key or uuid.uuid4(),
        recorded_at=minutes(recorded or at),
        **more,
    )


def verdict(incident, at=6, team="entry-1"):
    (row,) = (
        row for row in selectors.sheet(incident, minutes(at)).teams
        if row.team.key == team
    )  # fmt: skip
    return row.now


def refreshed(incident):
    incident.refresh_from_db()
    return incident


# --- Recording --------------------------------------------------------------------------


def test_a_part_is_chained_and_moves_what_the_sheet_polls():
    incident = planned()
    revision = refreshed(incident).revision

    row = say(incident, "decon", {"ready": "yes", "method": "Rinse"})

    assert (row.kind, row.seq) == (PLAN, 3)
    assert chain.verify(refreshed(incident)) is None
    assert incident.revision > revision
    assert plans.plan_of(incident).decon.method == "Rinse"


def test_the_export_of_the_worksheet_carries_no_plan():
    incident = planned()

    document = selectors.worksheet_document(refreshed(incident))

    assert document["log"] == []


def test_whoever_has_not_seen_the_newer_one_writes_nothing_over_it():
    incident = planned()
    second = join(incident, "commander", display_name="Second")
    first = say(incident, "decon", {"ready": "no", "method": "Dry"})
    mine = say(
        incident, "decon", {"ready": "yes", "method": "Rinse"}, based_on=first.seq
    )

    with pytest.raises(services.PartConflictError) as refused:
        say(
            incident,
            "decon",
            {"ready": "yes", "method": "Foam"},
            based_on=first.seq,
            person=second,
        )

    assert refused.value.newer.seq == mine.seq
    assert refused.value.newer.says.method == "Rinse"
    assert plans.plan_of(incident).decon.method == "Rinse"
    assert incident.entries.count() == 4


def test_two_who_write_different_items_do_not_meet():
    incident = planned()

    say(incident, "check_in", {"name": "Alder"}, item="a")
    say(incident, "check_in", {"name": "Birch"}, item="b")

    names = [each.name for each in plans.plan_of(incident).checked_in]
    assert names == ["Alder", "Birch"]


def test_an_item_is_taken_out_with_a_reason_and_stays_in_the_log():
    incident = planned()
    row = say(incident, "check_in", {"name": "Aldr"}, item="a")

    say(incident, "check_in", None, item="a", based_on=row.seq, reason="Misspelt")

    assert plans.plan_of(incident).checked_in == ()
    assert incident.entries.filter(kind=PLAN).count() == 3


def test_the_same_sent_twice_is_kept_once():
    incident, key = planned(), uuid.uuid4()

    first = say(incident, "weather", {"wind_from": 240}, client_uuid=key)
    second = say(incident, "weather", {"wind_from": 240}, client_uuid=key)

    assert first.pk == second.pk


def test_another_under_the_same_identifier_is_refused():
    incident, key = planned(), uuid.uuid4()
    say(incident, "weather", {"wind_from": 240}, client_uuid=key)

    with pytest.raises(services.DuplicateConflictError):
        say(incident, "weather", {"wind_from": 250}, client_uuid=key)


def test_a_closed_incident_takes_no_part():
    incident = planned()
    services.close_incident(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(1), reason="x"
    )

    with pytest.raises(services.IncidentClosedError):
        say(incident, "decon", {"ready": "yes"}, at=2)


@pytest.mark.parametrize(
    ("role", "part", "allowed"),
    [
        ("technician", "weather", True),
        ("technician", "check_in", True),
        ("technician", "decon", False),
        ("viewer", "weather", False),
        ("training_officer", "weather", False),
    ],
)
def test_who_may_write_which_part(role, part, allowed):
    incident = planned()
    person = join(incident, role)
    says = {"name": "X"} if part == "check_in" else {"ready": "yes"}
    says = {"wind_from": 10} if part == "weather" else says
    item = "x" if part == "check_in" else ""
    before = incident.entries.count()

    if allowed:
        say(incident, part, says, item=item, person=person)
    else:
        with pytest.raises(services.NotAllowedError):
            say(incident, part, says, item=item, person=person)

    assert incident.entries.count() == before + allowed


def test_what_is_wrong_is_said_by_its_place_and_nothing_is_kept():
    incident = planned()

    with pytest.raises(services.EntryRefusedError) as refused:
        say(incident, "zones", {"basis": "guide"}, item="hot")

    assert [e.pointer for e in refused.value.errors] == [
        "/says/runs", "/says/edition", "/says/page",
    ]  # fmt: skip
    assert incident.entries.count() == 2


# --- Command ----------------------------------------------------------------------------


def test_one_takes_over_from_the_other_without_a_gap():
    incident = planned(
        first_parts=[("size_up", "", SIZE_UP), ("command", "", {"name": "Dana Holt"})]
    )
    before = plans.plan_of(incident).last("command")

    say(
        incident,
        "command",
        {"name": "R. Vale", "takes_over_from": "Dana Holt", "face_to_face": "yes"},
        at=20,
        based_on=before.seq,
    )

    plan = plans.plan_of(incident)
    assert plan.commander(minutes(19)) == "Dana Holt"
    assert plan.commander(minutes(20)) == "R. Vale"
    spells = [(says.name, since, until) for says, since, until in plan.commanders()]
    assert spells == [
        ("Dana Holt", START, minutes(20)),
        ("R. Vale", minutes(20), None),
    ]


@pytest.mark.parametrize(
    ("says", "at", "pointer"),
    [
        (
            {"name": "R. Vale", "takes_over_from": "Sam", "face_to_face": "yes"},
            20,
            "/says/takes_over_from",
        ),
        ({"name": "R. Vale"}, 20, "/says/takes_over_from"),
        (
            {"name": "R. Vale", "takes_over_from": "Dana Holt", "face_to_face": "yes"},
            0,
            "/at",
        ),
    ],
    ids=["from somebody else", "from nobody", "before the other began"],
)
def test_nobody_takes_command_beside_the_one_who_has_it(says, at, pointer):
    incident = planned(
        first_parts=[("size_up", "", SIZE_UP), ("command", "", {"name": "Dana Holt"})]
    )
    before = plans.plan_of(incident).last("command")

    with pytest.raises(services.EntryRefusedError) as refused:
        say(incident, "command", says, at=at, based_on=before.seq)

    assert pointer in [error.pointer for error in refused.value.errors]
    assert plans.plan_of(incident).commander(minutes(30)) == "Dana Holt"


def test_the_commander_as_safety_officer_needs_a_reason():
    """29 CFR 1910.120(q)(3)(vii)."""
    incident = planned(
        first_parts=[("size_up", "", SIZE_UP), ("command", "", {"name": "Dana Holt"})]
    )
    says = {"position": "safety_officer", "name": "Dana Holt"}

    with pytest.raises(services.EntryRefusedError) as refused:
        say(incident, "positions", says, item="p1")

    assert [error.pointer for error in refused.value.errors] == ["/says/why"]
    say(incident, "positions", says | {"why": "First to arrive"}, item="p1")


# --- Going in ---------------------------------------------------------------------------


def test_a_team_that_is_not_ready_is_kept_out_and_told_why():
    incident = planned()

    with pytest.raises(services.NotReadyError) as refused:
        go_in(incident)

    assert {"decon_not_ready", "no_briefing", "plan_not_signed"} <= {
        lack.key for lack in refused.value.lacks
    }
    assert not incident.entries.filter(kind="enter").exists()


def test_a_team_that_is_ready_goes_in_and_nothing_stands():
    incident = planned()
    make_ready(incident)

    go_in(incident)

    now = verdict(refreshed(incident))
    assert now.clocks.inside
    assert now.findings == ()


def test_go_anyway_is_kept_with_what_was_not_ready_and_cautions():
    incident = planned()
    make_ready(incident)
    last = plans.plan_of(incident).last("decon")
    say(incident, "decon", {"ready": "no"}, based_on=last.seq, at=2)

    go_in(incident, go_anyway="Rescue: one seen moving")

    override, entered = incident.entries.order_by("seq").reverse()[:2][::-1]
    assert (override.kind, entered.kind) == (PLAN, "enter")
    assert plans.record_of(override).says.lacks == ("decon_not_ready",)
    (finding,) = verdict(refreshed(incident)).findings
    assert (finding.action, finding.rule) == (Action.CAUTION, "decon_not_ready")
    assert "Went in without" in finding.because
    assert "one seen moving" in finding.because
    assert chain.verify(incident) is None


def test_going_in_sent_twice_gives_one_entry_and_one_override():
    incident, key = planned(), uuid.uuid4()

    go_in(incident, key=key, go_anyway="Rescue")
    again = go_in(incident, key=key, go_anyway="Rescue")

    assert again.duplicate
    assert incident.entries.filter(kind="enter").count() == 1
    assert incident.entries.filter(kind=PLAN).count() == 2


def test_what_is_mended_while_the_team_is_inside_ends():
    incident = planned()
    make_ready(incident)
    last = plans.plan_of(incident).last("decon")
    no = say(incident, "decon", {"ready": "no"}, based_on=last.seq, at=2)
    go_in(incident, go_anyway="Rescue")

    say(incident, "decon", {"ready": "yes"}, based_on=no.seq, at=6)

    assert verdict(refreshed(incident), at=7).findings == ()


def test_a_reading_is_never_refused_and_what_was_not_ready_stands():
    """A reading of a team puts it inside; the record is of what happened."""
    incident = planned()

    log(incident, meter(minutes(5)))

    now = verdict(refreshed(incident))
    assert now.action == Action.STOP
    assert "no_briefing" in {finding.rule for finding in now.findings}


def test_an_entry_of_some_minutes_ago_is_a_fact_and_stands_with_its_lacks():
    incident = planned()

    go_in(incident, at=5, recorded=12)

    assert verdict(refreshed(incident), at=13).action == Action.STOP


def test_the_gate_does_not_ask_a_team_that_is_in_already():
    incident = planned()
    go_in(incident, go_anyway="Rescue")

    go_in(incident, at=8)

    assert incident.entries.filter(kind="enter").count() == 2


def test_an_incident_without_a_plan_is_judged_by_its_readings_alone():
    incident = open_incident(teams=TEAMS)

    go_in(incident)
    answer = log(incident, meter(minutes(6)))

    assert verdict(refreshed(incident), at=7).action == Action.CONTINUE
    assert answer.assessment.by_team()["entry-1"].action == Action.CONTINUE


def test_a_fault_in_judging_the_plan_never_makes_a_team_seem_better_off(monkeypatch):
    incident = planned()
    go_in(incident, go_anyway="Rescue")

    def broken(*_):
        raise RuntimeError("a fault of the program")

    monkeypatch.setattr("incidents.judging.readiness.standing_inside", broken)

    now = verdict(refreshed(incident))
    assert now.action == Action.CAUTION
    assert now.findings[0].rule == "not_computed"


def test_a_repeat_of_an_entry_is_answered_with_the_plan_of_that_day():
    incident, key = planned(), uuid.uuid4()
    first = log(incident, meter(minutes(5)), client_uuid=key)
    make_ready(incident)

    again = log(incident, meter(minutes(5)), client_uuid=key)

    assert again.assessment.by_team()["entry-1"].action == Action.STOP
    assert first.assessment.by_team()["entry-1"].action == Action.STOP


def test_a_repeated_name_of_an_opened_plan_is_in_the_log_of_the_sheet():
    from incidents.views.words import lines_of, names_of

    incident = planned()
    rows = selectors.log_rows(incident)

    assert "Quarry Lane" in lines_of(rows, names_of(incident))[0].words


def test_a_substance_is_looked_for_by_the_engine_from_then_on():
    incident = planned()

    say(
        incident,
        "substances",
        {"name": "Ammonia", "certainty": "label"},
        item="s1",
    )
    say(incident, "substances", {"name": "unknown", "certainty": "told"}, item="s2")

    setup = loads(refreshed(incident).setup)
    assert setup["suspects"] == ["Ammonia"]
    assert chain.verify(incident) is None


def test_all_who_are_named_are_checked_in_at_once():
    incident = planned()

    services.check_in_all(
        incident_id=incident.pk,
        person=incident.opened_by,
        names={"x1": "Alder", "x2": "Birch"},
        at=minutes(1),
    )

    assert [each.name for each in plans.plan_of(incident).checked_in] == [*MEMBERS]


# --- In the report ----------------------------------------------------------------------


def report_text(incident, at):
    from reports.reading import page_texts

    report = services.make_report(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(at)
    )
    return " ".join(" ".join(page_texts(bytes(report.pdf))).split())


def test_the_report_says_what_was_recorded_in_the_plan_and_verifies():
    incident = planned()
    say(incident, "decon", {"ready": "yes", "method": "Rinse in two stages"})

    text = report_text(incident, 3)

    assert "Rinse in two stages" in text


def test_the_report_says_with_what_a_team_went_in_although_it_is_mended_since():
    incident = planned()
    make_ready(incident)
    last = plans.plan_of(incident).last("decon")
    no = say(incident, "decon", {"ready": "no"}, based_on=last.seq, at=2)
    go_in(incident, go_anyway="Rescue: one seen moving")
    say(incident, "decon", {"ready": "yes"}, based_on=no.seq, at=7)
    log(incident, meter(minutes(8)))

    text = report_text(incident, 9)

    assert "Went in without: decon not ready" in text
    assert "Rescue: one seen moving" in text


def test_what_is_not_ready_stands_in_the_verdict_of_the_report():
    incident = planned()
    log(incident, meter(minutes(5)))

    rows = list(incident.entries.order_by("seq"))
    history = plan_history.history_of(rows, plans.around(incident), minutes(9))

    assert history.actions["entry-1"] == [(minutes(5), Action.STOP)]
    assert {f.rule for f in history.standing["entry-1"]} >= {"no_briefing"}
    assert "Not briefed" in report_text(incident, 9)


def test_a_log_without_a_plan_has_no_history_of_one():
    incident = open_incident(teams=TEAMS)
    log(incident, meter(minutes(5)))

    rows = list(incident.entries.order_by("seq"))
    history = plan_history.history_of(rows, plans.Around(), minutes(9))

    assert (history.found, history.actions, history.standing) == ({}, {}, {})


# --- Substances and mode ----------------------------------------------------------------


def coverage(incident, at=6):
    return {row.hazard.value: row.status for row in verdict(incident, at).coverage}


def test_two_suspects_with_different_hazards_leave_both_open():
    """29 CFR 1910.120(q)(3)(ii): all hazardous substances, as far as possible."""
    incident = planned()
    say(incident, "substances", {"name": "ammonia", "certainty": "label"}, item="a")
    say(incident, "substances", {"name": "chlorine", "certainty": "told"}, item="c")

    seen = coverage(refreshed(incident))

    assert loads(incident.setup)["suspects"] == ["ammonia", "chlorine"]
    for hazard in ("base_vapour", "toxic_gas", "oxidiser_vapour"):
        assert seen[hazard] == "not_checked"


def test_an_unknown_material_leaves_every_hazard_open():
    """29 CFR 1910.120(c)(5)(iii) and (j)(1)(iv), by analogy."""
    incident = planned()
    say(incident, "substances", {"name": "unknown", "certainty": "told"}, item="u")

    assert set(coverage(refreshed(incident)).values()) == {"not_checked"}
    view = selectors.plan_view(incident, minutes(2))
    assert "no_reference_data" in {lack.key for lack in view.lacks}


def test_non_intervention_stops_a_team_that_is_inside_and_stands_in_the_log():
    """From memory of NFPA 472 (2018), 5.3."""
    from incidents.views.words import lines_of, names_of

    incident = planned()
    make_ready(incident)
    go_in(incident)
    before = plans.plan_of(incident).last("mode")

    say(
        incident,
        "mode",
        {"mode": "non_intervention", "why": "Tank is venting"},
        based_on=before.seq,
        at=7,
    )

    now = verdict(refreshed(incident), at=8)
    assert (now.action, now.findings[0].rule) == (Action.STOP, "non_intervention")
    line = lines_of(selectors.log_rows(incident), names_of(incident))[0]
    assert "Tank is venting" in line.words
    assert line.author == incident.opened_by.shown_name
