"""An invented worksheet document with most kinds of entry, and a chain of its records."""

import hashlib
import json
from datetime import datetime, timedelta

import rfc8785

from reports.data import ChainHead

START = datetime.fromisoformat("2026-03-04T14:00:00-06:00")


def at(minutes, seconds=0):
    return (START + timedelta(minutes=minutes, seconds=seconds)).isoformat()


def quantity(value, unit):
    return {"value": value, "unit": unit}


def document(log=None, **changes):
    """Two teams at an invented pump house; without `log`, its full story."""
    return {
        "format": "hazmat-incident-worksheet",
        "version": 1,
        "incident": {
            "name": "Quarry Lane pump house",
            "mission": "reconnaissance",
            "weather": {
                "air_temperature": quantity(20, "degC"),
                "relative_humidity_percent": 45,
                "wind_speed": quantity(3, "m/s"),
                "wind_from_degrees": 225,
            },
            "background_dose_rate": quantity(0.01, "mrem/h"),
        },
        "profile": {
            "name": "Example County SOP",
            "version": "3",
            "limits": {"lel_withdraw_percent": 20},
        },
        "teams": [
            {
                "id": "entry-1",
                "role": "entry",
                "ensemble": "turnout_scba",
                "members": [
                    {
                        "id": "a",
                        "cylinder": {
                            "rated_volume": quantity(1840, "L"),
                            "rated_pressure": quantity(4500, "psi"),
                            "start_pressure": quantity(4400, "psi"),
                        },
                    },
                    {"id": "b"},
                ],
            },
            {"id": "backup", "role": "backup", "ensemble": "level_b"},
        ],
        "instruments": [
            {
                "id": "meter-1",
                "kind": "gas_meter",
                "sensors": ["lel", "oxygen", "co", "h2s"],
                "lel_basis": "methane",
                "last_bump_test": at(-40),
                "calibration_due": "2026-06-01",
            }
        ],
        "suspects": ["ammonia"],
        "log": story() if log is None else log,
        **changes,
    }


def entry(ident, minutes, kind, team="entry-1", place="tank room", **fields):
    raw = {"id": ident, "at": at(minutes), "kind": kind, **fields}
    if team:
        raw["team"] = team
    if place:
        raw["place"] = place
    return raw


def gas(ident, minutes, lel, oxygen=20.9, **fields):
    return entry(
        ident,
        minutes,
        "gas_meter",
        lel_percent=lel,
        oxygen_percent=oxygen,
        co_ppm=0,
        h2s_ppm=0,
        instrument="meter-1",
        **fields,
    )


def story():
    paper = {"sample": "vapour", "moistened": True}
    drum = {
        "target": "closed_container",
        "container": "drum 6",
        "surroundings": quantity(19, "degC"),
    }
    return [
        entry("e1", 0, "enter"),
        gas("g1", 1, 0, height="floor"),
        entry(
            "p1",
            2,
            "ph_paper",
            ph=2,
            carried_on="hook",
            note="paper <b>red</b>",
            **paper,
        ),
        entry("h1", 3, "acknowledge", entry="p1", by="Whitlock"),
        entry("k1", 4, "ki_starch_paper", sample="vapour", result="no_change"),
        entry(
            "s1", 5, "strike", place="", entry="k1", by="Mora", reason="strip was dry"
        ),
        gas("g2", 6, 4),
        gas("g3", 9, 12),
        gas("g4", 12, 25),
        entry("x1", 13, "exit"),
        entry("v1", 15, "ventilate", team="", method="blower at the loading door"),
        entry("d1", 16, "thermal_imager", surface=quantity(41, "degC"), **drum),
        entry("d2", 19, "thermal_imager", surface=quantity(47, "degC"), **drum),
        entry("r1", 20, "dosimeter", dose_rate=quantity(0.02, "mrem/h"), alarm=False),
        entry("c1", 22, "clear", hazard="acid_vapour", by="Whitlock", reason="aired"),
        entry("w1", 24, "change_ensemble", ensemble="level_a"),
        entry("a1", 25, "air_check", member="a", pressure=quantity(3900, "psi")),
        entry("o1", 26, "sign", team="backup", place="loading door", what="odour"),
        entry("q1", 27, "par", unanswered=["b"]),
    ]


def chained(sheet):
    """Canonical records of a worksheet, as the application makes them, and their head."""
    setup = {key: value for key, value in sheet.items() if key != "log"}
    bodies: list[tuple[str, str, dict]] = [("opening", "opened", {"setup": setup})]
    bodies += [(raw["kind"], raw["id"], raw) for raw in sheet["log"]]
    bodies.append(("closing", "closed", {"reason": "done"}))
    records, prev = [], "0" * 64
    for seq, (kind, ident, body) in enumerate(bodies, start=1):
        record = rfc8785.dumps(
            {
                "v": 1,
                "seq": seq,
                "uuid": ident,
                "kind": kind,
                "body": json.dumps(body),
                "prev": prev,
            }
        )
        prev = hashlib.sha256(record).hexdigest()
        records.append(record)
    return records, ChainHead(seq=len(records), sha256=prev)
