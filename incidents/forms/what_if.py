"""What is to be otherwise: an edition of the SOP, one limit, what the teams wear."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from incidents.forms.fields import PlainForm, PlainText
from incidents.models import SopProfile
from incidents.selectors.profiles import as_written
from incidents.services.profiles import document_of
from incidents.sop_table import ITEMS, SECTIONS, Item
from incidents.text import strict_decimal
from review.what_if import Change
from review.what_if_document import read_limits
from screening.ensembles import Ensemble
from screening.worksheet import WorksheetErrors

BUILT_IN: Final = "0"
_FIGURE: Final = re.compile(r"(?:pH\s*)?([0-9.,\s]*[0-9])\s*(\D.*)?", re.IGNORECASE)


class WhatIfForm(PlainForm):
    """One edition, one limit, and what each team wore at the start; all may be left."""

    edition = forms.ChoiceField(required=False, label="Judged by")
    limit = forms.ChoiceField(
        required=False,
        label="With one limit changed",
        choices=[("", "No single limit changed")]
        + [
            (name, [(item.key, item.label) for item in items if item.in_engine])
            for name, items in SECTIONS.items()
            if any(item.in_engine for item in items)
        ],
    )
    value = PlainText(
        required=False,
        longest=60,
        label="To this value, with its unit",
        help_text="Such as 5 rem, 20 min, 8 %, pH 3.",
    )

    def __init__(
        self,
        data: Any = None,
        *,
        own: str,
        editions: Iterable[SopProfile],
        teams: Sequence[tuple[str, str, str]] = (),
    ) -> None:
        """`own` says what holds now; `teams` are ids, names and what they wear."""
        super().__init__(data)
        self.editions = {str(one.pk): one for one in editions}
        edition = self.fields["edition"]
        assert isinstance(edition, forms.ChoiceField)
        edition.choices = [
            ("", own),
            *((key, str(one)) for key, one in self.editions.items()),
            (BUILT_IN, "Built-in limits"),
        ]
        self.worn = {f"worn_{number}": team for number, team in enumerate(teams)}
        for name, (_, team, ensemble) in self.worn.items():
            as_it_was = f"As it was: {Ensemble(ensemble).label}"
            self.fields[name] = forms.ChoiceField(
                required=False,
                label=team,
                choices=[
                    ("", as_it_was),
                    *((e.value, e.label) for e in Ensemble if e.value != ensemble),
                ],
            )

    @property
    def worn_fields(self) -> list[BoundField]:
        return [self[name] for name in self.worn]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = self.cleaned_data
        key, text = cleaned.get("limit", ""), cleaned.get("value", "")
        if text and not key:
            self.add_error("limit", "Say which limit the value is for.")
        if key and not text and "value" not in self.errors:
            self.add_error("value", "Say the value, with its unit.")
        if key and text:
            try:
                cleaned["raw"] = raw_of(ITEMS[key], text)
            except ValidationError as error:
                self.add_error("value", error)
        if not self.errors:
            self._check_limits()
        return cleaned

    def _check_limits(self) -> None:
        document = self.document()
        try:
            if document is not None:
                read_limits(document)
        except WorksheetErrors as errors:
            for error in errors.errors:
                self.add_error("value", f"{error.value}: expected {error.expected}.")

    def document(self) -> dict[str, Any] | None:
        """The LIMITS.json of the edition and the limit; None where both are left."""
        edition, key = self.cleaned_data["edition"], self.cleaned_data["limit"]
        changed = {key: self.cleaned_data["raw"]} if key else {}
        if not edition:
            return changed or None
        document = document_of(self.editions.get(edition))
        if changed:
            limits: Mapping[str, Any] = document.get("limits", {})
            document["limits"] = {**limits, **changed}
        return document

    def change(self) -> Change:
        """All that is to be otherwise; equal to `Change()` where nothing is."""
        document = self.document()
        change = Change() if document is None else read_limits(document)
        worn = {
            team: self.cleaned_data[name]
            for name, (team, _, _) in self.worn.items()
            if self.cleaned_data[name]
        }
        return replace(change, ensembles=worn)

    def query(self) -> str:
        """The edition and the limit as an address has them."""
        asked = {
            name: self.cleaned_data[name] for name in ("edition", "limit", "value")
        }
        return urlencode({name: said for name, said in asked.items() if said})

    def words(self) -> str:
        """What is otherwise, in a line: "SOP, version 3; Turn-back dose: 5 rem"."""
        found = []
        edition, key = self.cleaned_data["edition"], self.cleaned_data["limit"]
        if edition:
            found.append(str(self.editions.get(edition) or "Built-in limits"))
        if key:
            item = ITEMS[key]
            written = as_written(item, self.cleaned_data["raw"])
            found.append(f"{item.label}: {written}")
        for name, (_, team, _) in self.worn.items():
            if self.cleaned_data[name]:
                worn = Ensemble(self.cleaned_data[name]).label
                found.append(f"{team} in {worn[0].lower()}{worn[1:]}")
        return "; ".join(found)


def raw_of(item: Item, text: str) -> Any:
    """What a document holds for a value typed with its unit. Raises `ValidationError`."""
    found = _FIGURE.fullmatch(text.strip())
    if found is None:
        raise ValidationError(
            f"“{text[:30]}” is no value. Write such as {_like(item)}."
        )
    try:
        value: Decimal = strict_decimal(found[1].strip())
    except ValueError as error:
        raise ValidationError(f"“{text[:30]}” is not a number. {error}") from error
    return item.raw(value, _unit(item, (found[2] or "").strip()))


def _unit(item: Item, typed: str) -> str:
    units = item.units
    if not typed and len(units) == 1:
        return units[0][0]
    for unit, words in units:
        if typed in (unit, words) or typed == words.split(" of ")[0]:
            return unit
    if typed and item.takes_unit(typed):
        return typed
    raise ValidationError(f"Write the value with its unit, such as {_like(item)}.")


def _like(item: Item) -> str:
    raw = item.default_raw()
    return as_written(item, raw) if raw is not None else f"100 {item.units[0][1]}"
