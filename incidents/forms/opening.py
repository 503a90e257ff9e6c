"""A new incident: what, where, which limits, and who goes in wearing what.

Members are typed one to a line, so that a list can be pasted:
`name, rated pressure, pressure now`; the pressures may be left out.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError

from incidents.forms.fields import Choices, DecimalText, PlainForm, PlainText
from incidents.forms.instruments import quantity
from incidents.text import strict_decimal, unique_key
from screening.ensembles import Ensemble
from screening.incident import MISSIONS, ROLES

TEAM_BLOCKS: Final = 4
MOST_MEMBERS: Final = 12
MISSION_LABELS: Final = {
    "rescue": "Rescue",
    "reconnaissance": "Reconnaissance",
    "product_control": "Product control",
    "other": "Other",
}
ROLE_LABELS: Final = {
    "entry": "Entry",
    "backup": "Backup",
    "decon": "Decon",
    "other": "Other",
}
ENSEMBLES: Final = tuple((e.value, e.label) for e in Ensemble)


# A member of a team as typed: name, rated pressure, pressure now, own ensemble or "".
MemberLine = tuple[str, Decimal | None, Decimal | None, str]
# What a scribe writes of one who wears something else than the team.
_OWN: Final = {
    **{label.split(",")[0].casefold(): value for value, label in ENSEMBLES},
    "turnout": Ensemble.TURNOUT_SCBA.value,
}


class MembersField(forms.CharField):
    """Lines of `name, rated pressure, pressure now, own ensemble`; gives `MemberLine`s."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            widget=forms.Textarea(attrs={"rows": 3}), strip=False, **kwargs
        )

    def to_python(self, value: Any) -> list[MemberLine]:  # type: ignore[override]
        text = PlainText(longest=2000, one_line=False, required=False).clean(
            value or ""
        )
        lines = [
            (n, line) for n, line in enumerate(text.split("\n"), 1) if line.strip()
        ]
        if len(lines) > MOST_MEMBERS:
            raise ValidationError(f"At most {MOST_MEMBERS} people to a team.")
        members, wrong = [], []
        for number, line in lines:
            try:
                members.append(self._member(line))
            except ValueError as error:
                wrong.append(ValidationError(f"Line {number}: {error}"))
        names = [name for name, *_ in members]
        doubled = {name for name in names if names.count(name) > 1}
        wrong += [
            ValidationError(f"“{name}” stands twice.") for name in sorted(doubled)
        ]
        if wrong:
            raise ValidationError(wrong)
        return members

    @staticmethod
    def _member(line: str) -> MemberLine:
        name, *figures = (part.strip() for part in line.split(","))
        own = ""
        if figures and (own := _OWN.get(figures[-1].casefold(), "")):
            figures.pop()
        if not name or len(name) > 60:
            raise ValueError("a name of at most 60 letters comes first.")
        if len(figures) > 2:
            raise ValueError("write a name, the rated pressure and the pressure now.")
        numbers = []
        for figure in figures:
            try:
                numbers.append(strict_decimal(figure))
            except ValueError:
                raise ValueError(
                    f"“{figure[:20]}” is neither a pressure nor what is worn, such as "
                    "Level C."
                ) from None
        if any(not 0 < number <= 15000 for number in numbers):
            raise ValueError("a pressure lies above 0 and at most at 15000.")
        rated, start = (*numbers, None, None)[:2]
        return name, rated, start, own


