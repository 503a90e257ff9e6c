"""The plan's looks at the weather, as the engine judges readings by them."""

import uuid
from datetime import timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from command.scene import WeatherRules
from incidents import plans, selectors
from incidents.documents import dumps, loads
from incidents.house_rules import HOUSE_RULES
from incidents.models.log import AMENDMENT
from incidents.plan_history import history_of
from incidents.services import chain
from incidents.services.rebuilding import rebuild
from reports.worksheet_facts import facts
from screening.assess import assess
from screening.state import replay
from screening.worksheet import load_json, parse_worksheet
from tests.factories import SopProfileFactory, entry, log, minutes
from tests.incidents.services.test_plan import planned, refreshed, say, verdict

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def dry_strip(incident, at, place="dock"):
    """pH paper that was not wetted: it cannot tell below 30 % humidity
    (`dry_air_percent`, common practice, no source)."""
    body = {"sample": "vapour", "moistened": False, "ph": Decimal(7)}
    return log(
        incident, entry("ph_paper", minutes(at), team="entry-1", place=place, **body)
    )


def acid_status(incident, at):
    (row,) = (
        row
        for row in verdict(refreshed(incident), at).coverage
        if row.hazard.value == "acid_vapour"
    )
    return row.status.value


def humid(percent):
    return {"humidity": Decimal(percent), "source": "own instrument"}


def test_a_look_at_the_weather_judges_the_readings_of_after_it():
    incident = planned(weather={"relative_humidity_percent": Decimal(60)})
    dry_strip(incident, 1)
    assert acid_status(incident, 1) == "not_found"

    say(incident, "weather", humid(20), at=2)
    assert acid_status(incident, 2) == "not_found"
    dry_strip(incident, 3, place="tank room")

    assert acid_status(incident, 3) == "cannot_tell"
    assert not rebuild(incident_id=incident.pk)
    assert chain.verify(refreshed(incident)) is None


def test_a_look_written_down_late_judges_again_from_the_time_of_the_look():
    incident = planned(weather={"relative_humidity_percent": Decimal(60)})
    dry_strip(incident, 4)
    assert acid_status(incident, 4) == "not_found"

    say(incident, "weather", humid(20), at=6, holds_from=minutes(3))

    assert acid_status(incident, 6) == "cannot_tell"
    assert not rebuild(incident_id=incident.pk)


def test_a_worksheet_that_was_taken_out_carries_the_weather_by_time():
    incident = planned(weather={"relative_humidity_percent": Decimal(60)})
    say(
        incident,
        "weather",
        {
            **humid(20),
            "temperature": {"value": Decimal(5), "unit": "degC"},
            "wind_towards": Decimal(90),
            "sky": "clear",
        },
        at=2,
    )
    dry_strip(incident, 3)

    document = selectors.worksheet_document(refreshed(incident))
    sheet = parse_worksheet(load_json(dumps(document)))
    view = assess(replay(sheet.log, sheet.context), sheet.context, minutes(4))

    assert document["incident"]["weather_log"] == [
        {
            "at": minutes(2).isoformat(),
            "air_temperature": {"value": Decimal(5), "unit": "degC"},
            "relative_humidity_percent": Decimal(20),
            "wind_from_degrees": Decimal(270),
        }
    ]
    assert view.teams[0].coverage == verdict(refreshed(incident), 4).coverage


def test_a_look_at_the_wind_alone_changes_no_set_up():
    incident = planned()

    say(incident, "weather", {"wind_from": Decimal(240)})

    assert not incident.entries.filter(kind=AMENDMENT).exists()
    assert "weather_log" not in loads(refreshed(incident).setup)["incident"]


def test_a_repeat_of_the_same_look_is_one_look():
    incident = planned()
    key = uuid.uuid4()
    for _ in range(2):
        say(incident, "weather", humid(20), client_uuid=key)

    assert len(loads(refreshed(incident).setup)["incident"]["weather_log"]) == 1


def test_the_report_prints_each_look_with_its_time_in_local_time():
    incident = planned(weather={"relative_humidity_percent": Decimal(60)})
    say(incident, "weather", humid(20), at=2)
    sheet = selectors.worksheet_document(refreshed(incident))
    context = parse_worksheet(load_json(dumps(sheet))).context
    zone = ZoneInfo("America/Chicago")

    (line,) = (
        fact.text
        for fact in facts(sheet, context, "", zone)
        if fact.label == "Weather later"
    )

    assert line == "13:02 humidity 20 %"


# --- How old weather may be, by the agency's own house rules ---------------------------


def under_own_rules(incident):
    incident.sop = SopProfileFactory.create(
        agency=incident.agency,
        house_rules='{"weather_age":{"value":5,"unit":"min"},'
        '"wind_shift":{"value":30,"unit":"degree"}}',
    )
    incident.save(update_fields=["sop"])


def open_points(incident, at):
    view = selectors.plan_view(refreshed(incident), minutes(at))
    return {lack.key for lack in view.lacks}


@pytest.mark.parametrize(("own", "stale"), [(False, False), (True, True)])
def test_weather_is_old_by_the_incidents_own_version(own, stale):
    incident = planned()
    if own:
        under_own_rules(incident)
    say(incident, "weather", {"wind_from": Decimal(240)}, at=1)

    assert "weather_stale" not in open_points(incident, 6)
    assert ("weather_stale" in open_points(incident, 7)) is stale


@pytest.mark.parametrize(("own", "shifted"), [(False, False), (True, True)])
def test_a_wind_shift_counts_by_the_incidents_own_version(own, shifted):
    incident = planned()
    if own:
        under_own_rules(incident)
    say(incident, "weather", {"wind_from": Decimal(240)}, at=1)
    line = {"runs": "fence", "basis": "terrain_or_wind"}
    say(incident, "zones", line, item="hot", at=2)
    log(incident, entry("enter", minutes(3), team="entry-1", place="dock"))
    say(incident, "weather", {"wind_from": Decimal(270)}, at=4)
    rows = list(incident.entries.order_by("seq"))
    about = plans.around(refreshed(incident))

    verdict_now = verdict(incident, 5).findings
    printed = history_of(rows, about, minutes(5)).standing["entry-1"]

    for found in (verdict_now, printed):
        assert ("zones_after_wind_shift" in {each.rule for each in found}) is shifted


def test_without_a_version_the_defaults_of_both_tables_are_one():
    """Common practice, no source: half an hour and an eighth of the compass."""
    assert HOUSE_RULES["weather_age"].default == 1800
    assert HOUSE_RULES["wind_shift"].default == 45
    assert WeatherRules() == WeatherRules(
        counts_for=timedelta(seconds=1800), shift_degrees=Decimal(45)
    )
