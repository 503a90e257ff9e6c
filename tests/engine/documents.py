"""Small builders of worksheet documents, and a view of what the engine gives back.

Everything here follows the published contract only: documents go in as JSON bytes, the
result comes out as the dictionary that `python -m screening` prints. Minutes count from
`START`; entries get the ids e01, e02 ... in the order given unless they bring their own.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

Json = dict[str, Any]

START = datetime(2026, 3, 4, 14, 0, tzinfo=timezone(timedelta(hours=-5)))
ENSEMBLES = ("level_a", "level_b", "turnout_scba", "level_c", "level_d")
SCBA = ("level_a", "level_b", "turnout_scba")
ACTIONS = ("continue", "caution", "stop", "withdraw")
COVERED = (
    "acid_vapour", "base_vapour", "oxidiser_vapour", "fluoride_vapour",
    "flammable_atmosphere", "oxygen_enriched", "oxygen_deficient", "toxic_gas",
    "gamma_radiation",
)  # fmt: skip


def moment(minutes: float = 0) -> str:
    """The time so many minutes after the start, with its offset."""
    return (START + timedelta(seconds=round(minutes * 60))).isoformat()


def quantity(value: float, unit: str) -> Json:
    return {"value": value, "unit": unit}


def team(
    id: str = "entry-1",
    ensemble: str = "turnout_scba",
    role: str = "entry",
    members: Sequence[Json] = (),
) -> Json:
    return {"id": id, "role": role, "ensemble": ensemble, "members": list(members)}


def member(
    id: str = "a", rated: float = 4500, start: float = 4400, unit: str = "psi"
) -> Json:
    cylinder = {
        "rated_volume": quantity(1840, "L"),
        "rated_pressure": quantity(rated, unit),
        "start_pressure": quantity(start, unit),
    }
    return {"id": id, "cylinder": cylinder}


def worksheet(
    *log: Json,
    ensemble: str = "turnout_scba",
    teams: Sequence[Json] | None = None,
    humidity: float | None = 45,
    limits: Mapping[str, Any] | None = None,
    instruments: Sequence[Json] | None = None,
    suspects: Sequence[str] | None = None,
    mission: str = "rescue",
    **incident: Any,
) -> Json:
    """A valid worksheet: one entry team on a rescue unless the test says otherwise."""
    weather: Json = {"air_temperature": quantity(20, "degC")}
    if humidity is not None:
        weather["relative_humidity_percent"] = humidity
    document: Json = {
        "format": "hazmat-incident-worksheet",
        "version": 1,
        "incident": {
            "name": "Quarry Lane pump house",
            "mission": mission,
            "weather": weather,
            **incident,
        },
        "profile": {
            "name": "Example County SOP",
            "version": "3",
            "limits": dict(limits or {}),
        },
        "teams": list(teams if teams is not None else [team(ensemble=ensemble)]),
        "log": [{"id": f"e{n:02}", **line} for n, line in enumerate(log, start=1)],
    }
    if instruments is not None:
        document["instruments"] = list(instruments)
    if suspects is not None:
        document["suspects"] = list(suspects)
    return document


# --- log entries ---------------------------------------------------------------------


def entry(kind: str, minutes: float, **fields: Any) -> Json:
    """A log entry by entry-1 in the tank room unless `team` or `place` say otherwise."""
    line: Json = {
        "at": moment(minutes),
        "kind": kind,
        "team": "entry-1",
        "place": "tank room",
        **fields,
    }
    return {key: value for key, value in line.items() if value is not None}


def ph(minutes: float, value: float | None = None, **fields: Any) -> Json:
    """pH paper, wet and in the air unless said otherwise."""
    base: Json = {"sample": "vapour", "moistened": True, "ph": value}
    return entry("ph_paper", minutes, **{**base, **fields})


def ki(minutes: float, result: str = "no_change", **fields: Any) -> Json:
    base: Json = {"sample": "vapour", "moistened": True, "result": result}
    return entry("ki_starch_paper", minutes, **{**base, **fields})


def fluoride(minutes: float, result: str = "no_change", **fields: Any) -> Json:
    base: Json = {"sample": "vapour", "moistened": True, "result": result}
    return entry("fluoride_paper", minutes, **{**base, **fields})


def meter(
    minutes: float, lel: float | None = None, oxygen: float | None = None, **fields: Any
) -> Json:
    return entry("gas_meter", minutes, lel_percent=lel, oxygen_percent=oxygen, **fields)


def imager(
    minutes: float,
    surface: float,
    surroundings: float | None = 70,
    unit: str = "degF",
    **fields: Any,
) -> Json:
    """A thermal look at drum 1; both temperatures in `unit`."""
    base: Json = {
        "target": "closed_container",
        "container": "drum 1",
        "surface": quantity(surface, unit),
        "surroundings": None if surroundings is None else quantity(surroundings, unit),
    }
    return entry("thermal_imager", minutes, **{**base, **fields})


def sign(minutes: float, what: str, **fields: Any) -> Json:
    return entry("sign", minutes, what=what, **fields)


def rate(minutes: float, value: float, unit: str = "mrem/h", **fields: Any) -> Json:
    return entry("dosimeter", minutes, dose_rate=quantity(value, unit), **fields)


def dose(minutes: float, value: float, unit: str = "rem", **fields: Any) -> Json:
    return entry("dosimeter", minutes, dose=quantity(value, unit), **fields)


def air(minutes: float, value: float, unit: str = "psi", **fields: Any) -> Json:
    base: Json = {"member": "a", "pressure": quantity(value, unit)}
    return entry("air_check", minutes, **{**base, **fields})


def enter(minutes: float = 0, **fields: Any) -> Json:
    return entry("enter", minutes, **fields)


def leave(minutes: float, **fields: Any) -> Json:
    return entry("exit", minutes, **fields)


def par(minutes: float, **fields: Any) -> Json:
    return entry("par", minutes, **fields)


def change(minutes: float, ensemble: str, **fields: Any) -> Json:
    return entry("change_ensemble", minutes, ensemble=ensemble, **fields)


def ventilate(minutes: float, **fields: Any) -> Json:
    base: Json = {"team": None, "method": "fan at the door"}
    return entry("ventilate", minutes, **{**base, **fields})


def bump(minutes: float, instrument: str, passed: bool, **fields: Any) -> Json:
    return entry("bump_test", minutes, instrument=instrument, passed=passed, **fields)


def strike(minutes: float, struck: str, **fields: Any) -> Json:
    return entry(
        "strike", minutes, entry=struck, by="commander", reason="misread", **fields
    )


def clear(minutes: float, hazard: str, **fields: Any) -> Json:
    return entry(
        "clear", minutes, hazard=hazard, by="commander", reason="aired", **fields
    )


# --- what came back ------------------------------------------------------------------


def as_bytes(document: Json) -> bytes:
    return json.dumps(document).encode()


def judge(document: Json, minutes: float | None = None) -> "Judged":
    """The result for a document, at the last entry's time unless `minutes` says when."""
    from screening.result import screen
    from screening.worksheet import load_json

    at = max(line["at"] for line in document["log"]) if minutes is None else None
    when = datetime.fromisoformat(at or moment(minutes or 0))
    return Judged(screen(load_json(as_bytes(document)), at=when))


