"""What one reading alone means, as a table for a phone that has no link.

The table is made by asking the engine, through the very forms of the pages: every choice
that a form offers, and each figure at every limit, between the limits and beyond them. No
limit and no rule is written here. Where the phone and the engine could differ, by the
rounding of a unit say, the phone takes the stricter side.

What history adds (a container's rise, a trend, two hazards together) is not in it: the
phone says so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from itertools import product
from typing import Any, Final
from zoneinfo import ZoneInfo

from incidents.documents import dumps
from incidents.forms.entry import EntryChoices
from incidents.forms.figure_steps import Outcome, steps
from incidents.forms.readings import READING_FORMS
from screening.ensembles import Ensemble
from screening.incident import Context
from screening.judgement import standing_for
from screening.profile import LIMITS
from screening.rules.found import Found
from screening.rules.radiation import turn_back_key
from screening.state import initial_state, step
from screening.substances import load as substances
from screening.units import Dimension, factor
from screening.verdicts import Action, Hazard
from screening.worksheet import load_json, parse_entry

VERSION: Final = 1
_AT: Final = datetime(2026, 1, 1, 12, tzinfo=UTC)
# What time and other teams bring, not the reading.
_NOT_OF_A_READING: Final = frozenset({Hazard.MONITORING, Hazard.ACCOUNTABILITY})
# Forms whose every field that matters is a choice; the others are figures.
_CHOICES: Final[Mapping[str, tuple[str, ...]]] = {
    "ph_paper": ("sample", "reading", "moistened", "faded"),
    "ki_starch_paper": ("sample", "reading", "moistened", "edge_checked"),
    "fluoride_paper": ("sample", "reading", "moistened"),
    "sign": ("what",),
}
_SENSORS: Final = ("lel_percent", "oxygen_percent", "co_ppm", "h2s_ppm", "voc_ppm")
_OVER: Final = ("lel", "oxygen", "co", "h2s", "voc")
_DOSE_ROWS: Final = 25
_UNITS: Final[Mapping[Dimension, tuple[str, ...]]] = {
    Dimension.DOSE_RATE: ("mrem/h", "rem/h", "mR/h", "uSv/h", "mSv/h"),
    Dimension.DOSE: ("mrem", "rem", "uSv", "mSv"),
    Dimension.TEMPERATURE: ("degC", "degF"),
    Dimension.PRESSURE: ("psi", "bar"),
}

Body = dict[str, Any]


@dataclass(slots=True)
class Table:
    """Gathers what was found; each statement is kept once."""

    context: Context
    team: str
    findings: list[dict[str, Any]] = field(default_factory=list)
    _numbers: dict[Any, int] = field(default_factory=dict)

    def ask(self, body: Mapping[str, Any]) -> Outcome:
        """What the engine finds on one entry, with nothing before it."""
        whole = {"id": "one", "at": _AT.isoformat(), "team": self.team, "place": "here"}
        entry = parse_entry(load_json(dumps({**whole, **body})), self.context)
        state, _ = step(initial_state(self.context), entry, self.context)
        team = state.core.teams[self.team]
        standing = standing_for(state.core, team, _AT, self.context)
        return tuple(
            sorted(
                self._number(item.found, item.rule.title)
                for item in standing
                if item.found.hazard not in _NOT_OF_A_READING
            )
        )

    def _number(self, found: Found, title: str) -> int:
        # The phone knows of one ensemble: what a member wears instead counts in each.
        own = self.context.teams[self.team].own_ensembles.values()
        actions = [found.means((each, *own)).value for each in Ensemble]
        said = (found.hazard, title, tuple(actions), found.advice)
        if said not in self._numbers:
            self._numbers[said] = len(self.findings)
            self.findings.append(
                {
                    "hazard": found.hazard.label,
                    "title": title,
                    "actions": actions,
                    "advice": list(found.advice),
                }
            )
        return self._numbers[said]


def single_readings(context: Context, team: str) -> dict[str, Any]:
    """The table for one team, as JSON: `choices`, `figures` and the units' factors.

    A figure's steps are `points` in canonical units with what is found `at` each point
    and `between` them (one more: below the first, and above the last).
    """
    context = context.as_of_now()
    table = Table(context, team)
    return {
        "version": VERSION,
        "profile": {"name": context.profile.name, "version": context.profile.version},
        "ensembles": [ensemble.value for ensemble in Ensemble],
        "actions": [action.word for action in Action],
        "choices": {kind: _choices(table, kind) for kind in _CHOICES},
        "figures": dict(_figures(table)),
        "gases": _gases(table),
        "members": dict(_members(table)),
        "flags": _flags(table),
        "factors": _factors(),
        "degf": _factors_of(Dimension.TEMPERATURE),
        "air_degf": _number_or_none(context.weather.air_temperature_degf),
        "findings": table.findings,
    }


# --- Choices -------------------------------------------------------------------------


def _choices(table: Table, kind: str) -> dict[str, Any]:
    """Every combination that the form takes, by its fields in a fixed order."""
    names = _CHOICES[kind]
    rows = {}
    for values in product(*(_values(kind, name) for name in names)):
        body = _body(table, kind, dict(zip(names, values, strict=True)))
        if body is not None:
            rows["|".join(values)] = list(table.ask(body))
    return {"by": list(names), "rows": rows}


def _values(kind: str, name: str) -> list[str]:
    form = READING_FORMS[kind](choices=_no_choices("team"))
    choices = getattr(form.fields[name], "choices", None)
    if choices is None:
        return ["", "on"]
    given = [str(value) for value, _ in choices]
    return given if form.fields[name].required else ["", *given]


def _body(table: Table, kind: str, fields: dict[str, str]) -> Body | None:
    """What the form makes of the fields; None where it refuses them."""
    data = {
        **{name: value for name, value in fields.items() if value},
        "client_uuid": "00000000-0000-4000-8000-000000000001",
        "team": table.team,
    }
    form = READING_FORMS[kind](data, choices=_no_choices(table.team))
    return form.body() if form.is_valid() else None


def _no_choices(team: str) -> EntryChoices:
    return EntryChoices(now=_AT, zone=ZoneInfo("UTC"), teams=((team, team),))


# --- Figures -------------------------------------------------------------------------


def _figures(table: Table) -> Iterator[tuple[str, Any]]:
    limits = _limits(table.context)
    for name in _SENSORS:
        high = Decimal(100) if name.endswith("_percent") else Decimal(1_000_000)
        yield name, _steps(table, _sensor(name), limits, high=high)
    yield "rate_by_dose", _rate_by_dose(table)
    rate = {"unit": "rem/h"}
    yield (
        "dose_rate",
        _steps(table, lambda v: _dose(dose_rate={"value": v, **rate}), limits),
    )
    yield (
        "dose",
        _steps(table, lambda v: _dose(dose={"value": v, "unit": "rem"}), limits),
    )
    for target in ("closed_container", "relief_valve_discharge"):
        yield (
            target,
            _steps(
                table, _warmer(target), limits, low=Decimal(-1000), high=Decimal(10_000)
            ),
        )


def _sensor(name: str) -> Any:
    """Asked with a quiet LEL and good oxygen beside it: what doubts a quiet LEL shows."""

    def body(value: Decimal) -> Body:
        given: Body = {"kind": "gas_meter", "lel_percent": Decimal(0)}
        return given | {name: value}

    return body


def _dose(**quantities: Any) -> Body:
    return {"kind": "dosimeter", **quantities}


def _warmer(target: str) -> Any:
    """By how much the surface is warmer, in °F, around a surface far from zero."""
    around = Decimal(1000)

    def body(value: Decimal) -> Body:
        return {
            "kind": "thermal_imager",
            "target": target,
            "container": "one",
            "surface": {"value": around + value, "unit": "degF"},
            "surroundings": {"value": around, "unit": "degF"},
        }

    return body


def _rate_by_dose(table: Table) -> list[dict[str, Any]]:
    """The steps of a dose rate read together with a dose, which shorten the stay.

    By shares of the turn-back dose; each row holds up to its dose, and is asked there, at
    its stricter end. At the turn-back dose itself the dose alone decides.
    """
    context = table.context
    turn_back = Decimal(context.profile[turn_back_key(context)])
    limits = {Decimal(0), Decimal(context.profile["dose_rate_turn_back"])}
    limits.add(Decimal(context.profile["dose_rate_hot_line"]))
    rows = []
    for share in range(1, _DOSE_ROWS + 1):
        dose = turn_back * share / _DOSE_ROWS
        asked = dose if share < _DOSE_ROWS else dose * Decimal("0.999999")

        def body(value: Decimal, dose: Decimal = asked) -> Body:
            return _dose(
                dose={"value": dose, "unit": "rem"},
                dose_rate={"value": value, "unit": "rem/h"},
            )

        rows.append({"up_to": float(dose), **_steps(table, body, limits)})
    return rows


def _limits(context: Context) -> set[Decimal]:
    """Figures at which a rule may change its mind: all limits of the profile and their
    halves. What changes between two of them is found by halving the interval."""
    values = {
        value for key in LIMITS if (value := context.profile.get(key)) is not None
    }
    if context.background_rem_per_hour is not None:
        values.add(3 * context.background_rem_per_hour)
    halves = {value / 2 for value in values}
    return values | halves | {Decimal(0)}


def _steps(
    table: Table, body: Any, limits: set[Decimal], **ends: Decimal
) -> dict[str, Any]:
    """The steps of one figure, asked by what `body` makes of it."""
    return steps(lambda value: table.ask(body(value)), limits, **ends)


# --- Gases by name, gauges by member, switches ------------------------------------------


def _gases(table: Table) -> dict[str, Any]:
    """By every name that the table of substances knows; "" is a gas that it does not."""
    rows: dict[str, Any] = {"": _gas(table, "a gas of no table", set())}
    for substance in substances():
        limits = {
            limit
            for limit in (substance.idlh_ppm, substance.ceiling_ppm)
            if limit is not None
        }
        steps = _gas(table, substance.name, limits)
        for name in (substance.name, substance.cas, *substance.aliases):
            rows[" ".join(name.replace("_", " ").casefold().split())] = steps
    return rows


def _gas(table: Table, name: str, limits: set[Decimal]) -> dict[str, Any]:
    def body(value: Decimal) -> Body:
        return {"kind": "gas_meter", "gases": {name: value}}

    over: Body = {
        "kind": "gas_meter",
        "gases": {name: Decimal(0)},
        "over_range": [name],
    }
    steps = _steps(table, body, limits, high=Decimal(1_000_000))
    return {**steps, "over": list(table.ask(over))}


def _members(table: Table) -> Iterator[tuple[str, Any]]:
    """Gauge pressures in psi, for each member with a cylinder."""
    for member in table.context.teams[table.team].members:
        cylinder = member.cylinder
        if cylinder is None:
            continue
        known = {
            value
            for value in (cylinder.rated_pressure_psi, cylinder.start_pressure_psi)
            if value is not None
        }
        share = Decimal(table.context.profile["low_air_fraction"])
        limits = known | {value * share for value in known}

        def body(value: Decimal, key: str = member.id) -> Body:
            pressure = {"value": value, "unit": "psi"}
            return {"kind": "air_check", "member": key, "pressure": pressure}

        yield member.id, _steps(table, body, limits, high=Decimal(20_000))


def _flags(table: Table) -> dict[str, Any]:
    """Switches: what is over range, an alarm."""
    found = {
        f"over_{name}": list(table.ask({"kind": "gas_meter", "over_range": [name]}))
        for name in _OVER
    }
    found["alarm"] = list(table.ask(_dose(alarm=True)))
    return found


def _factors() -> dict[str, list[float]]:
    """Unit to what it is multiplied by, to come to the unit of the steps."""
    return {
        unit: factors
        for dimension in _UNITS.keys() - {Dimension.TEMPERATURE}
        for unit, factors in _factors_of(dimension).items()
    }


def _factors_of(dimension: Dimension) -> dict[str, list[float]]:
    found = {}
    for unit in _UNITS[dimension]:
        known = factor(unit, dimension)
        assert known is not None, unit
        found[unit] = [float(known.multiplier), float(known.offset)]
    return found


def _number_or_none(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