class TeamForm(PlainForm):
    """One of the blocks; without a name there is no team."""

    name = PlainText(required=False, longest=60, label="Name of the team")
    role = forms.ChoiceField(
        choices=[(role, ROLE_LABELS[role]) for role in ROLES], label="Role"
    )
    ensemble = forms.ChoiceField(
        choices=[("", "Choose"), *ENSEMBLES], required=False, label="Wears"
    )
    members = MembersField(
        required=False,
        label="Members, one to a line",
        help_text="Name, rated pressure, pressure now. Such as: Carrow, 4500, 4400. "
        "Who wears something else than the team: Carrow, 4500, 4400, Level C",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        named = bool(cleaned.get("name"))
        if self._left_as_it_was(cleaned):
            cleaned["name"] = ""  # no team was meant: it can come later
            return cleaned
        if not named and (cleaned.get("members") or cleaned.get("ensemble")):
            self.add_error("name", "Name the team, such as Entry 1.")
        if named and not cleaned.get("ensemble"):
            self.add_error("ensemble", f"Choose what {cleaned['name']} wears.")
        return cleaned

    def _left_as_it_was(self, cleaned: dict[str, Any]) -> bool:
        offered = self.initial.get("name")
        return (
            bool(offered)
            and cleaned.get("name") == offered
            and not (self.errors or cleaned.get("ensemble") or cleaned.get("members"))
        )


class IncidentForm(PlainForm):
    name = PlainText(longest=200, label="Name of the incident")
    location = PlainText(required=False, longest=200, label="Place")
    commander = PlainText(required=False, longest=150, label="Who commands")
    mission = forms.ChoiceField(
        choices=[(mission, MISSION_LABELS[mission]) for mission in MISSIONS],
        label="Mission",
        help_text="Sets the turn-back dose.",
    )
    profile = forms.ChoiceField(
        required=False, label="Limits", help_text="The SOP edition to judge by."
    )
    air_temperature = DecimalText(
        required=False, low=-80, high=140, label="Air temperature"
    )
    temperature_unit = forms.ChoiceField(
        choices=(("degC", "°C"), ("degF", "°F")), label="Unit of temperature"
    )
    humidity = DecimalText(
        required=False,
        low=0,
        high=100,
        label="Relative humidity, %",
        help_text="In dry air, or where it is not known, a dry pH strip cannot tell.",
    )
    wind_speed = DecimalText(required=False, low=0, high=150, label="Wind speed")
    wind_unit = forms.ChoiceField(
        choices=(("m/s", "m/s"), ("mph", "mph"), ("km/h", "km/h"), ("knot", "knots")),
        label="Unit of wind",
    )
    wind_from = DecimalText(
        required=False,
        low=0,
        high=360,
        label="Wind from, degrees",
        help_text="0 is north.",
    )
    background = DecimalText(
        required=False, low=0, high=1000, label="Background dose rate"
    )
    background_unit = forms.ChoiceField(
        choices=(("mrem/h", "mrem/h"), ("uSv/h", "µSv/h")), label="Unit of background"
    )
    suspects = PlainText(
        required=False,
        longest=500,
        label="Suspected substances",
        help_text="Separated by commas. Empty where nothing is known.",
    )
    instruments = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Instruments taken along",
    )
    pressure_unit = forms.ChoiceField(
        choices=(("psi", "psi"), ("bar", "bar")), label="Air gauges read"
    )

    def __init__(
        self,
        data: Any = None,
        *,
        profiles: Choices,
        instruments: Choices,
        commander: str = "",
    ) -> None:
        super().__init__(
            data, initial={"mission": "reconnaissance", "commander": commander}
        )
        self.fields["name"].error_messages["required"] = "Give the incident a name."
        _offer(self.fields["profile"], profiles)
        if instruments:
            _offer(self.fields["instruments"], instruments)
        else:
            del self.fields["instruments"]

    def weather(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        weather = {
            "air_temperature": quantity(
                cleaned["air_temperature"], cleaned["temperature_unit"]
            ),
            "relative_humidity_percent": cleaned["humidity"],
            "wind_speed": quantity(cleaned["wind_speed"], cleaned["wind_unit"]),
            "wind_from_degrees": cleaned["wind_from"],
        }
        return {key: value for key, value in weather.items() if value is not None}

    def background_dose_rate(self) -> dict[str, Any] | None:
        return quantity(
            self.cleaned_data["background"], self.cleaned_data["background_unit"]
        )

    def suspect_names(self) -> list[str]:
        names = (name.strip() for name in self.cleaned_data["suspects"].split(","))
        return list(dict.fromkeys(name for name in names if name))

    def first_parts(self, opener: str) -> list[tuple[str, str, dict[str, Any]]]:
        """What begins the plan: the place, who commands, the weather where one was given.

        Everything else of the size-up is unknown until somebody says it.
        """
        cleaned, weather = self.cleaned_data, self.weather()
        place = {"place": cleaned["location"]} if cleaned["location"] else {}
        parts: list[tuple[str, str, dict[str, Any]]] = [
            ("size_up", "", place),
            ("command", "", {"name": cleaned["commander"] or opener}),
        ]
        names = {
            "air_temperature": "temperature",
            "relative_humidity_percent": "humidity",
            "wind_speed": "wind_speed",
            "wind_from_degrees": "wind_from",
        }
        if weather:
            said = {names[key]: value for key, value in weather.items()}
            parts.append(("weather", "", said))
        return parts


class OpeningForms:
    """The incident and its team blocks, checked together."""

    def __init__(
        self,
        data: Any = None,
        *,
        profiles: Choices,
        instruments: Choices,
        commander: str = "",
    ) -> None:
        self.incident = IncidentForm(
            data, profiles=profiles, instruments=instruments, commander=commander
        )
        self.teams = [
            TeamForm(data, prefix=f"team{number}", initial=start)
            for number, start in enumerate(_FIRST_TEAMS, 1)
        ]

    def is_valid(self) -> bool:
        valid = [form.is_valid() for form in (self.incident, *self.teams)]
        if not all(valid):
            return False
        names = [form.cleaned_data["name"] for form in self._named()]
        for form in self._named():
            if names.count(form.cleaned_data["name"]) > 1:
                form.add_error("name", "Two teams have this name.")
        return not any(form.errors for form in self.teams)

    def _named(self) -> list[TeamForm]:
        return [form for form in self.teams if form.cleaned_data.get("name")]

    def error_links(self) -> list[tuple[str, str]]:
        return [
            link for form in (self.incident, *self.teams) for link in form.error_links()
        ]

    def team_documents(self) -> list[dict[str, Any]]:
        """The worksheet's team objects, with the names people use."""
        unit = self.incident.cleaned_data["pressure_unit"]
        teams: list[dict[str, Any]] = []
        for form in self._named():
            cleaned = form.cleaned_data
            key = unique_key(cleaned["name"], [team["id"] for team in teams], "team")
            teams.append(
                {
                    "id": key,
                    "name": cleaned["name"],
                    "role": cleaned["role"],
                    "ensemble": cleaned["ensemble"],
                    "members": member_documents(cleaned["members"], unit),
                }
            )
        return teams


_FIRST_TEAMS: tuple[dict[str, str], ...] = (
    {"role": "entry", "name": "Entry 1"},
    {"role": "backup", "name": "Backup"},
    {"role": "entry"},
    {"role": "decon"},
)


def member_documents(members: Sequence[MemberLine], unit: str) -> list[dict[str, Any]]:
    documents: list[dict[str, Any]] = []
    for name, rated, start, own in members:
        key = unique_key(name, [document["id"] for document in documents], "member")
        document: dict[str, Any] = {"id": key, "name": name}
        if rated is not None:
            cylinder = {"rated_pressure": quantity(rated, unit)}
            if start is not None:
                cylinder["start_pressure"] = quantity(start, unit)
            document["cylinder"] = cylinder
        if own:
            document["ensemble"] = own
        documents.append(document)
    return documents


def _offer(field: forms.Field, choices: Choices) -> None:
    assert isinstance(field, forms.ChoiceField)
    field.choices = list(choices)
