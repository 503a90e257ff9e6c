"""What the register says of an instrument: filled in, read by the engine, and compared."""

from collections.abc import Mapping
from typing import Any, Final

from incidents import engine
from incidents.documents import dumps, loads
from incidents.models import Instrument
from incidents.services.errors import EntryRefusedError
from incidents.services.typed import refused, typed
from screening.worksheet import WorksheetErrors, load_json

# Columns of an instrument that are for people; the engine knows nothing of them.
ABOUT: Final = (
    "serial", "lot", "opened_on", "calibration_gas", "alarm_points", "ranges",
    "warm_up", "daily_test",
)  # fmt: skip


def fill(
    row: Instrument, label: str, about: Mapping[str, Any], facts: Mapping[str, Any]
) -> None:
    row.label = typed(label, "/label", longest=200, one_line=True, needed="a name")
    unknown = set(about) - set(ABOUT)
    if unknown:
        raise refused(f"/{min(unknown)}", f"one of {', '.join(ABOUT)}")
    for name, value in about.items():
        kept = typed(value, f"/{name}") if isinstance(value, str) else value
        setattr(row, name, kept)
    if row.kind == "gas_meter":
        row.daily_test = True
    row.document = _document(row, facts)


def _document(row: Instrument, facts: Mapping[str, Any]) -> str:
    """The worksheet's object as text, if the engine reads it."""
    known = {name: value for name, value in facts.items() if value not in (None, "")}
    try:
        text = dumps({"id": row.key, "kind": row.kind, **known})
        engine.context_of(
            {
                "format": "hazmat-incident-worksheet",
                "version": 1,
                "incident": {"name": "the register", "mission": "other"},
                "teams": [],
                "instruments": [load_json(text)],
            }
        )
    except TypeError as error:
        raise refused("", str(error)) from error
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error
    return text


def said(row: Instrument) -> dict[str, str]:
    """All that the register says of it, in words, by the name of the field."""
    said = {"name": row.label}
    for field in Instrument._meta.fields:
        if field.name in ABOUT:
            value = getattr(row, field.name)
            empty = value in (None, "", False)
            said[str(field.verbose_name)] = "" if empty else str(value)
    if row.document:
        for name, value in loads(row.document).items():
            said[name.replace("_", " ")] = (
                value if isinstance(value, str) else dumps(value)
            )
    return said


def difference(before: Mapping[str, str], after: Mapping[str, str]) -> str:
    return "; ".join(
        f"{name}: {before.get(name) or 'none'}, now {after.get(name) or 'none'}"
        for name in dict.fromkeys([*before, *after])
        if (before.get(name) or "") != (after.get(name) or "")
    )
