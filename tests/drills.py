"""A short drill for the tests, its agency and its people."""

import copy
import json
from datetime import timedelta

from incidents.services import drill_scripts, drills
from tests.factories import START, AgencyFactory, PersonFactory

SCRIPT = {
    "format": "hazmat-incident-worksheet",
    "version": 1,
    "incident": {"name": "Etching shop drill", "mission": "reconnaissance"},
    "profile": {"name": "Drill limits", "version": "1", "limits": {}},
    "teams": [
        {
            "id": "entry-1",
            "role": "entry",
            "ensemble": "level_b",
            "members": [{"id": "a"}, {"id": "b"}],
        },
        {"id": "backup-1", "role": "backup", "ensemble": "level_b"},
    ],
    "instruments": [
        {
            "id": "meter-1",
            "kind": "gas_meter",
            "sensors": ["lel", "oxygen", "co", "h2s"],
        }
    ],
    "suspects": [],
    "log": [
        {
            "id": "d1",
            "at": "2026-03-04T09:00:00-05:00",
            "kind": "bump_test",
            "instrument": "meter-1",
            "passed": True,
        },
        {
            "id": "d2",
            "at": "2026-03-04T09:01:00-05:00",
            "kind": "enter",
            "team": "entry-1",
            "place": "shop floor",
        },
        {
            "id": "d3",
            "at": "2026-03-04T09:01:30-05:00",
            "kind": "gas_meter",
            "team": "entry-1",
            "place": "shop floor",
            "instrument": "meter-1",
            "lel_percent": 0,
            "oxygen_percent": 20.9,
            "co_ppm": 0,
            "h2s_ppm": 0,
        },
        {
            "id": "d4",
            "at": "2026-03-04T09:02:00-05:00",
            "kind": "ph_paper",
            "team": "entry-1",
            "place": "shop floor",
            "sample": "vapour",
            "moistened": True,
            "ph": 2,
        },
        {
            "id": "d5",
            "at": "2026-03-04T09:03:00-05:00",
            "kind": "fluoride_paper",
            "team": "entry-1",
            "place": "shop floor",
            "sample": "vapour",
            "moistened": True,
            "result": "changed",
        },
    ],
    "drill": {
        "goals": ["Look for fluoride after any acid."],
        "briefing": "Two bottles broke beside an etching bath.",
        "place": "Marrow Ford",
        "names": {
            "entry-1": "Entry team 1",
            "entry-1/a": "Carrowby",
            "entry-1/b": "Tadlow",
            "backup-1": "Backup",
        },
    },
}


def script_with(**drill):
    """The script, with other fields in its drill."""
    document = copy.deepcopy(SCRIPT)
    document["drill"] |= drill
    return document


def file_of(document=SCRIPT):
    return json.dumps(document).encode()


def officer(**more):
    """Who runs the drills of an agency, and may open no incident."""
    agency = more.pop("agency", None) or AgencyFactory.create()
    return PersonFactory.create(agency=agency, may_open=False, may_review=True, **more)


def started(*, leader=None, document=SCRIPT, crew=None, speed=0, at=START, seconds=60):
    """A drill that has begun: the drill, and its crew by part.

    `crew` gives the parts; a commander and a technician are the usual two.
    """
    leader = leader or officer()
    script = drill_scripts.add_script(person=leader, file=file_of(document), at=at)
    people = {
        role: PersonFactory.create(agency=leader.agency, may_open=False)
        for role in (crew or ("commander", "technician"))
    }
    drill = drills.start_drill(
        person=leader,
        script=script,
        crew={person: role for role, person in people.items()},
        speed=speed,
        answer_seconds=seconds,
        at=at,
    )
    return drill, people


def step(drill, at=START):
    """The training officer gives the next reading."""
    return drills.give_next(incident_id=drill.pk, person=drill.led_by, at=at)


def after(seconds, start=START):
    return start + timedelta(seconds=seconds)
