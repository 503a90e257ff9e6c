"""Worksheet documents to test with: one small valid one, and ways to change a part of it."""

import copy
from typing import Any

import pytest

from screening.worksheet import WorksheetErrors, parse_worksheet

AT = "2026-03-04T14:02:00-05:00"


def worksheet(*log, **parts):
    """A valid document with two teams; `parts` replace whole parts of it."""
    document = {
        "format": "hazmat-incident-worksheet",
        "version": 1,
        "incident": {"name": "Quarry Lane pump house", "mission": "rescue"},
        "teams": [
            {
                "id": "entry-1",
                "role": "entry",
                "ensemble": "turnout_scba",
                "members": [{"id": "a"}, {"id": "b"}],
            },
            {"id": "backup", "role": "backup", "ensemble": "level_b"},
        ],
        "instruments": [
            {"id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "Phosphine"]}
        ],
        "suspects": ["Ammonia", "Germane"],
        "log": list(log),
    }
    return copy.deepcopy({**document, **parts})


def entry(kind, **fields):
    """A log entry of entry-1 in the tank room; a field given as `...` is left out."""
    whole = {
        "id": "o1",
        "at": AT,
        "team": "entry-1",
        "place": "tank room",
        "kind": kind,
    }
    whole.update(fields)
    return {name: value for name, value in whole.items() if value is not ...}


def quantity(value, unit):
    return {"value": value, "unit": unit}


FULL = """{
  "format": "hazmat-incident-worksheet", "version": 1,
  "incident": {
    "name": "Quarry Lane pump house", "mission": "rescue",
    "weather": {"air_temperature": {"value": 20, "unit": "degC"},
                "relative_humidity_percent": 45,
                "wind_speed": {"value": 36, "unit": "km/h"}, "wind_from_degrees": 225},
    "background_dose_rate": {"value": 0.01, "unit": "mrem/h"}
  },
  "profile": {"name": "Example County SOP", "version": "3",
              "limits": {"dose_turn_back_rescue": {"value": 10, "unit": "rem"}}},
  "teams": [
    {"id": "entry-1", "role": "entry", "ensemble": "turnout_scba",
     "members": [{"id": "a", "cylinder": {
        "rated_volume": {"value": 1840, "unit": "L"},
        "rated_pressure": {"value": 300, "unit": "bar"},
        "start_pressure": {"value": 290, "unit": "bar"}}}, {"id": "b"}]}
  ],
  "instruments": [
    {"id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "Oxygen"],
     "lel_basis": "methane", "lamp_ev": 10.6, "correction_factors": {"Pentane": 2.0},
     "last_bump_test": "2026-03-04T13:20:00-05:00", "calibration_due": "2026-06-01"},
    {"id": "meter-2", "kind": "gas_meter", "last_bump_test": null},
    {"id": "meter-3", "kind": "gas_meter"}
  ],
  "suspects": ["Ammonia", " anhydrous  ammonia "],
  "log": [
    {"id": "o1", "at": "2026-03-04T14:02:00-05:00", "team": "entry-1",
     "place": "tank room", "kind": "ph_paper", "sample": "vapour", "moistened": true,
     "ph": 2, "carried_on": "hook"}
  ]
}"""

VALID: dict[str, dict[str, Any]] = {
    "ph_paper": {"sample": "vapour", "ph": 2},
    "ki_starch_paper": {"sample": "liquid", "result": "blue_black"},
    "fluoride_paper": {"sample": "vapour", "result": "changed"},
    "gas_meter": {"lel_percent": 4},
    "thermal_imager": {"target": "other", "surface": quantity(41, "degC")},
    "sign": {"what": "frost"},
    "dosimeter": {"dose_rate": quantity(2, "mrem/h")},
    "air_check": {"member": "a", "pressure": quantity(4400, "psi")},
    "enter": {},
    "exit": {},
    "par": {},
    "change_ensemble": {"ensemble": "level_a"},
    "ventilate": {"method": "fan at the door"},
    "acknowledge": {"entry": "o0", "by": "IC"},
    "bump_test": {"instrument": "meter-1", "passed": True},
    "strike": {"entry": "o0", "by": "IC", "reason": "read at another door"},
    "clear": {"hazard": "acid_vapour", "by": "IC", "reason": "aired, read twice"},
}


def log_of(kind, **fields):
    """An entry of the kind, and before it the one that it may refer to."""
    first = entry("enter", id="o0")
    return first, entry(kind, **{**VALID[kind], **fields})


def parsed(kind: str, **fields: Any) -> Any:
    """The entry of a worksheet that holds it."""
    log = parse_worksheet(worksheet(*log_of(kind, **fields))).log
    return next(found for found in log if found.id == fields.get("id", "o1"))


def errors(document):
    """The errors of a document, by pointer."""
    with pytest.raises(WorksheetErrors) as caught:
        parse_worksheet(document)
    return {error.pointer: error for error in caught.value.errors}


def entry_errors(kind, **fields):
    """The pointers that are wrong in an entry, from the entry on."""
    found = errors(worksheet(*log_of(kind, **fields)))
    assert all(pointer.startswith("/log/1") for pointer in found), found
    return [pointer.removeprefix("/log/1") for pointer in found]
