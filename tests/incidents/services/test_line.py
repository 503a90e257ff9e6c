"""Who is where, decon person by person, and an incident that does not end over people."""

from datetime import timedelta

import pytest

from incidents import selectors, services
from incidents.documents import loads
from reports.reading import page_texts
from tests.factories import (
    PersonFactory,
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
)
from tests.incidents.services.test_medical import checked as medically_checked

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    return open_incident()


@pytest.fixture
def out(incident):
    """Entry 1, Alder and Birch, went in and came out again."""
    log(incident, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(incident, entry("exit", minutes(20), team="entry-1"))
    incident.refresh_from_db()
    return incident


def kept(incident, part, at, person=None, **says):
    row = services.record_part(
        incident_id=incident.pk,
        person=person or incident.opened_by,
        part=part,
        says=says,
        at=at,
    )
    incident.refresh_from_db()
    return row


def moved(incident, at, where, *who, **more):
    return kept(incident, "whereabouts", at, who=list(who), where=where, **more)


def clean(incident, at, who="Alder"):
    return kept(
        incident, "decon_check", at,
        who=who, outcome="nothing_found", means="paper", showed="pH 7 on both gloves",
    )  # fmt: skip


def where(incident, at, name="Alder"):
    rows = selectors.line(incident, at).people
    return next(row for row in rows if row.person.name == name)


def test_everyone_has_a_place_and_a_state_at_the_line(out):
    row = where(out, minutes(21))

    assert (row.person.where, row.clean.value) == ("decon", "decon to come")


def test_nobody_leaves_the_line_unchecked_and_nothing_is_stored(out):
    before = out.entries.count()

    with pytest.raises(services.EntryRefusedError) as refusal:
        moved(out, minutes(25), "cold", "Alder", "Birch")

    assert [error.pointer for error in refusal.value.errors] == ["/says/who"] * 2
    assert "a check of Alder" in refusal.value.errors[0].expected
    assert out.entries.count() == before


@pytest.mark.parametrize("place", ["cold", "left"])
def test_who_was_checked_leaves_the_line(out, place):
    kept(out, "decon_line", minutes(22), who=["Alder"], method="technical")
    clean(out, minutes(24))

    moved(out, minutes(25), place, "Alder")

    assert where(out, minutes(26)).person.where == place


def test_a_check_left_out_needs_a_reason(out):
    with pytest.raises(services.EntryRefusedError, match="why there is no check"):
        kept(out, "decon_check", minutes(22), who="Alder", outcome="waived")

    kept(
        out, "decon_check", minutes(22),
        who="Alder", outcome="waived", why="Went no further than the gate",
    )  # fmt: skip
    moved(out, minutes(23), "cold", "Alder")

    assert where(out, minutes(24)).person.where == "cold"


def test_medical_takes_somebody_unchecked_and_it_shows(out):
    moved(out, minutes(21), "medical", "Alder")

    row = where(out, minutes(22))
    assert (row.person.where, row.clean.value) == ("medical", "decon to come")


@pytest.mark.parametrize("role", ["technician", "safety_officer"])
def test_a_recorder_at_the_line_writes_it_down(out, role):
    kept(
        out, "decon_line", minutes(22), join(out, role),
        who=["Alder"], method="gross",
    )  # fmt: skip

    assert where(out, minutes(23)).clean.value == "through decon, not checked"


@pytest.mark.parametrize("role", ["viewer", "training_officer"])
def test_who_only_reads_writes_nothing_down(out, role):
    with pytest.raises(services.NotAllowedError):
        kept(
            out, "decon_line", minutes(22), join(out, role),
            who=["Alder"], method="gross",
        )  # fmt: skip


def test_the_log_says_it_in_plain_words(out):
    row = moved(out, minutes(21), "medical", "Alder", post="Unit 4")

    assert loads(row.body)["says"]["where"] == "medical"
    line = selectors.log_row(out, row.seq)
    from incidents.views.words import line_of, names_of

    assert line_of(line, names_of(out)).words.endswith("Alder: Medical, Unit 4")


# --- the end -------------------------------------------------------------------------


def closed(incident, at, reason=""):
    return services.close_incident(
        incident_id=incident.pk, person=incident.opened_by, at=at, reason=reason
    )


def test_an_incident_in_which_nobody_went_in_ends(incident):
    assert closed(incident, minutes(5)).is_closed


def test_an_incident_does_not_end_while_somebody_is_in_decon(out):
    with pytest.raises(services.PeopleOutError) as refusal:
        closed(out, minutes(30))

    assert [person.name for person in refusal.value.people] == ["Alder", "Birch"]
    out.refresh_from_db()
    assert not out.is_closed


def test_it_ends_when_everyone_is_in(out):
    for name in ("Alder", "Birch"):
        clean(out, minutes(22), name)
    moved(out, minutes(23), "cold", "Alder")
    moved(out, minutes(23), "left", "Birch")

    assert closed(out, minutes(30)).is_closed


def test_it_ends_all_the_same_by_a_reason_with_a_name_and_the_log_says_over_whom(out):
    closed(out, minutes(30), "Both are on the way to hospital")

    body = loads(out.entries.get(kind="closing").body)
    assert body["by"] == out.opened_by.shown_name
    assert body["reason"] == "Both are on the way to hospital"
    assert body["not_in"] == [
        {"name": "Alder", "where": "decon", "clean": "decon to come"},
        {"name": "Birch", "where": "decon", "clean": "decon to come"},
    ]
    out.refresh_from_db()
    report = services.make_report(
        incident_id=out.pk, person=out.opened_by, at=minutes(31)
    )
    printed = " ".join(" ".join(page_texts(bytes(report.pdf))).split())
    assert "Neither in the cold zone nor gone: Alder, decon; Birch, decon." in printed


def test_it_does_not_end_over_a_team_that_went_in_without_names(incident):
    log(
        incident,
        meter(minutes(1), team="backup-1", place="dock"),
    )

    with pytest.raises(services.PeopleOutError, match="Backup, nobody named"):
        closed(incident, minutes(5))


# --- the gate before going in --------------------------------------------------------


@pytest.fixture
def planned(incident):
    """An incident with a plan, so that what is not ready counts."""
    kept(incident, "mode", minutes(0), mode="offensive", why="Valve can be reached")
    return incident


def gate(incident, at):
    incident.refresh_from_db()
    view = selectors.plan_view(incident, at)
    return {lack.key: lack for lack in view.of_team("entry-1")}


def cautions(incident, at):
    incident.refresh_from_db()
    lacks = selectors.plan_view(incident, at).lacks
    return {lack.key: lack for lack in lacks if not lack.blocks}


def test_a_member_who_is_not_fit_keeps_the_team_out(planned):
    medic = join(planned, "medical")
    medically_checked(planned, medic, minutes(1), pulse=130)

    lack = gate(planned, minutes(2))["member_not_fit"]

    assert lack.words == "Alder: not fit, by the last check."
    assert "130" not in lack.words


def test_a_member_without_a_check_is_said_once_medical_has_begun(planned):
    assert "member_not_checked" not in cautions(planned, minutes(1))
    medically_checked(planned, join(planned, "medical"), minutes(1))

    lack = cautions(planned, minutes(2))["member_not_checked"]

    assert lack.words == "Birch: no check yet."
    assert "member_not_fit" not in gate(planned, minutes(2))


def test_the_plan_that_asks_for_checks_misses_each_that_is_not_there(planned):
    kept(planned, "medical", minutes(1), monitoring="yes")

    assert "member_not_checked" in cautions(planned, minutes(2))


def test_a_member_who_is_in_decon_keeps_the_team_out(planned):
    log(planned, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(planned, entry("exit", minutes(20), team="entry-1"))

    lack = gate(planned, minutes(21))["member_elsewhere"]

    assert lack.words == "Birch: decon, decon to come."
    assert lack.source == "common practice, no source"


def test_whose_recovery_is_checked_and_who_is_clean_keeps_nobody_out(planned):
    medic = join(planned, "medical")
    for name in ("Alder", "Birch"):
        medically_checked(planned, medic, minutes(0), name=name)
    log(planned, entry("enter", minutes(1), team="entry-1", place="tank room"))
    log(planned, entry("exit", minutes(20), team="entry-1"))
    assert {"member_not_fit", "member_elsewhere"} <= gate(planned, minutes(21)).keys()
    planned.refresh_from_db()
    for name in ("Alder", "Birch"):
        clean(planned, minutes(25), name)
        moved(planned, minutes(26), "cold", name)
        medically_checked(planned, medic, minutes(40), name=name, kind="after")

    assert (
        not {"member_not_fit", "member_elsewhere"} & gate(planned, minutes(41)).keys()
    )


@pytest.mark.parametrize("count", [2, 20])
def test_the_line_takes_two_queries_for_two_people_and_for_twenty(
    count, django_assert_num_queries
):
    team = {
        "id": "entry-1", "name": "Entry 1", "role": "entry", "ensemble": "level_b",
        "members": [{"id": f"m{n}", "name": f"Person {n}"} for n in range(count)],
    }  # fmt: skip
    incident = open_incident(person=PersonFactory.create(), teams=[team])
    log(incident, entry("enter", minutes(1), team="entry-1", place="dock"))
    log(incident, entry("exit", minutes(9), team="entry-1"))
    incident.refresh_from_db()
    for number in range(count):
        kept(
            incident, "decon_line", minutes(10), who=[f"Person {number}"], method="dry"
        )
    selectors.line(incident, minutes(11))

    with django_assert_num_queries(1):
        rows = selectors.line(incident, minutes(11)).people

    assert len(rows) == count
    assert {row.person.where for row in rows} == {"decon"}


def test_a_spell_lasts_to_the_moment_that_is_asked_for(out):
    person = where(out, minutes(50)).person

    assert person.hot()[0].lasted(minutes(50)) == timedelta(minutes=19)
    assert person.stays[-1].lasted(minutes(50)) == timedelta(minutes=30)
