"""Incidents of one to four teams, as full as a real one."""

import copy
from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from tests.factories import TEAMS, acid, entry, log, meter, open_incident

NAMES = ("Entry team 1", "Entry team 2", "Backup team", "Decon line")
ROLES = ("entry", "entry", "backup", "decon")
ENSEMBLES = ("turnout_scba", "level_a", "level_b", "level_c")
CREWS = (("Alder", "Birch"), ("Cedar", "Dogwood"), ("Elm", "Fir"), ("Hazel", "Larch"))


def teams(count):
    cylinder = TEAMS[0]["members"][0]["cylinder"]
    return [
        {
            "id": f"t{place}",
            "name": NAMES[place % 4] + (" B" if place > 3 else ""),
            "role": ROLES[place % 4],
            "ensemble": ENSEMBLES[place % 4],
            "members": [
                {"id": f"m{n}", "name": name, "cylinder": copy.deepcopy(cylinder)}
                for n, name in enumerate(CREWS[place % 4])
            ],
        }
        for place in range(count)
    ]


def drum(at, degrees, team="t0", **changes):
    return entry(
        "thermal_imager",
        at,
        team=team,
        place="tank room",
        target="closed_container",
        container="drum 6",
        surface={"value": Decimal(degrees), "unit": "degC"},
        surroundings={"value": Decimal(19), "unit": "degC"},
        **changes,
    )


def psi(at, value, team="t0"):
    pressure = {"value": Decimal(value), "unit": "psi"}
    return entry("air_check", at, team=team, member="m0", pressure=pressure)


def busy(count, *, heating=True):
    """Every team inside with its clocks running; with `heating` all are to withdraw."""
    now = timezone.now()
    incident = open_incident(
        at=now - timedelta(minutes=40), teams=teams(count), name="Mill Race paint store"
    )
    bodies = [entry("enter", now - timedelta(minutes=14), team="t0", place="tank room")]
    for place in range(1, count):
        bodies.append(
            entry(
                "enter",
                now - timedelta(minutes=12),
                team=f"t{place}",
                place=f"pump bay {place}",
            )
        )
    for place in range(count):
        team = f"t{place}"
        at = now - timedelta(minutes=10)
        where = "tank room" if not place else f"pump bay {place}"
        bodies += [
            psi(at, 4300, team),
            psi(now - timedelta(minutes=4), 3900, team),
            meter(at, team=team, place=where),
            entry(
                "dosimeter",
                at,
                team=team,
                place=where,
                dose_rate={"value": Decimal(2), "unit": "mrem/h"},
                alarm=False,
            ),
            entry("par", now - timedelta(minutes=6), team=team),
        ]
    if count > 1:
        bodies.append(
            acid(now - timedelta(minutes=5), ph="5", team="t1", place="pump bay 1")
        )
    if heating:
        bodies += [
            drum(now - timedelta(minutes=3), 41),
            drum(now - timedelta(seconds=20), 47),
        ]
    for body in sorted(bodies, key=lambda body: body["at"]):
        log(incident, body)
    incident.refresh_from_db()
    return incident
