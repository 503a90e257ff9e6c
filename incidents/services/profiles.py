"""Versions of an agency's SOP: written once, approved by a name, never changed."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final
from zoneinfo import ZoneInfo

import rfc8785
from django.db import IntegrityError, transaction

from incidents.documents import dumps, loads, utc_text
from incidents.house_rules import HOUSE_RULES
from incidents.house_rules import ORDERED as HOUSE_ORDERED
from incidents.models import Agency, Incident, Person, SopProfile, SopWithdrawal
from incidents.models.incident import NO_HASH
from incidents.models.log import AMENDMENT, OPENING
from incidents.services.errors import EntryRefusedError, NotAllowedError
from incidents.services.permissions import require_sop_editor
from incidents.services.typed import typed
from incidents.sop_table import ITEMS, Item
from incidents.text import clean_text
from screening.profile import Profile
from screening.worksheet import (
    DocumentError,
    WorksheetErrors,
    load_json,
    parse_profile,
)

LONGEST_REASON: Final = 500
BUILT_IN: Final = MappingProxyType(
    {"name": Profile.default().name, "version": Profile.default().version}
)
_CONTENT_VERSION: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A version before it is kept.

    `limits` are as the worksheet's profile object has them, `house_rules` each a
    `{"value", "unit"}`; what is left out takes its default. `reasons` are by key.
    """

    name: str
    version: str
    approved_by: str
    effective_on: date
    limits: Mapping[str, Any] = field(default_factory=dict)
    house_rules: Mapping[str, Any] = field(default_factory=dict)
    paper_chart: Mapping[str, Any] | None = None
    reasons: Mapping[str, str] = field(default_factory=dict)
    previous: SopProfile | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A draft that holds, with every value written out."""

    document: dict[str, Any]
    house_rules: dict[str, Any]
    reasons: dict[str, str]


def add_version(*, person: Person, draft: Draft, at: datetime) -> SopProfile:
    """Keep one more version, or nothing.

    Every limit goes in, those at their default too, so that a later default of the
    program changes no version. Raises `NotAllowedError`, and `EntryRefusedError` with a
    pointer for each error: `/limits/KEY`, `/house_rules/KEY`, `/reasons/KEY`, `/name`,
    `/version`, `/approved_by`, `/effective_on`.
    """
    agency = require_sop_editor(person)
    errors: list[DocumentError] = []
    name = _line(draft.name, "/name", 120, "a name", errors)
    version = _line(draft.version, "/version", 40, "a version", errors)
    approved = _line(draft.approved_by, "/approved_by", 120, "who approved it", errors)
    today = at.astimezone(ZoneInfo(agency.time_zone)).date()
    if draft.effective_on < today:
        day = f"{today:%Y-%m-%d} or later: nothing was in force before it was written"
        errors.append(DocumentError("/effective_on", str(draft.effective_on), day))
    if agency.sop_profiles.filter(name=name, version=version).exists():
        errors.append(_taken(name, version))
    settled = _settled(draft, name, version, errors)
    if errors or settled is None:
        raise EntryRefusedError(tuple(errors))
    row = SopProfile(
        agency=agency,
        name=name,
        version=version,
        document=dumps(settled.document),
        house_rules=dumps(settled.house_rules),
        reasons=dumps(settled.reasons),
        approved_by=approved,
        effective_on=draft.effective_on,
        previous=draft.previous,
        created_at=at,
        created_by=person,
        author_name=person.shown_name,
    )
    row.sha256 = content_hash(row)
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as error:
        raise EntryRefusedError((_taken(name, version),)) from error
    return row


def settle(draft: Draft) -> Settled:
    """The draft with every value written out.

    Raises `EntryRefusedError` as `add_version` does, for what it sets.
    """
    errors: list[DocumentError] = []
    settled = _settled(draft, draft.name or "-", draft.version or "-", errors)
    if errors or settled is None:
        raise EntryRefusedError(tuple(errors))
    return settled


def require_usable(version: SopProfile, agency: Agency, at: datetime) -> None:
    """Refuse a version of another agency, one not yet in force and a withdrawn one."""
    if version.agency_id != agency.pk:
        raise NotAllowedError("This version is of another agency.")
    if SopWithdrawal.objects.filter(profile=version).exists():
        raise NotAllowedError(f"{version} was withdrawn.")
    if version.effective_on > at.astimezone(ZoneInfo(agency.time_zone)).date():
        day = f"{version.effective_on:%Y-%m-%d}"
        raise NotAllowedError(f"{version} is in force from {day} on, not before.")


def used_in(incident: Incident) -> set[int]:
    """The ids of the versions that the incident was ever judged by, from its log."""
    rows = incident.entries.filter(kind__in=(OPENING, AMENDMENT)).order_by("seq")
    records = [loads(body).get("sop") for body in rows.values_list("body", flat=True)]
    return {int(record["id"]) for record in records if record}


def approval_words(version: SopProfile | None) -> str:
    """Who approved it and since when it is in force; "" for the built-in limits."""
    if version is None:
        return ""
    by = f"approved by {version.approved_by}, " if version.approved_by else ""
    return f"{by}in force from {version.effective_on:%Y-%m-%d}"


def change_words(body: Mapping[str, Any]) -> str:
    """What the record of a change of the version says."""
    before, after = body["sop_before"], body["sop"] or BUILT_IN
    old, new = (f"{one['name']}, version {one['version']}" for one in (before, after))
    return f"Limits changed from {old}, to {new}"


def document_of(version: SopProfile | None) -> dict[str, Any]:
    """The worksheet's profile object for a version; for None, that of the defaults."""
    if version is None:
        return dict(BUILT_IN)
    document: dict[str, Any] = loads(version.document)
    return document


