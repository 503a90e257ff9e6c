"""A new version of the SOP: every limit with its unit, and a reason where it is looser.

Each row of `incidents.sop_table` has three fields: `limit_KEY`, `unit_KEY`, `why_KEY`.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from incidents.forms.fields import DecimalText, PlainForm, PlainText
from incidents.selectors.profiles import as_written
from incidents.services import EntryRefusedError
from incidents.services.profiles import LONGEST_REASON, Draft, settle
from incidents.sop_table import ITEMS, PAIRS, SECTIONS, Item
from incidents.text import strict_decimal
from screening.worksheet import DocumentError

LARGEST_FILE: Final = 200_000  # bytes; every limit written out takes some 2,000
LONGEST_CHART: Final = 4_000
_KEYS: Final = re.compile("|".join(sorted(ITEMS, key=len, reverse=True)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """What the form begins with, and what "changed" is measured against.

    `raws` are as documents hold them; `typed` stands in their place where a file gave
    other values.
    """

    raws: Mapping[str, Any]
    reasons: Mapping[str, str] = field(default_factory=dict)
    chart: Mapping[str, tuple[Decimal, Decimal]] = field(default_factory=dict)
    typed: Mapping[str, Any] | None = None
    typed_chart: Mapping[str, tuple[Decimal, Decimal]] | None = None
    name: str = ""
    version: str = ""
    today: date

    def initial(self) -> dict[str, Any]:
        chart = self.chart if self.typed_chart is None else self.typed_chart
        found: dict[str, Any] = {
            "name": self.name,
            "version": self.version,
            "effective_on": self.today,
            "paper_chart": chart_text(chart),
        }
        raws = self.raws if self.typed is None else self.typed
        for key, item in ITEMS.items():
            raw = raws.get(key)
            found[f"why_{key}"] = self.reasons.get(key, "")
            if raw is not None:
                figure, found[f"unit_{key}"] = item.typed(raw)
                found[f"limit_{key}"] = f"{figure:f}"
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """One row of the form, with what is to be said of it now."""

    item: Item
    figure: BoundField
    unit: BoundField
    why: BoundField
    changed: bool
    was_words: str  # of the version before
    looser: bool

    @property
    def has_units(self) -> bool:
        return len(self.unit.field.choices) > 1  # type: ignore[attr-defined]

    @property
    def unit_words(self) -> str:
        return str(self.unit.field.choices[0][1])  # type: ignore[attr-defined]

    @property
    def wrong(self) -> bool:
        return bool(self.figure.errors or self.unit.errors or self.why.errors)


class ChartField(forms.CharField):
    """Lines of `colour, lowest pH, highest pH`; gives {colour: [low, high]}."""

    def to_python(self, value: Any) -> dict[str, list[Decimal]]:  # type: ignore[override]
        text = super().to_python(value) or ""
        if len(text) > LONGEST_CHART:
            raise ValidationError(f"At most {LONGEST_CHART} characters are kept.")
        chart: dict[str, list[Decimal]] = {}
        wrong = []
        for number, line in enumerate(text.splitlines(), 1):
            if not line.strip():
                continue
            colour, *figures = (part.strip() for part in line.split(","))
            try:
                low, high = (strict_decimal(figure) for figure in figures)
            except ValueError:
                wrong.append(
                    ValidationError(
                        f"Line {number}: write a colour, its lowest and its highest pH, "
                        "such as amber, 3, 4.5."
                    )
                )
                continue
            if colour in chart:
                wrong.append(ValidationError(f"Line {number}: {colour} stands twice."))
            chart[colour] = [low, high]
        if wrong:
            raise ValidationError(wrong)
        return chart


def chart_text(chart: Mapping[str, Any]) -> str:
    return "\n".join(f"{colour}, {a:f}, {b:f}" for colour, (a, b) in chart.items())


class VersionForm(PlainForm):
    """Everything that a version holds. Valid, it has a `draft` that can be kept."""

    name = PlainText(
        longest=120,
        label="Name of the SOP",
        help_text="The same name makes it a new version of it.",
    )
    version = PlainText(longest=40, label="Version")
    approved_by = PlainText(
        longest=120,
        label="Approved by",
        help_text="Who answers for these limits in your agency. It stands on every report.",
    )
    effective_on = forms.DateField(
        label="In force from",
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"autocomplete": "off"}),
        help_text="Year, month and day, such as 2026-06-01.",
        error_messages={
            "required": "Enter the day from which it is in force.",
            "invalid": "Enter a day such as 2026-06-01.",
        },
    )
    paper_chart = ChartField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 8, "autocomplete": "off"}),
        label="pH by the colour of your paper",
        help_text=(
            "One colour to a line: its name, the lowest and the highest pH it can mean, "
            "such as amber, 3, 4.5. Empty for the common chart."
        ),
    )

    def __init__(self, data: Any = None, *, start: Start) -> None:
        super().__init__(data, initial=start.initial())
        self.start = start
        self.raws: dict[str, Any] = {}  # what was typed and could be read
        for field_name, words in (
            ("name", "Give the SOP a name."),
            ("version", "Give the version a number or a name."),
            ("approved_by", "Enter who approved these limits."),
        ):
            self.fields[field_name].error_messages["required"] = words
        for item in ITEMS.values():
            self._add_fields(item)

    def _add_fields(self, item: Item) -> None:
        key = item.key
        self.fields[f"limit_{key}"] = DecimalText(
            required=False,
            label=item.label,
            help_text=(
                f"Default {item.default_words}; {item.direction}. "
                f"Source: {item.source}."
            ),
        )
        self.fields[f"unit_{key}"] = forms.ChoiceField(
            choices=self._units(item), required=False, label=f"Unit of {item.label}"
        )
        self.fields[f"why_{key}"] = PlainText(
            required=False,
            longest=LONGEST_REASON,
            label=f"Why it is looser: {item.label}",
        )

    def _units(self, item: Item) -> list[tuple[str, str]]:
        """Those of the table, and one more that was typed elsewhere and converts."""
        name = f"unit_{item.key}"
        given = {str(self.initial.get(name, ""))}
        if self.is_bound:
            given.add(str(self.data.get(name, "")))
        more = sorted(given - {"", *dict(item.units)})
        return [*item.units, *((one, one) for one in more if item.takes_unit(one))]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for key, item in ITEMS.items():
            figure = cleaned.get(f"limit_{key}")
            unit = cleaned.get(f"unit_{key}") or item.units[0][0]
            if figure is not None and f"unit_{key}" not in self.errors:
                self.raws[key] = item.raw(figure, unit)
        unread = {key for key in ITEMS if self._is_wrong(key)}
        try:
            settle(self.draft())
        except EntryRefusedError as refusal:
            # Of a pair out of order it is said below, at the one that was changed.
            errors = [one for one in refusal.errors if not _KEYS.search(one.expected)]
            self._place(errors, unread)
        self._check_order()
        return cleaned

    def draft(self) -> Draft:
        """What was typed, as far as it could be read."""
        cleaned = self.cleaned_data
        return Draft(
            name=cleaned.get("name", ""),
            version=cleaned.get("version", ""),
            approved_by=cleaned.get("approved_by", ""),
            effective_on=cleaned.get("effective_on") or self.start.today,
            limits={k: raw for k, raw in self.raws.items() if ITEMS[k].in_engine},
            house_rules={
                k: raw for k, raw in self.raws.items() if not ITEMS[k].in_engine
            },
            paper_chart=cleaned.get("paper_chart") or None,
            reasons={key: cleaned.get(f"why_{key}", "") for key in ITEMS},
        )

    def settled_raws(self) -> dict[str, Any]:
        """What the version would hold: what was typed, and the defaults of the rest."""
        raws = {key: self.raws.get(key, ITEMS[key].default_raw()) for key in ITEMS}
        return {key: raw for key, raw in raws.items() if raw is not None}

    def place(self, errors: tuple[DocumentError, ...]) -> None:
        """Say each error of the service at its field."""
        self._place(errors, set())

    def _place(self, errors: Iterable[DocumentError], unread: set[str]) -> None:
        for error in errors:
            name = _field_of(error.pointer)
            if name.partition("_")[2] in unread:
                continue  # a default stood in for what could not be read
            if name and self.errors.get(name):
                continue
            self.add_error(name or None, _sentence(error, name))

    def _check_order(self) -> None:
        """Said at the one of a pair that was changed, else at the lower."""
        raws = self.settled_raws()
        unread = {key for key in ITEMS if self._is_wrong(key)}
        for low, high, may_be_equal in PAIRS:
            if {low, high} & unread or low not in raws or high not in raws:
                continue
            below, above = (ITEMS[key].canonical(raws[key]) for key in (low, high))
            if below < above or (may_be_equal and below == above):
                continue
            at, other = (low, high) if self._changed(low) else (high, low)
            if not self._changed(at):
                at, other = low, high
            relation = (
                ("at most" if at == low else "at least")
                if may_be_equal
                else ("below" if at == low else "above")
            )
            words = ITEMS[other].words(ITEMS[other].canonical(raws[other]))
            self.add_error(
                f"limit_{at}", f"Enter {relation} {words}, “{ITEMS[other].label}”."
            )

    def _is_wrong(self, key: str) -> bool:
        return f"limit_{key}" in self.errors or f"unit_{key}" in self.errors

    def _changed(self, key: str) -> bool:
        item, was = ITEMS[key], self.start.raws.get(key)
        now = self.settled_raws().get(key) if self.is_bound else self._initial_raw(key)
        if was is None or now is None:
            return was is not now
        return item.canonical(was) != item.canonical(now)

    def _initial_raw(self, key: str) -> Any:
        typed = self.start.raws if self.start.typed is None else self.start.typed
        return typed.get(key)

    def row(self, key: str) -> LimitRow:
        item = ITEMS[key]
        raw = self.settled_raws().get(key) if self.is_bound else self._initial_raw(key)
        return LimitRow(
            item=item,
            figure=self[f"limit_{key}"],
            unit=self[f"unit_{key}"],
            why=self[f"why_{key}"],
            changed=self._changed(key),
            was_words=as_written(item, self.start.raws.get(key)),
            looser=raw is not None and item.is_looser(item.canonical(raw)),
        )

    def sections(self) -> Iterator[tuple[str, list[LimitRow]]]:
        for name, items in SECTIONS.items():
            yield name, [self.row(item.key) for item in items]

    def typed(self) -> list[tuple[str, str]]:
        """Every field as it was sent, to be sent again."""
        return [(name, self.data.get(name, "")) for name in self.fields]


def _field_of(pointer: str) -> str:
    part, _, rest = pointer.removeprefix("/").partition("/")
    key = rest.partition("/")[0]
    if part in ("limits", "house_rules") and key in ITEMS:
        unit = rest.endswith("/unit")
        return f"unit_{key}" if unit else f"limit_{key}"
    if part == "reasons" and key in ITEMS:
        return f"why_{key}"
    return part if part in VersionForm.base_fields else ""


def _sentence(error: DocumentError, name: str) -> str:
    """The engine's words for a form: labels in place of keys."""
    words = _KEYS.sub(lambda found: f"“{ITEMS[found[0]].label}”", error.expected)
    if name.startswith("why_"):
        return f"Say {words}."
    where = "" if name else f"{error.pointer}: "
    if name == "paper_chart":
        where = f"{error.pointer.rpartition('/')[2]}: "
    return f"{where}Enter {words}."


