"""A whole plan and the teams it is for; a test changes what matters to it."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from command.documents import read_body
from command.plan import Record, fold
from command.scene import Crew, Scene
from screening.ensembles import Ensemble

START = datetime(2026, 3, 4, 19, 0, tzinfo=UTC)


def minutes(count):
    return START + timedelta(minutes=count)


def metres(value):
    return {"value": Decimal(value), "unit": "m"}


READY = {
    ("size_up", ""): {"place": "Quarry Lane pump house"},
    ("substances", "s1"): {"name": "ammonia", "certainty": "label"},
    ("site", ""): {"command_post": "Gate 2, upwind"},
    ("zones", "hot"): {
        "distance": metres(60),
        "basis": "guide",
        "edition": "Guidebook, edition as printed",
        "page": "125",
    },
    ("weather", ""): {"wind_from": Decimal(240), "source": "own instrument"},
    ("mode", ""): {"mode": "offensive", "why": "Valve can be reached"},
    ("command", ""): {"name": "Dana Holt"},
    ("positions", "p1"): {"position": "safety_officer", "name": "S. Larch"},
    ("check_in", "a"): {"name": "Alder"},
    ("check_in", "b"): {"name": "Birch"},
    ("objectives", "o1"): {"objective": "Close the valve", "done_when": "No hiss"},
    ("hazards", "h1"): {"task": "Close the valve", "hazard": "none found"},
    ("teams", "entry-1"): {"task": "Close the valve", "channel": "7"},
    ("teams", "backup-1"): {"dressed": "yes"},
    ("decon", ""): {"ready": "yes"},
    ("medical", ""): {"aid": "Unit 4", "transport": "Unit 4", "hospital": "County"},
    ("communications", ""): {"command": "1", "entry": "7"},
    ("emergency", ""): {"procedures": "Three blasts: leave"},
    ("briefing", "b1"): {
        "speaker": "S. Larch",
        "listeners": ["Alder", "Birch"],
        "objectives": "Close the valve",
        "path": "In by gate 2, out by gate 1",
        "hazards": "Ammonia",
        "turn_back": "LEL 10 %",
        "time_limit": {"value": 20, "unit": "min"},
        "pressure": {"value": 1600, "unit": "psi"},
        "radio": "7",
        "signals": "Three blasts: leave",
        "lost_contact": "Second call, then the backup",
        "emergency_decon": "Hose line at gate 1",
        "refuge": "Gate house",
    },
    ("signatures", "g1"): {
        "capacity": "incident_commander",
        "name": "Dana Holt",
        "agrees": "yes",
    },
}


def record(part, says, *, item="", seq=1, at=START, **body):
    """As the log keeps it: read from its body."""
    read = read_body({"part": part, "item": item, "says": says, **body})
    return Record(
        part=part, item=item, says=read.says, seq=seq, at=at, author="Dana Holt",
        reason=read.reason, based_on=read.based_on,
    )  # fmt: skip


def records(answers=READY, *, at=START):
    return [
        record(part, says, item=item, seq=seq, at=at)
        for seq, ((part, item), says) in enumerate(answers.items(), 2)
    ]


def plan(changes=None, *, without=(), more=()):
    """The ready plan; `without` names parts or (part, item) to leave out."""
    answers = {
        key: says
        for key, says in {**READY, **(changes or {})}.items()
        if key not in without and key[0] not in without
    }
    return fold([*records(answers), *more])


def crew(role="entry", **changes):
    given = {
        "id": f"{role}-1",
        "name": f"{role.title()} 1",
        "role": role,
        "ensemble": Ensemble.LEVEL_B,
        "members": ("Alder", "Birch") if role == "entry" else ("Cedar", "Dogwood"),
    }
    return Crew(**(given | changes))


def scene(of=None, *, entry=None, backup=None, at=START, **changes):
    crews = (
        crew(**(entry or {})),
        *(() if backup is False else (crew("backup", **(backup or {})),)),
    )
    return Scene(plan=plan() if of is None else of, at=at, crews=crews, **changes)