def refused(document: Json) -> list[str]:
    """Where a document is wrong, by JSON Pointer; [] for a good one."""
    from screening.worksheet import WorksheetErrors, load_json, parse_worksheet

    try:
        parse_worksheet(load_json(as_bytes(document)))
    except WorksheetErrors as wrong:
        return [error.pointer for error in wrong.errors]
    return []


@dataclass(frozen=True)
class Judged:
    """One result, with the questions that tests ask of it."""

    result: Json

    def team(self, id: str = "entry-1") -> Json:
        found: Json = next(t for t in self.result["teams"] if t["id"] == id)
        return found

    def action(self, team: str = "entry-1") -> str:
        return str(self.team(team)["action"])

    def findings(self, hazard: str, team: str = "entry-1") -> list[Json]:
        return [f for f in self.team(team)["findings"] if f["hazard"] == hazard]

    def on(self, hazard: str, team: str = "entry-1") -> str | None:
        """The strictest action standing on a hazard for a team; None for no finding."""
        actions = [f["action"] for f in self.findings(hazard, team)]
        return max(actions, key=ACTIONS.index) if actions else None

    def hazards(self, team: str = "entry-1") -> set[str]:
        return {f["hazard"] for f in self.team(team)["findings"]}

    def said(self, hazard: str, team: str = "entry-1") -> str:
        """All that the findings on a hazard say, in lower case."""
        return " ".join(
            " ".join([f["because"], *f["advice"]]) for f in self.findings(hazard, team)
        ).lower()

    def row(self, hazard: str, team: str = "entry-1") -> Json:
        found: Json = next(
            r for r in self.team(team)["coverage"] if r["hazard"] == hazard
        )
        return found

    def status(self, hazard: str, team: str = "entry-1") -> str:
        return str(self.row(hazard, team)["status"])

    def standing(self, entry: str, team: str = "entry-1") -> str:
        return str(self.entry(entry)["standing"][team])

    def entry(self, id: str) -> Json:
        found: Json = next(e for e in self.result["entries"] if e["id"] == id)
        return found

    def sentences(self) -> list[str]:
        return list(_strings(self.result))


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for part in value.values():
            yield from _strings(part)
    elif isinstance(value, (list, tuple)):
        for part in value:
            yield from _strings(part)


def milder_or_equal(first: str | None, second: str | None) -> bool:
    """Whether the first action asks for no more than the second."""
    order = (None, *ACTIONS)
    return order.index(first) <= order.index(second)
