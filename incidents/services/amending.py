"""Changing the set-up of a running incident: recorded, and the log judged again."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from command.documents import write
from command.site_parts import WeatherReport
from incidents import engine
from incidents.documents import dumps, loads
from incidents.models import Incident, Instrument, LogEntry, Person
from incidents.models.log import AMENDMENT
from incidents.services import chain, findings
from incidents.services.locking import save_head
from incidents.services.setup import checked, still_readable
from incidents.services.typed import typed

# A question of the plan's weather, and its name in the worksheet document.
_JUDGED_BY: Final = {
    "temperature": "air_temperature",
    "humidity": "relative_humidity_percent",
}
_CARRIED: Final = {**_JUDGED_BY, "wind_speed": "wind_speed"}


def amend(
    incident: Incident,
    setup: dict[str, Any],
    names: Mapping[str, str],
    person: Person,
    at: datetime,
    reason: str,
    **more: Any,
) -> None:
    """Record the new set-up and judge the log again under it; `more` goes on record."""
    incident.setup = checked(setup)
    still_readable(incident, setup)
    body = {
        "setup": loads(incident.setup),
        "names": dict(names),
        "reason": typed(reason, "/reason"),
        "by": person.shown_name,
        **more,
    }
    row = record(incident, AMENDMENT, body, person, at)
    now, found = engine.replay(list(incident.entries.order_by("seq")))
    findings.reconcile(incident=incident, found=found, raised_by=row, by=person)
    save_head(incident, "setup", "mission", "sop")
    engine.keep(incident.pk, now)


def record(
    incident: Incident, kind: str, body: dict[str, Any], person: Person, at: datetime
) -> LogEntry:
    return chain.add_record(
        incident=incident,
        kind=kind,
        body=dumps(body),
        client_uuid=chain.next_id(incident, kind),
        observed_at=at,
        recorded_at=at,
        author=person,
    )


def instrument_names(incident: Incident, setup: Mapping[str, Any]) -> dict[str, str]:
    """What the register calls the listed instruments; kept, as it may change there."""
    keys = [one["id"] for one in setup.get("instruments", ())]
    rows = Instrument.objects.filter(agency=incident.agency_id, key__in=keys)
    return dict(rows.values_list("key", "label")) if keys else {}


def suspect(incident: Incident, name: str, person: Person, at: datetime) -> None:
    """Add one substance to those that are looked for; the caller holds the row."""
    setup = loads(incident.setup)
    suspects = setup.get("suspects", [])
    if name.lower() in [known.lower() for known in suspects]:
        return
    setup["suspects"] = [*suspects, name]
    amend(incident, setup, {}, person, at, f"{name} is suspected")


def observe_weather(
    incident: Incident,
    report: WeatherReport,
    person: Person,
    at: datetime,
    seen_at: datetime,
) -> None:
    """Judge the readings from `seen_at` on by what was seen; the caller holds the row.

    A look at the wind alone changes nothing: no reading is judged by wind.
    """
    says = write(report)
    if not says.keys() & _JUDGED_BY.keys():
        return
    carried = {name: says[key] for key, name in _CARRIED.items() if key in says}
    look: dict[str, Any] = {"at": seen_at.isoformat(), **carried}
    if report.from_degrees is not None:
        look["wind_from_degrees"] = report.from_degrees
    setup = loads(incident.setup)
    about = setup["incident"]
    about["weather_log"] = [*about.get("weather_log", []), look]
    amend(incident, setup, {}, person, at, "Weather was recorded")