def withdraw_version(
    *, version: SopProfile, person: Person, at: datetime, reason: str
) -> SopWithdrawal:
    """Take a version from use for new incidents; it stays to be read."""
    agency = require_sop_editor(person)
    if version.agency_id != agency.pk:
        raise NotAllowedError("This version is of another agency.")
    why = typed(reason, "/reason", longest=LONGEST_REASON, needed="why it is withdrawn")
    if SopWithdrawal.objects.filter(profile=version).exists():
        raise NotAllowedError("This version is withdrawn already.")
    return SopWithdrawal.objects.create(
        profile=version, at=at, by=person, by_name=person.shown_name, reason=why
    )


def content(version: SopProfile) -> bytes:
    """The bytes that a version's hash is over, RFC 8785; they hold the one before."""
    previous = version.previous
    return rfc8785.dumps(
        {
            "v": _CONTENT_VERSION,
            "agency": version.agency_id,
            "name": version.name,
            "version": version.version,
            "document": version.document,
            "house_rules": version.house_rules,
            "reasons": version.reasons,
            "approved_by": version.approved_by,
            "effective_on": version.effective_on.isoformat(),
            "created_at": utc_text(version.created_at),
            "author": version.author_name,
            "previous": previous.sha256 if previous else NO_HASH,
        }
    )


def content_hash(version: SopProfile) -> str:
    return hashlib.sha256(content(version)).hexdigest()


def record_of(version: SopProfile | None) -> dict[str, Any] | None:
    """What the log of an incident keeps of its version beside the limits themselves."""
    if version is None:
        return None
    return {
        "id": version.pk,
        "name": version.name,
        "version": version.version,
        "sha256": version.sha256 or content_hash(version),
        "approved_by": version.approved_by,
        "effective_on": version.effective_on.isoformat(),
        "reasons": loads(version.reasons),
        "house_rules": loads(version.house_rules),
    }


