"""Worksheet documents to test with: one small valid one, and ways to change a part of it."""

import copy

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
        "suspects": ["Ammonia"],
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


VALID = {
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


def parsed(kind, **fields):
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
