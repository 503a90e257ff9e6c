"""A long worksheet made at random, the same for the same length."""

import random
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

START = datetime(2026, 3, 4, 8, 0, tzinfo=timezone(timedelta(hours=-6)))
TEAMS = ("entry-1", "entry-2", "entry-3")
PLACES = ("dock", "store room", "tank room", "yard", "pump house", "roof")


def worksheet(entries: int) -> dict[str, Any]:
    """As `screening.worksheet.load_json` would give it: numbers are Decimal."""
    return {**SETUP, "log": list(log(entries))}


SETUP: dict[str, Any] = {
    "format": "hazmat-incident-worksheet",
    "version": 1,
    "incident": {
        "name": "Benchmark",
        "mission": "other",
        "weather": {"relative_humidity_percent": Decimal(45)},
    },
    "teams": [
        {
            "id": team,
            "role": "entry",
            "ensemble": ensemble,
            "members": [{"id": "a", "cylinder": {"rated_pressure": {
                "value": Decimal(4500), "unit": "psi"}}}],
        }
        for team, ensemble in zip(
            TEAMS, ("turnout_scba", "level_b", "level_a"), strict=True
        )
    ],
    "instruments": [],
    "suspects": ["ammonia"],
}  # fmt: skip


def log(entries: int) -> Iterator[dict[str, Any]]:
    """One entry each five seconds: mostly quiet, now and then not."""
    source = random.Random(20260304)
    for number in range(entries):
        yield {
            "id": f"e{number:06d}",
            "at": (START + timedelta(seconds=5 * number)).isoformat(),
            "team": source.choice(TEAMS),
            **_fields(source),
        }


def _fields(source: random.Random) -> dict[str, Any]:
    place = source.choice(PLACES)
    match source.randrange(7):
        case 0:
            ph = source.choice(("2", "5", *(["6.5"] * 20)))
            return {"kind": "ph_paper", "place": place, "sample": "vapour",
                    "moistened": True, "ph": Decimal(ph)}  # fmt: skip
        case 1:
            result = source.choice(("blue_black", *(["no_change"] * 20)))
            return {"kind": "ki_starch_paper", "place": place, "sample": "vapour",
                    "moistened": True, "result": result}  # fmt: skip
        case 2 | 3:
            return {"kind": "gas_meter", "place": place,
                    "lel_percent": Decimal(source.choice((0, 0, 0, 0, 2))),
                    "oxygen_percent": Decimal(source.choice(("20.9", "20.9", "20.2"))),
                    "co_ppm": Decimal(source.choice((0, 0, 12))),
                    "h2s_ppm": Decimal(0)}  # fmt: skip
        case 4:
            return {"kind": "dosimeter", "place": place, "alarm": False,
                    "dose_rate": {"value": Decimal("0.01"), "unit": "mrem/h"}}  # fmt: skip
        case 5:
            return {"kind": "thermal_imager", "place": place,
                    "target": "closed_container", "container": f"tank at {place}",
                    "surface": {"value": Decimal(source.randrange(60, 64)),
                                "unit": "degF"},
                    "surroundings": {"value": Decimal(60), "unit": "degF"}}  # fmt: skip
    if source.random() < 0.5:
        return {"kind": "par"}
    return {"kind": "air_check", "place": place, "member": "a",
            "pressure": {"value": Decimal(source.randrange(3600, 4500)),
                         "unit": "psi"}}  # fmt: skip
