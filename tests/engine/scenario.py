"""An incident of `scenarios.md` as a worksheet, line by line, with what stands after each.

A `Line` carries the number of the story's line, its clock time, the log entries it comes
to, the verdict that the specification gives for the entry team after it, worked out by
hand, and the verdict of the story's second opinion (a rule list of its own). Where the
specification is the milder of the two, the scenario must say so in `milder`, with why.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tests.engine.documents import Json, Judged, judge, worksheet

DAY = "2026-03-04T{}-05:00"
SECOND_OPINION = {"CO": "continue", "INV": "caution", "STOP": "stop", "WD": "withdraw"}
RANK = {"continue": 0, "caution": 1, "stop": 2, "withdraw": 3}


@dataclass(frozen=True)
class Line:
    number: int
    clock: str
    entries: Sequence[Json]
    expected: str
    opinion: str

    @property
    def id(self) -> str:
        """Of its last entry: the verdict after that is the verdict after the line."""
        return f"{self.number:02}-{len(self.entries)}"

    def log(self, team: str) -> list[Json]:
        return [
            {"team": team, **entry, "id": f"{self.number:02}-{n}",
             "at": DAY.format(self.clock)}
            for n, entry in enumerate(self.entries, start=1)
        ]  # fmt: skip


@dataclass(frozen=True)
class Scenario:
    name: str
    lines: Sequence[Line]
    milder: Mapping[int, str]
    setup: Mapping[str, Any] = field(default_factory=dict)
    team: str = "entry"

    def document(self, until: int | None = None) -> Json:
        lines = [line for line in self.lines if until is None or line.number <= until]
        log = [entry for line in lines for entry in line.log(self.team)]
        return worksheet(*log, **self.setup)

    def after(self, number: int) -> Judged:
        """What the engine says after a line, knowing nothing of the later ones."""
        return judge(self.document(until=number))

    def at_clock(self, clock: str) -> Judged:
        from datetime import datetime

        from screening.result import screen
        from screening.worksheet import load_json
        from tests.engine.documents import as_bytes

        when = datetime.fromisoformat(DAY.format(clock))
        return Judged(screen(load_json(as_bytes(self.document())), at=when))

    def found_milder(self) -> set[int]:
        return {
            line.number
            for line in self.lines
            if RANK[line.expected] < RANK[SECOND_OPINION[line.opinion]]
        }


# Entries without id, time and team, which the line brings.


def ph(value: float, place: str, sample: str = "vapour", **fields: Any) -> Json:
    return {
        "kind": "ph_paper", "ph": value, "place": place, "sample": sample,
        "moistened": True, **fields,
    }  # fmt: skip


def ki(result: str, place: str, sample: str = "vapour", **fields: Any) -> Json:
    return {
        "kind": "ki_starch_paper", "result": result, "place": place, "sample": sample,
        "moistened": True, **fields,
    }  # fmt: skip


def fluoride(result: str, place: str, sample: str = "vapour", **fields: Any) -> Json:
    return {
        "kind": "fluoride_paper", "result": result, "place": place, "sample": sample,
        "moistened": True, **fields,
    }  # fmt: skip


def meter(place: str, lel: float, oxygen: float, **fields: Any) -> Json:
    return {
        "kind": "gas_meter", "place": place, "lel_percent": lel,
        "oxygen_percent": oxygen, **fields,
    }  # fmt: skip


def gamma(place: str, mr_per_hour: float) -> Json:
    return {
        "kind": "dosimeter", "place": place,
        "dose_rate": {"value": mr_per_hour, "unit": "mR/h"},
    }  # fmt: skip


def seen(
    place: str, container: str | None, surface: float, around: float, **fields: Any
) -> Json:
    """A look with the imager, degC."""
    base = {
        "kind": "thermal_imager", "place": place, "target": "closed_container",
        "container": container, "surface": {"value": surface, "unit": "degC"},
        "surroundings": {"value": around, "unit": "degC"}, **fields,
    }  # fmt: skip
    return {key: value for key, value in base.items() if value is not None}


def air(place: str, member: str, psi: float) -> Json:
    return {
        "kind": "air_check", "place": place, "member": member,
        "pressure": {"value": psi, "unit": "psi"},
    }  # fmt: skip


def enter(place: str) -> Json:
    return {"kind": "enter", "place": place}


def leave(place: str = "", **fields: Any) -> Json:
    return {"kind": "exit", "place": place, **fields}


def par(place: str = "", **fields: Any) -> Json:
    return {"kind": "par", "place": place, **fields}


def heard(entry: str) -> Json:
    return {"kind": "acknowledge", "entry": entry, "by": "commander"}


def clear(place: str, hazard: str) -> Json:
    return {
        "kind": "clear", "place": place, "hazard": hazard, "by": "commander",
        "reason": "all out and accounted for",
    }  # fmt: skip


def crew(ensemble: str, *members: tuple[str, float]) -> list[Json]:
    """Entry team, backup, decon and the command post."""

    def cylinder(start: float) -> Json:
        return {
            "rated_volume": {"value": 1840, "unit": "L"},
            "rated_pressure": {"value": 4500, "unit": "psi"},
            "start_pressure": {"value": start, "unit": "psi"},
        }  # fmt: skip

    teams = [("backup", "backup", ensemble), ("decon", "decon", "level_b"),
             ("post", "other", "level_d")]  # fmt: skip
    return [
        {
            "id": "entry", "role": "entry", "ensemble": ensemble,
            "members": [{"id": m, "cylinder": cylinder(p)} for m, p in members],
        },
        *({"id": i, "role": r, "ensemble": e, "members": []} for i, r, e in teams),
    ]  # fmt: skip


def at_post(*entries: Json) -> list[Json]:
    """Readings at the command post, whose team does not count as inside for them."""
    return [{**entry, "team": "post"} for entry in (*entries, leave("post"))]
