"""An instrument of the register as a worksheet has it, and what stands against it.

Neither reads nor writes: rows come in with their tests (`InstrumentRows.with_tests`).
What stands against an instrument is asked of the engine, as of an incident opened now.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from typing import Any, Final
from uuid import UUID, uuid5

from incidents import engine
from incidents.documents import loads
from incidents.models import Instrument
from reports.words import KIND_LABELS
from screening.instruments import PAPERS
from screening.memory import first_core
from screening.trust import doubt_about

KINDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **{
            kind: KIND_LABELS[kind]
            for kind in (
                "gas_meter",
                "dosimeter",
                "thermal_imager",
                "ph_paper",
                "ki_starch_paper",
                "fluoride_paper",
            )
        },
        "other": "Another instrument",
    }
)


def is_paper(kind: str) -> bool:
    return kind in PAPERS


@dataclass(frozen=True, slots=True, kw_only=True)
class Tests:
    """The last tests that count, of one row of `with_tests`."""

    bump_passed_at: datetime | None
    bump_failed_at: datetime | None
    calibration_passed_at: datetime | None
    calibration_failed_at: datetime | None

    @classmethod
    def of(cls, row: Instrument) -> "Tests":
        values: dict[str, Any] = vars(row)
        return cls(**{name: values[name] for name in cls.__slots__})

    @property
    def failed_at(self) -> datetime | None:
        """When a test failed that none of its kind passed since; the later of two."""
        standing = (
            _standing(self.bump_failed_at, self.bump_passed_at),
            _standing(self.calibration_failed_at, self.calibration_passed_at),
        )
        return max((at for at in standing if at is not None), default=None)


def _standing(failed: datetime | None, passed: datetime | None) -> datetime | None:
    """Of a failed and a passed test at one moment the failed one stands."""
    if failed is None or (passed is not None and passed > failed):
        return None
    return failed


def entry_uuid(record_uuid: UUID, incident_id: UUID) -> UUID:
    """The identifier under which a test of the register is logged in an incident."""
    return uuid5(record_uuid, str(incident_id))


def worksheet_object(row: Instrument) -> dict[str, Any]:
    """The instrument in the worksheet's shape, with its last passed bump test.

    One that failed since is given as never passed: its quiet readings cannot tell until
    it passes in the log.
    """
    tests = Tests.of(row)
    known: dict[str, Any] = loads(row.document)
    known.pop("last_bump_test", None)
    if row.daily_test or tests.failed_at:
        passed = None if tests.failed_at else tests.bump_passed_at
        known["last_bump_test"] = passed and passed.isoformat()
    return {"id": row.key, "kind": row.kind, **known}


def doubts(rows: Iterable[Instrument], at: datetime) -> dict[str, str]:
    """By key, why a quiet reading at that moment would prove nothing; "" for no reason.

    `at` is in the zone of the crew: its day is the day of a test.
    """
    listed = [worksheet_object(row) for row in rows]
    context = engine.context_of(
        {
            "format": "hazmat-incident-worksheet",
            "version": 1,
            "incident": {"name": "the register", "mission": "other"},
            "teams": [],
            "instruments": listed,
        }
    )
    core = first_core(context)
    return {key: doubt_about(core, context, key, at) for key in context.instruments}


def bare(doubt: str, key: str) -> str:
    """A doubt of the engine without the name: "has no passed bump test of the day"."""
    return doubt.removeprefix(key).replace(f" of {key}", "").strip()


def said(doubt: str, key: str, label: str) -> str:
    """A doubt with the name that people use; the name alone where there is none."""
    if not doubt:
        return label
    return f"{label}{'' if doubt.startswith(key) else ':'} {bare(doubt, key)}"


def due_of(row: Instrument) -> date | None:
    """The day its calibration is due, or its lot expires."""
    due = loads(row.document).get("calibration_due")
    return date.fromisoformat(due) if due else None
