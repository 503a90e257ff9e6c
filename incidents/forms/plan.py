"""A form for each part of the plan, made from the questions that the part asks."""

import re
import uuid
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from command.parts import Part
from command.questions import UNKNOWN, Amount, Kind, Point, Question, questions_of
from incidents.clock_times import NotATimeError, nearest_time, time_of_day
from incidents.forms.fields import Choices, DecimalText, OneOf, PlainForm, PlainText
from incidents.text import strict_decimal

# More than these are a list to pull down.
MOST_BUTTONS: Final = 5
LONGEST_LINE: Final = 200
LONGEST_NOTE: Final = 4_000
# Fields that hold a name: those checked in are offered.
NAMES: Final = frozenset(
    {"name", "speaker", "by", "first_look_by", "briefed_by", "who"}
)
_DAY_AND_TIME: Final = re.compile(
    r"(\d{4}-\d\d-\d\d)[ T](\d\d?[:.]\d\d|\d{4})", re.ASCII
)
_UNIT_LABELS: Final = {"degC": "°C", "degF": "°F", "knot": "knots"}


class MomentText(PlainText):
    """A time as people write it: 14:02 is the one nearest to now; a day may stand before."""

    def __init__(self, *, now: datetime, zone: ZoneInfo, **kwargs: Any) -> None:
        self.now, self.zone = now, zone
        kwargs.setdefault("help_text", "Such as 14:02.")
        super().__init__(longest=20, **kwargs)

    def to_python(self, value: Any) -> str:
        text = super().to_python(value)
        if not text:
            return ""
        return self._moment(text).isoformat()

    def _moment(self, text: str) -> datetime:
        dated = _DAY_AND_TIME.fullmatch(text)
        try:
            if dated is None:
                return nearest_time(text, self.now, self.zone)
            day = date.fromisoformat(dated[1])
            return datetime.combine(day, time_of_day(dated[2]), tzinfo=self.zone)
        except (NotATimeError, ValueError) as error:
            raise ValidationError(
                f"“{text}” is not a time. Write it as 14:02 or 2026-05-12 14:02."
            ) from error


class NamesText(PlainText):
    """Names, one to a line."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(longest=LONGEST_NOTE, one_line=False, **kwargs)

    def to_python(self, value: Any) -> list[str]:  # type: ignore[override]
        lines = super().to_python(value).split("\n")
        return [" ".join(line.split()) for line in lines if line.strip()]


class PointsText(PlainText):
    """Corners, one to a line: latitude, longitude."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(longest=LONGEST_NOTE, one_line=False, **kwargs)

    def to_python(self, value: Any) -> list[dict[str, Decimal]]:  # type: ignore[override]
        found = []
        text = super().to_python(value)
        for number, line in enumerate(text.split("\n"), 1):
            if not line.strip():
                continue
            try:
                latitude, longitude = re.split(r"\s*[,;\s]\s*", line.strip())
                found.append(
                    {
                        "latitude": strict_decimal(latitude),
                        "longitude": strict_decimal(longitude),
                    }
                )
            except ValueError as error:
                raise ValidationError(
                    f"Line {number}: write latitude and longitude, such as 45.123, -88.456."
                ) from error
        return found