class ImportForm(PlainForm):
    """A profile as the engine's command takes it: a file, or its text."""

    file = forms.FileField(required=False, label="File")
    text = forms.CharField(
        required=False,
        strip=False,
        max_length=LARGEST_FILE,
        widget=forms.Textarea(attrs={"rows": 10, "autocomplete": "off"}),
        label="Or its text",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        file = cleaned.get("file")
        if file is not None and file.size > LARGEST_FILE:
            self.add_error("file", "The file is too large for a profile.")
        if file is None and not cleaned.get("text", "").strip():
            self.add_error("file", "Choose a file, or enter its text.")
        return cleaned

    def content(self) -> bytes:
        file = self.cleaned_data.get("file")
        if file is not None:
            found: bytes = file.read()
            return found
        return str(self.cleaned_data["text"]).encode()


class WithdrawForm(PlainForm):
    reason = PlainText(
        longest=LONGEST_REASON, one_line=False, label="Why it is withdrawn"
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.fields["reason"].error_messages["required"] = "Say why it is withdrawn."


class ChangeForm(PlainForm):
    """The commander's reason for other limits; `seen` is the version in use then."""

    seen = forms.CharField(required=False, max_length=20)
    reason = PlainText(longest=2000, one_line=False, label="Why the limits are changed")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.fields["reason"].error_messages["required"] = (
            "Say why the limits are changed."
        )
