"""What to look for in the archive: every filter stands in the address."""

from collections.abc import Sequence
from datetime import date
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import ValidationError

from incidents.forms.fields import DayField, PlainForm, PlainText
from incidents.models import SopProfile
from incidents.selectors import Wanted
from screening.rules import RULES
from screening.verdicts import Action, Hazard

LONGEST: Final = 200
ANY: Final = ("", "any")
BY: Final = (("year", "year"), ("rule", "rule"), ("place", "place"))


class _Day(DayField):
    """A day of an incident; any that a calendar has."""

    def to_python(self, value: Any) -> date | None:
        return forms.DateField.to_python(self, value)


class _Pick(forms.ChoiceField):
    """One of a list, or any."""

    def __init__(self, choices: Sequence[tuple[str, str]], label: str) -> None:
        super().__init__(
            choices=[ANY, *choices],
            label=label,
            required=False,
            error_messages={"invalid_choice": f"{label}: choose one of the list."},
        )


def _text(label: str, help_text: str = "") -> PlainText:
    return PlainText(required=False, longest=LONGEST, label=label, help_text=help_text)


def _rules() -> list[tuple[str, str]]:
    """Each rule once by its number; two may share one."""
    titles: dict[int, list[str]] = {}
    for rule in RULES:
        titles.setdefault(rule.number, []).append(rule.title)
    return [
        (str(number), f"{number}: {'; '.join(titles[number])}") for number in titles
    ]


class ArchiveForm(PlainForm):
    """The filters; `wanted` of a valid form is what a selector takes."""

    text = _text(
        "Any words",
        "Names, places, notes, people, a day as 2025-06-30; parts of words will do",
    )
    place = _text("Place")
    substance = _text("Substance")
    person = _text("Person")
    hazard = _Pick([(one.value, one.label) for one in Hazard], "Hazard found")
    rule = _Pick(_rules(), "Rule that spoke")
    worst = _Pick([(str(one.value), one.label) for one in Action], "Worst verdict")
    since = _Day(required=False, label="Opened from")
    until = _Day(required=False, label="Opened until")

    def __init__(self, data: Any, *, editions: Sequence[SopProfile]) -> None:
        super().__init__(data)
        kept = [(str(one.pk), str(one)) for one in editions]
        self.fields["sop"] = _Pick([*kept, ("0", "Built-in limits")], "SOP edition")
        self.order_fields(
            ["text", "place", "substance", "person", "hazard", "rule", "worst", "sop"]
        )

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        since, until = found.get("since"), found.get("until")
        if since and until and until < since:
            raise ValidationError("Opened until is before opened from.")
        return found

    def wanted(self) -> Wanted:
        given = self.cleaned_data

        def number(name: str) -> int | None:
            return int(given[name]) if given[name] else None

        return Wanted(
            text=given["text"],
            place=given["place"],
            substance=given["substance"],
            person=given["person"],
            hazard=given["hazard"],
            rule=number("rule"),
            worst=number("worst"),
            sop=number("sop"),
            since=given["since"],
            until=given["until"],
        )

    @property
    def asked(self) -> dict[str, str]:
        """The filters that ask for something, as the address has them."""
        return {name: self.data[name] for name in self.fields if self.data.get(name)}

    @property
    def narrowed(self) -> bool:
        """Whether more is asked for than words."""
        return bool(self.asked.keys() - {"text"})

    def address(self, **more: Any) -> str:
        """A query string of the filters and whatever else stands; "" for none."""
        query = urlencode(self.asked | {key: one for key, one in more.items() if one})
        return f"?{query}" if query else ""