class PartForm(PlainForm):
    """One record of one part. `stands` is the record that the writer has before them."""

    client_uuid = forms.UUIDField(widget=forms.HiddenInput, required=False)
    based_on = forms.IntegerField(widget=forms.HiddenInput, required=False)
    item = forms.CharField(
        widget=forms.HiddenInput, required=False, max_length=LONGEST_LINE
    )

    def __init__(
        self,
        data: Any = None,
        *,
        part: Part,
        now: datetime,
        zone: ZoneInfo,
        start: Mapping[str, Any],
        based_on: int | None = None,
        item: str = "",
        people: Iterable[str] = (),
        listeners: Choices = (),
    ) -> None:
        self.part, self.now, self.zone = part, now, zone
        self.people = tuple(people)
        self.questions = dict(questions_of(part.shape))
        hidden = {"client_uuid": uuid.uuid4(), "based_on": based_on, "item": item}
        super().__init__(data, initial={**hidden, **self._initial(start)})
        for name, question in self.questions.items():
            for key, field in self._fields(name, question, listeners):
                self.fields[key] = field
        if part.kept and part.key != "override":
            self.fields["holds_from"] = MomentText(
                now=now,
                zone=zone,
                required=False,
                label="At another time",
                help_text="Such as 14:02. Empty means now.",
            )

    # What the form starts with

    def _initial(self, start: Mapping[str, Any]) -> dict[str, Any]:
        initial: dict[str, Any] = {}
        for name, value in start.items():
            match value:
                case Amount():
                    initial[name] = f"{value.value:f}"
                    initial[f"{name}_unit"] = value.unit
                case datetime():
                    initial[name] = self._time_text(value)
                case Decimal():
                    initial[name] = f"{value:f}"
                case tuple():
                    initial[name] = self._lines(value)
                case _:
                    known = self.questions[name].kind is not Kind.ANSWER
                    initial[name] = value if known or value != UNKNOWN else ""
        return initial

    @staticmethod
    def _lines(values: tuple[Any, ...]) -> Any:
        if any(isinstance(each, Point) for each in values):
            return "\n".join(f"{p.latitude:f}, {p.longitude:f}" for p in values)
        return list(values)

    def _time_text(self, moment: datetime) -> str:
        here = moment.astimezone(self.zone)
        near = abs(moment - self.now) < timedelta(hours=11)
        return f"{here:%H:%M}" if near else f"{here:%Y-%m-%d %H:%M}"

    # Its fields

    def _fields(
        self, name: str, question: Question, listeners: Choices
    ) -> Iterable[tuple[str, forms.Field]]:
        about: dict[str, Any] = {
            "label": question.label,
            "help_text": question.help,
            "required": question.required,
        }
        match question.kind:
            case Kind.AMOUNT:
                yield name, DecimalText(**about)
                yield f"{name}_unit", _units(question)
            case Kind.NUMBER:
                yield name, DecimalText(**about)
            case Kind.CHOICE:
                yield name, _choice(question, about)
            case Kind.MOMENT:
                if not question.help:
                    del about["help_text"]
                yield name, MomentText(now=self.now, zone=self.zone, **about)
            case Kind.NAMES:
                if listeners:
                    yield name, _several(question, listeners)
                yield (
                    f"{name}_more" if listeners else name,
                    NamesText(
                        required=question.required and not listeners,
                        label="And others, one to a line"
                        if listeners
                        else question.label,
                    ),
                )
            case Kind.POINTS:
                yield name, PointsText(**about)
            case Kind.NOTE:
                yield name, PlainText(longest=LONGEST_NOTE, one_line=False, **about)
            case _:
                field = PlainText(longest=LONGEST_LINE, **about)
                if question.required:
                    field.error_messages["required"] = f"{question.label}: say it."
                if name in NAMES and self.people:
                    field.widget.attrs["list"] = "people"
                if question.kind is Kind.ANSWER:
                    field.widget.attrs["placeholder"] = UNKNOWN
                yield name, field

    # What it says

    def says(self) -> dict[str, Any]:
        """The answers as the record holds them; what was not said is left out."""
        cleaned = self.cleaned_data
        said: dict[str, Any] = {}
        for name, question in self.questions.items():
            value = cleaned.get(name)
            if question.kind is Kind.NAMES:
                more = cleaned.get(f"{name}_more", [])
                value = list(dict.fromkeys([*(value or []), *more]))
            if question.kind is Kind.AMOUNT and value is not None:
                value = {"value": value, "unit": cleaned[f"{name}_unit"]}
            if value not in (None, "", []):
                said[name] = value
        return said

    def holds_from(self) -> datetime | None:
        text = self.cleaned_data.get("holds_from")
        return datetime.fromisoformat(text) if text else None

    def refuse(self, pointer: str, expected: str) -> None:
        """Put a refusal of the record beside the field that it is about."""
        steps = pointer.strip("/").split("/")
        name = steps[1] if steps[0] == "says" and len(steps) > 1 else steps[0]
        name = "holds_from" if name == "at" else name
        words = f"Not taken: expected {expected}."
        if name in self.fields and not self.fields[name].widget.is_hidden:
            self.add_error(name, words)
        else:
            self.add_error(None, words)

    def rows(self) -> list[tuple[str, Any, Any]]:
        """(template, field, its unit) in the order of asking."""
        found = []
        for name, field in self.fields.items():
            if field.widget.is_hidden or name.endswith("_unit"):
                continue
            unit = self[f"{name}_unit"] if f"{name}_unit" in self.fields else None
            widget = field.widget
            if unit is not None:
                template = "forms/measure.html"
            elif isinstance(widget, (forms.RadioSelect, forms.CheckboxSelectMultiple)):
                template = "forms/choices.html"
            else:
                template = "forms/text.html"
            found.append((template, self[name], unit))
        return found


def _units(question: Question) -> forms.ChoiceField:
    return forms.ChoiceField(
        choices=[(unit, _UNIT_LABELS.get(unit, unit)) for unit in question.units],
        required=False,
        label=f"Unit of {question.label.lower()}",
    )


def _choice(question: Question, about: dict[str, Any]) -> forms.ChoiceField:
    options = list(question.options.items())
    if len(options) > MOST_BUTTONS:
        field = forms.ChoiceField(choices=[("", "Choose"), *options], **about)
        field.error_messages["required"] = f"{question.label}: choose one."
        return field
    if not question.required:
        options.append(("", "Not said"))
    return OneOf(options, missing=f"{question.label}: choose one.", **about)


def _several(question: Question, offered: Choices) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        choices=list(offered),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=question.label,
    )


class TakeOutForm(PlainForm):
    """An item that is taken out: why, so that the log can say it."""

    take_out = PlainText(longest=500, label="Why it is taken out")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.fields["take_out"].error_messages["required"] = "Say why it is taken out."


class CheckInForm(PlainForm):
    """Those who are named in a team and not checked in, at once."""

    arrived = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        label="Named in a team, not checked in",
        error_messages={"required": "Choose who has arrived."},
    )

    def __init__(self, data: Any = None, *, names: Iterable[str]) -> None:
        super().__init__(data)
        arrived = self.fields["arrived"]
        assert isinstance(arrived, forms.MultipleChoiceField)
        arrived.choices = [(name, name) for name in names]
