"""Fields that let in only what can be stored, printed and hashed (`incidents.text`)."""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dateparse import parse_datetime

from incidents.clock_times import AHEAD, OLDEST, NotATimeError, clock_time
from incidents.text import clean_text, strict_decimal

Choices = Sequence[tuple[str, str]]


class DecimalText(forms.CharField):
    """A number as it was typed, its digits kept; comma and point are both read."""

    def __init__(
        self,
        *,
        low: Decimal | int | None = None,
        high: Decimal | int | None = None,
        **kwargs: Any,
    ) -> None:
        self.low, self.high = low, high
        kwargs.setdefault(
            "widget",
            forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        )
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        text = super().to_python(value)
        if not text:
            return None
        try:
            number = strict_decimal(text)
        except ValueError as error:
            raise ValidationError(f"“{text[:30]}” is not a number. {error}") from error
        if self.low is not None and number < self.low:
            raise ValidationError(f"{text} is too low. Enter {self.low} or more.")
        if self.high is not None and number > self.high:
            raise ValidationError(f"{text} is too high. Enter {self.high} or less.")
        return number


class PlainText(forms.CharField):
    """Text that every database keeps and every report prints."""

    def __init__(
        self, *, longest: int = 200, one_line: bool = True, **kwargs: Any
    ) -> None:
        self.longest, self.one_line = longest, one_line
        kwargs.setdefault(
            "widget",
            forms.TextInput(attrs={"autocomplete": "off"})
            if one_line
            else forms.Textarea(attrs={"rows": 3}),
        )
        super().__init__(strip=False, **kwargs)

    def to_python(self, value: Any) -> str:
        text = super().to_python(value) or ""
        try:
            return clean_text(text, max_length=self.longest, one_line=self.one_line)
        except ValueError as error:
            raise ValidationError(str(error)) from error


class OneOf(forms.ChoiceField):
    """One of a few; shown as buttons, so `missing` says what to press."""

    def __init__(
        self, choices: Choices = (), *, missing: str = "", **kwargs: Any
    ) -> None:
        kwargs.setdefault("widget", forms.RadioSelect)
        messages = {
            "required": missing or "Choose one.",
            "invalid_choice": "Choose one of those shown.",
        }
        super().__init__(choices=choices, error_messages=messages, **kwargs)


class DayField(forms.DateField):
    """A day, as the browser's own calendar sends it."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault(
            "widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        )
        super().__init__(
            input_formats=["%Y-%m-%d"],
            error_messages={"invalid": "Write the day as 2026-03-04."},
            **kwargs,
        )

    def to_python(self, value: Any) -> date | None:
        day = super().to_python(value)
        if day is not None and not 1990 <= day.year <= 2100:
            raise ValidationError(f"{day} is too far from now.")
        return day


def device_time(text: str, now: datetime) -> datetime | None:
    """A device's own time, already corrected by ours; None where it cannot be.

    Then the time of arrival counts, which a repeat does not change.
    """
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None
    if moment is None or moment.tzinfo is None:
        return None
    return moment if now - OLDEST <= moment <= now + AHEAD else None


def time_said(text: str, now: datetime, zone: ZoneInfo) -> datetime:
    """A time of day as it was typed, as a moment. Raises `ValidationError`."""
    try:
        return clock_time(text, now, zone)
    except NotATimeError as error:
        raise ValidationError(str(error)) from error


class PlainForm(forms.Form):
    """Errors of a plain form, with where each one leads."""

    use_required_attribute = False

    def error_links(self) -> list[tuple[str, str]]:
        """Pairs of the id to go to and the words, in the order of the fields."""
        links = [("", str(message)) for message in self.non_field_errors()]
        for name in self.fields:
            field = self[name]
            target = field.auto_id or ""
            if field.use_fieldset:
                target += "_0"
            links += [(target, str(message)) for message in field.errors]
        return links