def _settled(
    draft: Draft, name: str, version: str, errors: list[DocumentError]
) -> Settled | None:
    document: dict[str, Any] = {
        "name": name or "-",
        "version": version or "-",
        "limits": _written_out(draft.limits, in_engine=True),
    }
    if draft.paper_chart is not None:
        document["paper_chart"] = dict(draft.paper_chart)
    house = _written_out(draft.house_rules, in_engine=False)
    profile = _read(document, errors)
    values = _house_values(house, errors)
    if profile is None or values is None:
        return None
    reasons = _reasons({**profile.limits, **values}, draft.reasons, errors)
    return Settled(document=document, house_rules=house, reasons=reasons)


def _written_out(given: Mapping[str, Any], *, in_engine: bool) -> dict[str, Any]:
    """Every value of one kind in the order of the table; unknown ones at the end."""
    written = {
        key: given[key] if key in given else item.default_raw()
        for key, item in ITEMS.items()
        if item.in_engine is in_engine
    }
    known = {key: raw for key, raw in written.items() if raw is not None}
    return known | {key: raw for key, raw in given.items() if key not in written}


def _read(document: dict[str, Any], errors: list[DocumentError]) -> Profile | None:
    try:
        return parse_profile(load_json(dumps(document)))
    except TypeError as error:
        errors.append(DocumentError("", "", str(error)))
    except WorksheetErrors as error:
        errors += error.errors
    return None


def _house_values(
    document: Mapping[str, Any], errors: list[DocumentError]
) -> dict[str, Decimal] | None:
    values: dict[str, Decimal] = {}
    before = len(errors)
    for key, raw in document.items():
        rule = HOUSE_RULES.get(key)
        try:
            if rule is None:
                raise ValueError("only keys of the table of house rules")
            value = rule.canonical(raw["value"], raw["unit"])
            if not rule.low <= value <= rule.high:
                low, high = rule.words(rule.low), rule.words(rule.high)
                raise ValueError(f"from {low} to {high}")
        except ValueError as error:
            errors.append(DocumentError(f"/house_rules/{key}", "", str(error)))
        else:
            values[key] = value
    for low, high in HOUSE_ORDERED:
        if low in values and high in values and values[low] >= values[high]:
            words = f"below {high}, which is {HOUSE_RULES[high].words(values[high])}"
            errors.append(DocumentError(f"/house_rules/{low}", "", words))
    return values if len(errors) == before else None


def looser_items(values: Mapping[str, Decimal]) -> Mapping[str, Item]:
    """The rows whose value is looser than its published source."""
    return MappingProxyType(
        {key: item for key, item in ITEMS.items() if item.is_looser(values.get(key))}
    )


def _reasons(
    values: Mapping[str, Decimal],
    given: Mapping[str, str],
    errors: list[DocumentError],
) -> dict[str, str]:
    """The reason for each looser value; one for any other is dropped."""
    reasons = {}
    for key, item in looser_items(values).items():
        pointer = f"/reasons/{key}"
        words = f"why {item.words(values[key])} is looser than {item.default_words}"
        reason = _line(given.get(key, ""), pointer, LONGEST_REASON, words, errors)
        reasons[key] = reason
    return reasons


def _line(
    text: str, pointer: str, longest: int, needed: str, errors: list[DocumentError]
) -> str:
    try:
        line = clean_text(text, max_length=longest, one_line=True)
    except ValueError as error:
        errors.append(DocumentError(pointer, "", str(error)))
        return ""
    if not line:
        errors.append(DocumentError(pointer, "", needed))
    return line


def _taken(name: str, version: str) -> DocumentError:
    words = f"a version that {name} does not have yet"
    return DocumentError("/version", version, words)


def next_version(agency: Agency, name: str) -> str:
    """The number after the highest; "1" where no version has a number."""
    taken = agency.sop_profiles.filter(name=name).values_list("version", flat=True)
    numbers = [int(each) for each in taken if each.isascii() and each.isdigit()]
    return str(max(numbers, default=0) + 1)
