"""A reading that comes late counts from its own time; nothing shown is taken away."""

import itertools
import random
import uuid
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command

from incidents import engine, judging, selectors
from incidents.documents import dumps, loads
from incidents.models import StoredFinding
from incidents.services import chain
from incidents.services.rebuilding import rebuild
from screening.result import screen
from screening.worksheet import load_json
from tests.conftest import changes_allowed
from tests.factories import START, acid, entry, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

IDS = [uuid.UUID(int=count + 1) for count in range(5)]
STORY = [
    entry("enter", START, team="entry-1", place="tank room"),
    acid(minutes(1)),
    meter(minutes(3), lel_percent=Decimal(4)),
    acid(minutes(4), ph="7"),
    meter(minutes(6), lel_percent=Decimal(12)),
]


def standing(incident):
    rows = StoredFinding.objects.filter(incident=incident, superseded=False)
    return sorted(
        rows.values_list(
            "entry__client_uuid",
            "team_key",
            "rule",
            "hazard",
            "place",
            "action",
            "because",
        )
    )


def tell(order):
    incident = open_incident()
    for position in order:
        log(
            incident,
            STORY[position],
            client_uuid=IDS[position],
            recorded_at=minutes(10),
        )
    incident.refresh_from_db()
    return incident


def test_the_order_of_arrival_changes_neither_verdict_nor_what_stands():
    first = tell(range(5))
    verdict = judging.judge(first, engine.live(first), minutes(12))
    expected = standing(first)
    assert expected

    for order in itertools.islice(itertools.permutations(range(5)), 7, None, 11):
        incident = tell(order)

        assert judging.judge(incident, engine.live(incident), minutes(12)) == verdict
        assert standing(incident) == expected, order
        assert not rebuild(incident_id=incident.pk)
        assert chain.verify(incident) is None


def long_story():
    """Forty entries, so that states are marked on the way, a decision among every ten."""
    bodies = []
    for count in range(40):
        at = minutes(count)
        match count % 10:
            case 0:
                body = entry("enter", at, team="entry-1", place="tank room")
            case 4:
                body = clearing(at)
            case 7:
                body = entry("ventilate", at, place="tank room", method="fan")
            case 9:
                body = entry("exit", at, team="entry-1")
            case number if number % 2:
                body = acid(at, ph=str(2 + count % 6))
            case number:
                body = meter(at, lel_percent=Decimal(number))
        bodies.append(body)
    return bodies


@pytest.mark.parametrize("seed", range(3))
def test_a_long_story_told_in_any_order_is_the_same_story(seed):
    bodies = long_story()
    ids = [uuid.UUID(int=count + 1) for count in range(len(bodies))]
    in_order, shuffled = open_incident(), open_incident()
    # Mostly in order, as phones deliver; some far too late.
    chance = random.Random(seed)
    delays = [chance.choice((0, 0, 1, 3, 25)) for _ in bodies]
    order = sorted(range(len(bodies)), key=lambda n: n + delays[n])
    for incident, told in ((in_order, range(len(bodies))), (shuffled, order)):
        for position in told:
            log(
                incident,
                bodies[position],
                client_uuid=ids[position],
                recorded_at=minutes(60),
            )
        incident.refresh_from_db()

    verdict = judging.judge(in_order, engine.live(in_order), minutes(61))
    remembered = judging.judge(shuffled, engine.live(shuffled), minutes(61))
    engine.forget()
    rebuilt = judging.judge(shuffled, engine.live(shuffled), minutes(61))

    assert remembered == rebuilt == verdict
    assert standing(shuffled) == standing(in_order)
    assert cleared(shuffled) == cleared(in_order)
    assert not rebuild(incident_id=shuffled.pk)
    assert chain.verify(shuffled) is None


def cleared(incident):
    rows = StoredFinding.objects.filter(incident=incident, superseded=False).cleared()
    return sorted(rows.values_list("entry__client_uuid", "team_key", "rule", "because"))


def test_a_repeat_of_any_entry_of_a_long_story_is_answered_as_the_first_time():
    incident = open_incident()
    sent = []
    for count, body in enumerate(long_story()):
        sent_as = uuid.UUID(int=count + 1)
        recorded_at = minutes(60 + count)
        first = log(incident, body, client_uuid=sent_as, recorded_at=recorded_at)
        sent.append((body, sent_as, first))
        if count in (20, 33):
            late, late_as = acid(minutes(count - 5), ph="3", place="yard"), uuid.uuid4()
            first = log(incident, late, client_uuid=late_as, recorded_at=recorded_at)
            sent.append((late, late_as, first))

    for body, sent_as, first in sent:
        again = log(incident, body, client_uuid=sent_as, recorded_at=minutes(200))

        assert again.duplicate
        assert again.findings == first.findings
        assert again.assessment == first.assessment


def test_a_finding_that_an_older_reading_raises_is_marked_late():
    incident = open_incident()
    log(incident, meter(minutes(5)))

    late = log(incident, acid(minutes(1)), recorded_at=minutes(6))

    rows = StoredFinding.objects.filter(entry=late.entry)
    assert rows
    assert all(row.late for row in rows)
    assert not any(row.late for row in StoredFinding.objects.exclude(entry=late.entry))


