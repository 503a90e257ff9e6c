"""Medical checks as rows, as the pure module `command.medical` needs them.

Neither writes nor decides. The values of a row are read here alone.
"""

import hashlib
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from command.documents import name_key
from command.medical import LIMITS, Check, Limits, Standing, Vitals, standing
from command.whereabouts import HOT, Person
from incidents.documents import loads
from incidents.house_rules import value_of
from incidents.models import Incident, MedicalCheck

TO_FAHRENHEIT: Final = (Decimal(9) / 5, Decimal(32))
# Never the values or the reasons, which carry them.
COLUMNS: Final = (
    "pk", "incident_id", "seq", "person_name", "person_code", "kind", "at", "fit",
    "corrects_id",
)  # fmt: skip
KG_PER_POUND: Final = Decimal("0.45359237")  # exact, by the definition of the pound


def code_of(name: str) -> str:
    """A person of the incident in an address: the same for every way to type a name."""
    return hashlib.sha256(name_key(name).encode()).hexdigest()[:12]


def limits_of(incident: Incident) -> Limits:
    """The house rules of the incident's own version. May read that version."""
    return {key: value_of(incident.sop, key) for key in LIMITS}


def vitals_of(values: dict[str, Any]) -> Vitals:
    """What was measured, in canonical units."""
    whole = {
        name: int(values[name])
        for name in ("pulse", "systolic", "diastolic", "breaths", "spo2")
        if values.get(name) is not None
    }
    temperature, weight = values.get("temperature"), values.get("weight")
    return Vitals(
        **whole,
        temperature_degf=temperature and fahrenheit(temperature),
        weight_kg=weight and kilograms(weight),
        symptoms=values.get("symptoms", ""),
    )


def fahrenheit(quantity: dict[str, Any]) -> Decimal:
    value = Decimal(quantity["value"])
    factor, offset = TO_FAHRENHEIT
    return value * factor + offset if quantity["unit"] == "degC" else value


def kilograms(quantity: dict[str, Any]) -> Decimal:
    value = Decimal(quantity["value"])
    return value * KG_PER_POUND if quantity["unit"] == "lb" else value


def that_count(rows: Iterable[MedicalCheck]) -> list[MedicalCheck]:
    """Without those that were put right, in the order of their times."""
    rows = list(rows)
    corrected = {row.corrects_id for row in rows}
    standing = [row for row in rows if row.pk not in corrected]
    return sorted(standing, key=lambda row: (row.at, row.seq))


def check_of(row: MedicalCheck) -> Check:
    return Check(kind=row.kind, at=row.at, fit=row.fit)


def standings(
    incident: Incident, people: Iterable[Person], at: datetime
) -> dict[str, Standing]:
    """How each of these people stands, by the key of the name; no figure of theirs.

    One query, which never reads what was measured.
    """
    rows = incident.medical_checks.only(*COLUMNS).order_by("seq")
    by_code: dict[str, list[MedicalCheck]] = {}
    for row in rows:
        by_code.setdefault(row.person_code, []).append(row)
    limits = limits_of(incident)
    found = {}
    for person in people:
        hot = person.hot()
        found[person.key] = standing(
            [
                check_of(row)
                for row in that_count(by_code.get(code_of(person.name), ()))
            ],
            last_out=hot[-1].until if hot else None,
            at=at,
            limits=limits,
            inside=person.where == HOT,
        )
    return found


def values(row: MedicalCheck) -> dict[str, Any]:
    known: dict[str, Any] = loads(row.values)
    return known
