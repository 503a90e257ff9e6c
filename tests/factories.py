"""The boring valid case of each thing; a test states only what matters to it."""

import copy
import uuid
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from factory import LazyAttribute, Sequence, SubFactory
from factory.django import DjangoModelFactory, Password

from incidents import services
from incidents.models import Agency, IncidentRole, Person, SopProfile

START = datetime(2026, 3, 4, 19, 0, tzinfo=UTC)
PASSWORD = "correct-horse-battery"

TEAMS = [
    {
        "id": "entry-1",
        "name": "Entry team 1",
        "role": "entry",
        "ensemble": "turnout_scba",
        "members": [
            {
                "id": "a",
                "name": "Alder",
                "cylinder": {
                    "rated_volume": {"value": Decimal(1840), "unit": "L"},
                    "rated_pressure": {"value": Decimal(4500), "unit": "psi"},
                    "start_pressure": {"value": Decimal(4400), "unit": "psi"},
                },
            },
            {"id": "b", "name": "Birch"},
        ],
    },
    {"id": "backup-1", "name": "Backup", "role": "backup", "ensemble": "turnout_scba"},
]
WEATHER = {
    "air_temperature": {"value": Decimal(20), "unit": "degC"},
    "relative_humidity_percent": Decimal(45),
}


class AgencyFactory(DjangoModelFactory[Agency]):
    class Meta:
        model = Agency

    name = Sequence(lambda n: f"Example County {n}")
    slug = Sequence(lambda n: f"example-county-{n}")
    time_zone = "America/Chicago"


class PersonFactory(DjangoModelFactory[Person]):
    """Someone who may open incidents and signs in with `PASSWORD`."""

    class Meta:
        model = Person

    username = Sequence(lambda n: f"person-{n}")
    display_name = LazyAttribute(lambda person: person.username.title())
    agency = SubFactory(AgencyFactory)
    may_open = True
    password = Password(PASSWORD)


class SopProfileFactory(DjangoModelFactory[SopProfile]):
    class Meta:
        model = SopProfile

    agency = SubFactory(AgencyFactory)
    name = "Example County SOP"
    version = Sequence(lambda n: str(n + 1))
    document = LazyAttribute(
        lambda profile: (
            f'{{"name":"{profile.name}","version":"{profile.version}","limits":{{}}}}'
        )
    )
    effective_on = START.date()
    created_at = START
    created_by = None


def open_incident(*, person=None, at=START, **changes):
    """An open incident of two teams, through the service; `person` commands it."""
    given = {
        "name": "Quarry Lane pump house",
        "location": "Quarry Lane",
        "mission": "rescue",
        "weather": WEATHER,
        "teams": copy.deepcopy(TEAMS),
    }
    return services.open_incident(
        person=person or PersonFactory.create(), at=at, **(given | changes)
    )


def join(incident, role, **changes):
    """Someone of the incident's agency with a part in it."""
    person = PersonFactory.create(agency=incident.agency, **changes)
    IncidentRole.objects.create(incident=incident, person=person, role=role)
    return person


def minutes(count):
    return START + timedelta(minutes=count)


def acid(at, ph="2", **changes):
    """Wet pH paper held in the air; at pH 2 a stop for turnout gear."""
    return {
        "kind": "ph_paper",
        "team": "entry-1",
        "place": "tank room",
        "sample": "vapour",
        "moistened": True,
        "ph": Decimal(ph),
        "at": at.isoformat(),
    } | changes


def meter(at, **changes):
    """A quiet four-gas meter."""
    return {
        "kind": "gas_meter",
        "team": "entry-1",
        "place": "tank room",
        "lel_percent": Decimal(0),
        "oxygen_percent": Decimal("20.9"),
        "co_ppm": Decimal(0),
        "h2s_ppm": Decimal(0),
        "at": at.isoformat(),
    } | changes


def entry(kind, at, **fields):
    return {"kind": kind, "at": at.isoformat()} | fields


def log(incident, body, *, person=None, client_uuid=None, recorded_at=None):
    """Append one entry through the service, recorded when it was observed."""
    return services.append_entry(
        incident_id=incident.pk,
        person=person or incident.opened_by,
        body=body,
        client_uuid=client_uuid or uuid.uuid4(),
        recorded_at=recorded_at or datetime.fromisoformat(body["at"]),
    )


def register_meter(person, *, at=START, label="Four-gas meter 1", serial="", **facts):
    """A four-gas meter in the register of the person's agency, through the service."""
    given = {"sensors": ["lel", "oxygen", "co", "h2s"]} | facts
    if "correction_factors" in given:
        given["correction_factors"] = {
            gas: Decimal(factor) for gas, factor in given["correction_factors"].items()
        }
    return services.add_instrument(
        person=person,
        kind="gas_meter",
        label=label,
        about={"serial": serial},
        facts=given,
        at=at - timedelta(days=30),
    )


def register_paper(person, *, expires="", at=START, kind="ph_paper", lot="7"):
    return services.add_instrument(
        person=person,
        kind=kind,
        label=f"pH paper, lot {lot}",
        about={"lot": lot},
        facts={"calibration_due": expires} if expires else {},
        at=at - timedelta(days=30),
    )