def test_what_a_late_reading_overtakes_is_superseded_and_still_there():
    incident = open_incident()
    first = log(incident, meter(minutes(5), lel_percent=Decimal(4)))
    shown = set(
        StoredFinding.objects.filter(entry=first.entry).values_list("pk", flat=True)
    )
    assert shown

    # A second figure makes a trend, which the later finding now has to tell of.
    log(incident, meter(minutes(2), lel_percent=Decimal(2)), recorded_at=minutes(6))

    after = StoredFinding.objects.filter(entry=first.entry)
    assert shown <= set(after.values_list("pk", flat=True))
    if after.filter(superseded=True).exists():
        assert after.filter(superseded=False, late=True).exists()


def test_what_was_superseded_and_holds_again_is_taken_up_and_not_doubled():
    incident = open_incident()
    log(incident, meter(minutes(5), lel_percent=Decimal(4)))
    row = StoredFinding.objects.filter(superseded=False).first()
    StoredFinding.objects.filter(pk=row.pk).update(superseded=True)
    before = StoredFinding.objects.count()

    rebuild(incident_id=incident.pk, write=True)

    row.refresh_from_db()
    assert not row.superseded
    assert StoredFinding.objects.count() == before


def clearing(at):
    return entry(
        "clear", at, hazard="acid_vapour", place="tank room", reason="ventilated"
    )


def test_a_clear_that_a_late_reading_contradicts_is_taken_back_in_the_findings_life():
    incident = open_incident()
    log(incident, acid(START))
    log(incident, acid(minutes(2), ph="7"))
    cleared = log(incident, clearing(minutes(6)))
    rows = StoredFinding.objects.filter(hazard="acid_vapour")
    assert not rows.filter(entry__seq=2).uncleared().exists()

    late = log(incident, acid(minutes(4)), recorded_at=minutes(8))

    row = rows.get(entry__seq=2, team_key="entry-1")
    assert rows.uncleared().filter(pk=row.pk).exists()
    assert [event.kind for event in row.events.all()] == ["raised", "cleared", "raised"]
    assert f"entry {cleared.entry.seq} no longer holds" in row.events.last().note
    assert late.assessment.by_team()["entry-1"].action.word == "stop"


def test_a_clear_that_a_late_reading_bears_out_is_noted_once():
    incident = open_incident()
    log(incident, acid(START))
    log(incident, clearing(minutes(6)))
    row = StoredFinding.objects.get(
        hazard="acid_vapour", team_key="entry-1", entry__seq=2
    )
    assert not row.events.filter(kind="cleared").exists()

    log(incident, acid(minutes(4), ph="7"), recorded_at=minutes(8))
    log(incident, acid(minutes(3), ph="7"), recorded_at=minutes(9))

    assert row.events.get(kind="cleared").note == "The clear in entry 3 holds now."


def test_rebuilding_gives_the_same_findings():
    incident = tell([0, 2, 1, 4, 3])
    out = StringIO()

    call_command("rebuild", str(incident.pk), stdout=out)

    assert f"incident {incident.pk}: the findings are the same" in out.getvalue()


def test_rebuilding_reports_what_differs_and_mends_it_only_when_asked():
    incident = tell(range(5))
    row = StoredFinding.objects.filter(incident=incident, team_key="entry-1").first()
    with changes_allowed():
        StoredFinding.objects.filter(pk=row.pk).update(because="another reason")
    out = StringIO()

    with pytest.raises(SystemExit):
        call_command("rebuild", stdout=out)
    with pytest.raises(SystemExit):
        call_command("rebuild", stdout=out)
    assert out.getvalue().count("kept but not said") == 2
    assert out.getvalue().count("not kept: entry") == 2

    with pytest.raises(SystemExit):
        call_command("rebuild", "--write", stdout=out)

    call_command("rebuild", stdout=out)
    row.refresh_from_db()
    assert row.superseded
    assert row.because == "another reason"


def test_the_worksheet_that_is_handed_out_screens_to_what_the_sheet_shows():
    incident = tell([0, 2, 1, 4, 3])

    document = load_json(dumps(selectors.worksheet_document(incident)).encode())
    result = screen(document, at=minutes(12))

    view = judging.judge(incident, engine.live(incident), minutes(12))
    assert {team["id"]: team["action"] for team in result["teams"]} == {
        team.id: team.action.word for team in view.teams
    }
    assert [each["id"] for each in result["entries"]] == [str(key) for key in IDS]
    assert loads(dumps(document)) == document


def test_a_state_in_memory_is_never_trusted_over_the_log():
    incident = open_incident()
    log(incident, acid(START))
    incident.refresh_from_db()
    remembered = engine.live(incident)

    # Another process adds an entry; this one still remembers the state before it.
    log(incident, meter(minutes(1), lel_percent=Decimal(12)))
    engine.forget()
    engine.keep(incident.pk, remembered)
    incident.refresh_from_db()
    now = engine.live(incident)

    assert now.head_hash == incident.head_hash
    engine.forget()
    assert judging.judge(incident, now, minutes(2)) == judging.judge(
        incident, engine.live(incident), minutes(2)
    )


def test_a_remembered_state_of_another_history_is_dropped():
    incident, other = open_incident(), open_incident()
    log(incident, acid(START))
    log(other, meter(START))
    log(other, meter(minutes(1)))
    other.refresh_from_db()
    incident.refresh_from_db()
    foreign = engine.live(incident)

    engine.forget()
    engine.keep(other.pk, foreign)

    view = judging.judge(other, engine.live(other), minutes(2))
    assert "acid_vapour" not in {
        finding.hazard.value for team in view.teams for finding in team.findings
    }
