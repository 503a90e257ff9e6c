"""Forms of the training officer: a script, a drill's crew and pace, a planned day."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from typing import Any, Final

from django import forms

from incidents.forms.fields import DayField, OneOf, PlainForm, PlainText
from incidents.models import IncidentRole, Person
from review.scripts import LONGEST_SENTENCE, PARTS
from screening.worksheet.strict_json import LARGEST_DOCUMENT

NOT_IN_IT: Final = ""
MOSTLY: Final = IncidentRole.Role.TECHNICIAN.value
_ROLES: Final = {role.value: role.label for role in IncidentRole.Role}
PART_CHOICES: Final = [(NOT_IN_IT, "Not in the crew")] + [
    (part, _ROLES[part]) for part in PARTS
]
PACES: Final = [
    ("0", "Step by step, by hand"),
    ("1", "Real time"),
    ("2", "2 times as fast"),
    ("5", "5 times as fast"),
    ("10", "10 times as fast"),
]
ANSWER_TIMES: Final = [
    ("30", "30 s"),
    ("60", "1 min"),
    ("120", "2 min"),
    ("300", "5 min"),
]


class ScriptForm(PlainForm):
    """A script as a file, or as text."""

    file = forms.FileField(
        label="Script (JSON)",
        required=False,
        error_messages={"empty": "The file is empty."},
    )
    text = forms.CharField(
        label="Or the script as text",
        required=False,
        strip=False,
        max_length=LARGEST_DOCUMENT,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and bool(cleaned.get("file")) == bool(cleaned.get("text")):
            raise forms.ValidationError(
                "Choose a file, or write the script: one of both."
            )
        return cleaned

    def content(self) -> bytes:
        file = self.cleaned_data["file"]
        if file:
            content: bytes = file.read()
            return content
        return str(self.cleaned_data["text"]).encode()


class FromIncidentForm(PlainForm):
    """What a past incident is called as a drill; its places and people get other names."""

    name = PlainText(
        label="Name of the drill",
        error_messages={"required": "Give the drill a name of its own."},
    )
    place = PlainText(
        label="Where it is said to be",
        help_text="An invented place.",
        error_messages={"required": "Invent a place."},
    )
    goals = PlainText(
        label="What the crew is to learn, one goal a line",
        longest=5_000,
        one_line=False,
        error_messages={"required": "Write at least one learning goal."},
    )
    briefing = PlainText(
        label="What the crew is told at the start",
        longest=LONGEST_SENTENCE,
        one_line=False,
        required=False,
    )

    def __init__(
        self,
        data: Any = None,
        *,
        places: Sequence[str],
        people: Sequence[tuple[str, str]],
    ) -> None:
        super().__init__(data)
        self.places, self.people = list(places), list(people)
        for number, place in enumerate(self.places):
            self.fields[f"place-{number}"] = PlainText(
                label=f"Instead of “{place}”", required=False, longest=100
            )
        for number, (_, name) in enumerate(self.people):
            self.fields[f"person-{number}"] = PlainText(
                label=f"Instead of {name}", required=False, longest=100
            )

    def goal_lines(self) -> tuple[str, ...]:
        lines = (line.strip() for line in self.cleaned_data["goals"].splitlines())
        return tuple(filter(None, lines))

    def other_places(self) -> dict[str, str]:
        return self._others("place", self.places)

    def other_people(self) -> dict[str, str]:
        return self._others("person", [key for key, _ in self.people])

    def _others(self, kind: str, keys: Iterable[str]) -> dict[str, str]:
        said = {
            key: self.cleaned_data[f"{kind}-{number}"]
            for number, key in enumerate(keys)
        }
        return {key: words for key, words in said.items() if words}

    def replaced(self) -> list[forms.BoundField]:
        """The fields for places and people, for the template."""
        kinds = ("place-", "person-")
        return [self[name] for name in self.fields if name.startswith(kinds)]


class StartForm(PlainForm):
    """The crew with their parts, the pace, and how long an answer may take."""

    speed = OneOf(PACES, label="Pace", initial="0", missing="Choose the pace.")
    answer_seconds = OneOf(
        ANSWER_TIMES,
        label="Time for each answer",
        initial="60",
        missing="Choose how long an answer may take.",
    )

    def __init__(
        self,
        data: Any = None,
        *,
        people: Sequence[Person],
        planned: Collection[Person] = (),
    ) -> None:
        """`planned` are in the crew unless that is changed."""
        super().__init__(data)
        self.people = {f"part-{person.pk}": person for person in people}
        for name, person in self.people.items():
            self.fields[name] = forms.ChoiceField(
                label=person.shown_name,
                choices=PART_CHOICES,
                required=False,
                initial=MOSTLY if person in planned else NOT_IN_IT,
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not any(cleaned.get(name) for name in self.people):
            raise forms.ValidationError("Give at least one person a part in the crew.")
        return cleaned

    def crew(self) -> dict[Person, str]:
        chosen = {self.people[name]: self.cleaned_data[name] for name in self.people}
        return {person: part for person, part in chosen.items() if part}

    def parts(self) -> list[forms.BoundField]:
        return [self[name] for name in self.people]


class PlanForm(PlainForm):
    """The day of a drill, and who is to be there."""

    day = DayField(label="Day")
    crew = forms.MultipleChoiceField(
        label="Crew",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one person."},
    )

    def __init__(
        self, data: Any = None, *, people: Sequence[Person], today: date
    ) -> None:
        super().__init__(data)
        self.people, self.today = {str(one.pk): one for one in people}, today
        crew = self.fields["crew"]
        assert isinstance(crew, forms.MultipleChoiceField)
        crew.choices = [(key, one.shown_name) for key, one in self.people.items()]

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        if day < self.today:
            raise forms.ValidationError("Choose a day that is still to come.")
        return day

    def chosen(self) -> list[Person]:
        return [self.people[key] for key in self.cleaned_data["crew"]]
