"""The day of a bump test is the crew's, also where a device writes its times in UTC.

The agency of these tests is in Chicago: 19:00 UTC is 13:00 there on 4 March 2026.
"""

from datetime import timedelta

import pytest

from incidents import engine, judging, services
from incidents.documents import loads
from incidents.kit import worksheet_object
from incidents.models import Instrument
from tests.factories import (
    START,
    PersonFactory,
    log,
    meter,
    minutes,
    open_incident,
    register_meter,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

EVENING_BEFORE = START - timedelta(hours=18)  # 19:00 there, but 01:00 of the day in UTC
MORNING = START - timedelta(hours=5)
EVENING = START + timedelta(hours=6)  # 19:00 there, but 01:00 of the next day in UTC


@pytest.fixture
def keeper():
    return PersonFactory.create()


def along(keeper, bumped_at):
    """An incident with one meter that passed at that time."""
    row = register_meter(keeper)
    services.record_test(
        instrument_id=row.pk, person=keeper, kind="bump_test", passed=True,
        at=bumped_at, recorded_at=bumped_at,
    )  # fmt: skip
    listed = Instrument.objects.with_tests().get(pk=row.pk)
    return open_incident(person=keeper, instruments=[worksheet_object(listed)]), row


def quiet(row, at):
    """As a phone sends it: the moment with the offset of UTC."""
    return {**meter(at), "instrument": row.key, "lel_percent": 0, "oxygen_percent": 21}


def status(incident, at, hazard="flammable_atmosphere"):
    incident.refresh_from_db()
    team = judging.judge(incident, engine.live(incident), at).teams[0]
    return next(line.status.value for line in team.coverage if line.hazard == hazard)


def test_a_test_of_the_evening_before_is_not_of_the_day(keeper):
    incident, row = along(keeper, EVENING_BEFORE)
    log(incident, quiet(row, minutes(2)))

    assert status(incident, minutes(3)) == "cannot_tell"


def test_a_test_of_the_morning_counts_in_the_evening(keeper):
    incident, row = along(keeper, MORNING)
    log(incident, quiet(row, EVENING))

    assert status(incident, EVENING + timedelta(minutes=1)) == "not_found"


@pytest.mark.parametrize(
    ("bumped", "at", "untested"),
    [
        pytest.param(EVENING_BEFORE, minutes(2), True, id="the evening before"),
        pytest.param(MORNING, EVENING, False, id="that morning"),
        pytest.param(MORNING, EVENING + timedelta(hours=6), True, id="after midnight"),
    ],
)
def test_readiness_counts_the_same_days(keeper, bumped, at, untested):
    incident, row = along(keeper, bumped)
    incident.refresh_from_db()

    scene = judging.scene_at(incident, engine.live(incident), at)

    assert (row.key in scene.untested) is untested


def test_what_is_logged_without_a_time_or_in_utc_stands_in_the_agencys_zone(keeper):
    incident, row = along(keeper, MORNING)
    with_none = {k: v for k, v in quiet(row, minutes(1)).items() if k != "at"}
    first = log(incident, quiet(row, minutes(2))).entry
    second = log(incident, with_none, recorded_at=minutes(3)).entry

    assert loads(first.body)["at"] == "2026-03-04T13:02:00-06:00"
    assert loads(second.body)["at"] == "2026-03-04T13:03:00-06:00"
    assert first.observed_at == minutes(2)


def test_a_repeat_is_known_whichever_way_its_time_is_written(keeper):
    incident, row = along(keeper, MORNING)
    body = quiet(row, minutes(2))
    first = log(incident, body)
    key = first.entry.client_uuid

    for at in ("2026-03-04T19:02:00Z", "2026-03-04T13:02:00-06:00"):
        again = log(incident, {**body, "at": at}, client_uuid=key)
        assert again.duplicate
        assert again.entry == first.entry

    with pytest.raises(services.DuplicateConflictError):
        log(incident, {**body, "at": "2026-03-04T19:03:00Z"}, client_uuid=key)
