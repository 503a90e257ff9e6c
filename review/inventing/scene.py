"""The set-up of an invented incident: where it is, who is there, what they carry."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any, Final

from review.inventing import words
from review.inventing.kinds import KINDS, WEIGHTS, Kind
from review.inventing.told import FIRST_DAY, LAST_DAY

CREWS: Final = 3
_RATED: Final = {"value": Decimal(4500), "unit": "psi"}
_VOLUME: Final = {"value": Decimal(1840), "unit": "L"}
_MISSIONS: Final = ("reconnaissance", "product_control", "rescue", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    kind: Kind
    rooms: tuple[str, ...]  # from the edge inwards; the last is where it is
    opened_at: datetime
    name: str
    location: str
    crew: int
    teams: tuple[dict[str, Any], ...]
    suspects: tuple[str, ...]
    worst: float  # what the level rises to

    def document(self, rng: Random) -> dict[str, Any]:
        return {
            "incident": {
                "name": self.name,
                "mission": rng.choice(_MISSIONS),
                "weather": _weather(rng),
                "background_dose_rate": {"value": Decimal("0.01"), "unit": "mrem/h"},
            },
            "teams": [dict(team) for team in self.teams],
            "instruments": _instruments(self.opened_at),
            "suspects": list(self.suspects),
        }


def scene(rng: Random) -> Scene:
    kind = KINDS[rng.choices(list(WEIGHTS), list(WEIGHTS.values()))[0]]
    days = (LAST_DAY - FIRST_DAY).days - 1
    # More by day than by night, as calls are.
    hour = min(23, max(0, round(rng.gauss(19, 4))))
    opened = FIRST_DAY + timedelta(days=rng.randrange(days), hours=hour)
    opened += timedelta(minutes=rng.randrange(60), seconds=rng.randrange(60))
    street = rng.choice(words.STREETS)
    known = min(len(kind.substances), rng.choice((0, 1, 1, 2)))
    return Scene(
        kind=kind,
        rooms=(rng.choice(words.EDGES), rng.choice(kind.rooms)),
        opened_at=opened,
        name=f"{rng.choice(kind.scenes)}, {street}",
        location=f"{rng.randrange(1, 180)} {street}",
        crew=rng.randrange(CREWS),
        teams=_teams(rng, kind),
        suspects=tuple(rng.sample(kind.substances, known)),
        worst=rng.choice((0.3, 0.55, 0.7, 0.85, 1.0)),
    )


def _teams(rng: Random, kind: Kind) -> tuple[dict[str, Any], ...]:
    people = iter(rng.sample(words.MEMBERS, 6))
    letters = iter("abcdef")
    teams = []
    for name in words.TEAM_NAMES:
        members = [
            {
                "id": next(letters),
                "name": next(people),
                "cylinder": {
                    "rated_volume": _VOLUME,
                    "rated_pressure": _RATED,
                    "start_pressure": {
                        "value": Decimal(rng.randrange(4300, 4510, 10)),
                        "unit": "psi",
                    },
                },
            }
            for _ in range(2)
        ]
        backup = name == "Backup"
        teams.append(
            {
                "id": name.lower().replace(" team ", "-"),
                "name": name,
                "role": "backup" if backup else "entry",
                "ensemble": kind.ensembles[-1]
                if backup
                else rng.choice(kind.ensembles),
                "members": members,
            }
        )
    return tuple(teams)


def _weather(rng: Random) -> Mapping[str, Any]:
    return {
        "air_temperature": {"value": Decimal(rng.randrange(4, 27)), "unit": "degC"},
        "relative_humidity_percent": Decimal(rng.randrange(35, 90)),
        "wind_speed": {"value": Decimal(rng.randrange(1, 9)), "unit": "m/s"},
        "wind_from_degrees": Decimal(rng.randrange(0, 360, 10)),
    }


def _instruments(opened: datetime) -> list[dict[str, Any]]:
    """None of them stands in a register: an archive leaves no tests there."""
    due = f"{opened + timedelta(days=90):%Y-%m-%d}"
    return [
        {
            "id": "gas-meter",
            "kind": "gas_meter",
            "sensors": ["lel", "oxygen", "co", "h2s"],
            "lel_basis": "methane",
            "calibration_due": due,
        },
        {"id": "imager", "kind": "thermal_imager"},
        {"id": "dosimeter", "kind": "dosimeter", "calibration_due": due},
    ]
