"""One alarm for each cause and place; heard once; anew when it is worse."""

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest

from incidents import engine, selectors, services
from incidents.models import FindingEvent
from screening.verdicts import Action
from tests.factories import (
    START,
    acid,
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    incident = open_incident()
    log(incident, entry("enter", minutes(0), team="entry-1", place="tank room"))
    return incident


def alarms(incident, at):
    incident.refresh_from_db()
    return selectors.sheet(incident, at).alarms


def hear(incident, alarm, at, person=None, seen=None):
    return services.hear(
        incident_id=incident.pk,
        person=person or incident.opened_by,
        alarm=alarm.key,
        seen=seen or alarm.action,
        client_uuid=uuid.uuid4(),
        at=at,
        recorded_at=at,
    )


def drum(at, name="drum 6", degrees=47, **changes):
    return entry(
        "thermal_imager",
        at,
        team="entry-1",
        place="tank room",
        target="closed_container",
        container=name,
        surface={"value": Decimal(degrees), "unit": "degC"},
        surroundings={"value": Decimal(19), "unit": "degC"},
        **changes,
    )


def test_a_quiet_incident_has_no_alarm(incident):
    log(incident, meter(minutes(1)))

    assert alarms(incident, minutes(2)) == ()


def test_ten_readings_over_the_limit_are_one_alarm_with_count_times_and_figure(
    incident,
):
    for number in range(10):
        log(incident, acid(minutes(1 + number), ph="2" if number < 9 else "1"))

    (alarm,) = alarms(incident, minutes(11))

    assert alarm.action is Action.STOP
    assert alarm.count == 10
    assert (alarm.first_at, alarm.last_at) == (minutes(1), minutes(10))
    assert "pH 1 " in alarm.because
    assert alarm.unheard_since == minutes(1)
    assert alarm.place == "tank room"


def test_a_caution_is_no_alarm(incident):
    log(incident, acid(minutes(1), ph="5"))

    assert alarms(incident, minutes(2)) == ()


def test_the_most_urgent_is_first_and_what_came_first_stays_first(incident):
    log(incident, acid(minutes(1)))
    log(incident, entry("enter", minutes(1), team="backup-1", place="yard"))
    log(incident, acid(minutes(2), team="backup-1", place="yard", ph="13"))
    log(incident, meter(minutes(3), lel_percent=Decimal(12)))

    named = [(alarm.action.word, alarm.place) for alarm in alarms(incident, minutes(4))]

    assert named == [("withdraw", "tank room"), ("stop", "tank room"), ("stop", "yard")]


def test_one_alarm_holds_for_every_team_that_it_concerns(incident):
    log(incident, meter(minutes(3), lel_percent=Decimal(12)))

    (alarm,) = alarms(incident, minutes(4))

    assert set(alarm.teams) == {"entry-1", "backup-1"}


class TestHeard:
    def test_hearing_the_group_hears_all_of_it(self, incident):
        for number in range(3):
            log(incident, acid(minutes(1 + number)))

        hear(incident, alarms(incident, minutes(4))[0], minutes(5))

        (alarm,) = alarms(incident, minutes(6))
        assert alarm.unheard == ()
        assert alarm.unheard_since is None
        assert alarm.heard.by == incident.opened_by.shown_name
        assert alarm.heard.at == minutes(5)
        events = FindingEvent.objects.filter(kind="acknowledged")
        entries = events.values_list("finding__entry__seq", flat=True)
        assert set(entries) == {3, 4, 5}
        assert incident.entries.filter(kind="acknowledge").count() == 1

    def test_the_same_again_is_counted_and_stays_heard(self, incident):
        log(incident, acid(minutes(1)))
        hear(incident, alarms(incident, minutes(2))[0], minutes(2))

        log(incident, acid(minutes(3), ph="1"))

        (alarm,) = alarms(incident, minutes(4))
        assert alarm.unheard == ()
        assert alarm.count == 2
        assert "pH 1 " in alarm.because

    def test_what_is_worse_is_to_be_heard_anew(self, incident):
        log(incident, drum(minutes(1), degrees=41))
        (first,) = alarms(incident, minutes(2))
        assert first.action is Action.STOP
        hear(incident, first, minutes(2))

        log(incident, drum(minutes(3), degrees=47))

        (alarm,) = alarms(incident, minutes(4))
        assert alarm.action is Action.WITHDRAW
        assert alarm.unheard_since == minutes(3)

    def test_a_second_drum_is_to_be_heard_anew(self, incident):
        for number, degrees in enumerate((41, 47)):
            log(incident, drum(minutes(1 + number), degrees=degrees))
        hear(incident, alarms(incident, minutes(3))[0], minutes(3))

        for number, degrees in enumerate((41, 47)):
            log(incident, drum(minutes(4 + number), name="drum 7", degrees=degrees))

        (alarm,) = alarms(incident, minutes(7))
        assert {item.subject for item in alarm.unheard} == {"drum 7"}
        assert "drum 7" in alarm.because

    def test_another_team_at_the_place_is_to_be_heard_anew(self, incident):
        log(incident, acid(minutes(1)))
        hear(incident, alarms(incident, minutes(2))[0], minutes(2))

        log(incident, entry("enter", minutes(3), team="backup-1", place="tank room"))

        (alarm,) = alarms(incident, minutes(4))
        assert {item.team for item in alarm.unheard} == {"backup-1"}
        hear(incident, alarm, minutes(5))
        assert alarms(incident, minutes(6))[0].unheard == ()

    def test_found_again_after_a_clear_it_is_a_new_alarm(self, incident):
        log(incident, acid(minutes(1)))
        hear(incident, alarms(incident, minutes(2))[0], minutes(2))
        log(incident, acid(minutes(3), ph="7"))
        log(
            incident,
            entry(
                "clear",
                minutes(4),
                hazard="acid_vapour",
                place="tank room",
                reason="flushed",
            ),
        )
        assert alarms(incident, minutes(5)) == ()

        log(incident, acid(minutes(6)))

        (alarm,) = alarms(incident, minutes(7))
        assert alarm.unheard
        assert alarm.count == 1

    def test_one_reading_with_two_causes_is_two_alarms_each_heard_alone(self, incident):
        log(incident, entry("enter", minutes(1), team="backup-1", place="tank room"))
        log(
            incident,
            entry("change_ensemble", minutes(1), team="backup-1", ensemble="level_c"),
        )
        log(
            incident,
            meter(minutes(2), lel_percent=Decimal(12), h2s_ppm=Decimal(60)),
        )
        flammable, toxic = alarms(incident, minutes(3))

        hear(incident, flammable, minutes(3))

        now = {alarm.hazard.value: alarm for alarm in alarms(incident, minutes(4))}
        assert now["flammable_atmosphere"].unheard == ()
        assert now["toxic_gas"].unheard
        hear(incident, toxic, minutes(5))
        assert not any(alarm.unheard for alarm in alarms(incident, minutes(6)))

    def test_the_second_to_hear_is_told_who_was_first(self, incident):
        log(incident, acid(minutes(1)))
        (alarm,) = alarms(incident, minutes(2))
        hear(incident, alarm, minutes(2))

        with pytest.raises(services.AlreadyDoneError) as told:
            hear(incident, alarm, minutes(3), person=join(incident, "commander"))

        assert told.value.by == incident.opened_by.shown_name
        assert told.value.at == minutes(2)
        assert incident.entries.filter(kind="acknowledge").count() == 1

    def test_what_became_worse_unseen_stays_to_be_heard(self, incident):
        log(incident, drum(minutes(1), degrees=41))
        (seen,) = alarms(incident, minutes(2))
        log(incident, drum(minutes(3), degrees=47))

        hear(incident, seen, minutes(4))

        (alarm,) = alarms(incident, minutes(5))
        assert {item.action for item in alarm.unheard} == {Action.WITHDRAW}
        with pytest.raises(services.EntryRefusedError, match="Withdraw now"):
            hear(incident, alarm, minutes(6), seen=Action.STOP)

    def test_a_hearing_taken_back_is_none_and_can_be_given_again(self, incident):
        log(incident, acid(minutes(1)))
        heard = hear(incident, alarms(incident, minutes(2))[0], minutes(2)).entry

        services.undo(
            incident_id=incident.pk,
            person=incident.opened_by,
            seq=heard.seq,
            recorded_at=minutes(3),
        )

        (alarm,) = alarms(incident, minutes(4))
        assert alarm.unheard
        hear(incident, alarm, minutes(4))
        assert alarms(incident, minutes(5))[0].unheard == ()

    def test_a_technician_does_not_hear_for_the_commander(self, incident):
        log(incident, acid(minutes(1)))

        with pytest.raises(services.NotAllowedError):
            hear(
                incident,
                alarms(incident, minutes(2))[0],
                minutes(2),
                person=join(incident, "technician"),
            )

    def test_an_alarm_that_ended_cannot_be_heard(self, incident):
        wrong = log(incident, acid(minutes(1))).entry
        (alarm,) = alarms(incident, minutes(2))
        log(incident, entry("strike", minutes(2), entry=wrong.key, reason="typed"))

        with pytest.raises(services.EntryRefusedError, match="ended since"):
            hear(incident, alarm, minutes(3))

    def test_the_entry_itself_can_be_heard_as_ever(self, incident):
        reading = log(incident, acid(minutes(1))).entry

        log(incident, entry("acknowledge", minutes(2), entry=reading.key))

        assert alarms(incident, minutes(3))[0].unheard == ()


class TestByTimeAlone:
    def test_silence_raises_an_alarm_that_is_heard_until_it_comes_anew(self, incident):
        assert alarms(incident, minutes(39)) == ()

        (alarm,) = alarms(incident, minutes(41))
        assert alarm.action is Action.STOP
        assert alarm.entries == ()
        assert alarm.unheard_since == minutes(40)
        heard = hear(incident, alarm, minutes(42)).entry

        assert heard.kind == "heard"
        (now,) = alarms(incident, minutes(43))
        assert now.unheard == ()
        assert now.heard.at == minutes(42)
        log(incident, entry("par", minutes(44), team="entry-1"))
        assert alarms(incident, minutes(45)) == ()
        (again,) = alarms(incident, minutes(85))
        assert again.unheard

    def test_a_member_not_heard_is_an_alarm_of_its_own(self, incident):
        (overdue,) = alarms(incident, minutes(41))
        hear(incident, overdue, minutes(41))

        log(
            incident,
            entry("par", minutes(42), team="entry-1", unanswered=["b"]),
        )

        (alarm,) = alarms(incident, minutes(43))
        assert alarm.unheard
        assert alarm.because == "Not heard or seen at the last PAR: Birch"

    def test_the_second_to_hear_silence_is_told_who_was_first(self, incident):
        (alarm,) = alarms(incident, minutes(41))
        hear(incident, alarm, minutes(42))

        with pytest.raises(services.AlreadyDoneError):
            hear(incident, alarm, minutes(43), person=join(incident, "commander"))


def given(incident, at):
    return {
        "incident_id": incident.pk,
        "person": incident.opened_by,
        "client_uuid": uuid.uuid4(),
        "at": at,
        "recorded_at": at,
    }


def test_a_mayday_is_one_alarm_before_all_others(incident):
    log(incident, meter(minutes(1), lel_percent=Decimal(12)))
    services.call_mayday(**given(incident, minutes(2)))

    first, *others = alarms(incident, minutes(3))

    assert first.is_mayday
    assert first.unheard_since == minutes(2)
    assert [alarm.hazard.value for alarm in others] == ["flammable_atmosphere"]
    hear(incident, first, minutes(4))
    now = {alarm.is_mayday: alarm for alarm in alarms(incident, minutes(5))}
    assert now[True].unheard == ()


def test_an_order_to_leave_is_an_alarm(incident):
    services.order_out(**given(incident, minutes(2)), team="entry-1")

    (alarm,) = alarms(incident, minutes(3))

    assert alarm.action is Action.WITHDRAW
    assert alarm.teams == ("entry-1",)
    assert alarm.unheard_since == minutes(2)


@pytest.mark.parametrize("count", [1, 40])
def test_alarms_take_as_many_queries_for_forty_readings_as_for_one(
    incident, count, django_assert_num_queries
):
    for number in range(count):
        log(incident, acid(START + timedelta(seconds=number)))
    incident.refresh_from_db()
    engine.live(incident)

    with django_assert_num_queries(8):
        view = selectors.sheet(incident, minutes(2))

    assert view.alarms[0].count == count
