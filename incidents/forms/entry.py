"""What every entry of the log carries: who, where, when, and an identifier."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django import forms

from incidents.forms.fields import OneOf, PlainForm, PlainText, device_time, time_said


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryChoices:
    """What the incident offers to choose from. Pairs are (key, label)."""

    now: datetime
    zone: ZoneInfo
    teams: tuple[tuple[str, str], ...]
    members: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    instruments: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    places: tuple[str, ...] = ()
    containers: tuple[str, ...] = ()

    def all_members(self) -> list[tuple[str, str]]:
        """Every member as ("team/member", "Name, Team"); keys repeat across teams."""
        return [
            (f"{team}/{key}", f"{name}, {label}")
            for team, label in self.teams
            for key, name in self.members.get(team, ())
        ]


class EntryForm(PlainForm):
    """The part that all kinds share; `body` gives the engine's entry without its id."""

    kind: ClassVar[str]
    needs_team: ClassVar[bool] = True
    gathers_place: ClassVar[bool] = True
    # Fields of the fold-out at the top: they are carried from entry to entry.
    WHERE: ClassVar[tuple[str, ...]] = (
        "team",
        "place",
        "instrument",
        "borrowed",
        "other_time",
        "note",
    )

    client_uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={"required": "Open the page again: its identifier is missing."},
    )
    observed_at = forms.CharField(widget=forms.HiddenInput, required=False)
    team = OneOf(missing="Choose the team.", label="Team")
    place = PlainText(required=False, label="Place", help_text="Such as tank room.")
    instrument = OneOf(required=False, label="Instrument")
    borrowed = PlainText(
        required=False,
        longest=60,
        label="Its name, if not listed",
        help_text="Such as borrowed meter, Engine 4. It counts as unverified.",
    )
    other_time = PlainText(
        required=False,
        longest=8,
        label="At another time",
        help_text="Hours and minutes, such as 14:02. Empty means now.",
    )
    note = PlainText(required=False, longest=10_000, one_line=False, label="Note")

    def __init__(
        self,
        data: Any = None,
        *,
        choices: EntryChoices,
        initial: Any = None,
        files: Any = None,
    ) -> None:
        start = {"client_uuid": uuid.uuid4(), **(initial or {})}
        super().__init__(data, files, initial=start)
        self.choices = choices
        self._offer_teams()
        self._offer_instruments()
        if not self.gathers_place:
            del self.fields["place"]
        elif choices.places:
            self.fields["place"].widget.attrs["list"] = "places"

    def _offer_teams(self) -> None:
        team = self.fields["team"]
        assert isinstance(team, forms.ChoiceField)
        team.choices = list(self.choices.teams)
        if not self.needs_team:
            del self.fields["team"]
        elif len(self.choices.teams) == 1 and not self.initial.get("team"):
            self.initial["team"] = self.choices.teams[0][0]

    def _offer_instruments(self) -> None:
        listed = self.choices.instruments.get(self.kind, ())
        if not listed:
            del self.fields["instrument"], self.fields["borrowed"]
            return
        instrument = self.fields["instrument"]
        assert isinstance(instrument, forms.ChoiceField)
        instrument.choices = [*listed, ("", "Another, not listed")]
        if len(listed) == 1:
            self.initial.setdefault("instrument", listed[0][0])
        last = self.initial.get("instrument", "")
        if last and last not in dict(listed):
            self.initial.update(instrument="", borrowed=last)

    def clean(self) -> dict[str, Any]:
        """A name is for what is not listed: one that is listed has its tests to show."""
        cleaned = super().clean() or self.cleaned_data
        name = cleaned.get("borrowed", "")
        if not name:
            return cleaned
        if cleaned.get("instrument"):
            self.add_error("borrowed", "Choose “Another, not listed”, or give no name.")
        every = [pair for pairs in self.choices.instruments.values() for pair in pairs]
        known = {text.casefold() for pair in every for text in pair}
        if name.casefold() in known:
            self.add_error("borrowed", "This one is listed: choose it above.")
        return cleaned

    def where_open(self) -> bool:
        """Whether the fold-out with team and place has to be seen."""
        wrong = self.is_bound and any(self.errors.get(name) for name in self.WHERE)
        return wrong or ("team" in self.fields and not self.where_team())

    def where_team(self) -> str:
        """The name of the team as it stands in the form, "" for none."""
        if "team" not in self.fields:
            return ""
        return dict(self.choices.teams).get(str(self["team"].value() or ""), "")

    def where_words(self) -> str:
        """Such as "Entry 1, tank room, now", and with what where there is a choice."""
        place = str(self["place"].value() or "") if "place" in self.fields else ""
        time = str(self["other_time"].value() or "now")
        team = self.where_team()
        if "team" in self.fields and not team:
            return "Which team, and where?"
        return ", ".join(filter(None, (team, place, self.with_words(), time)))

    def with_words(self) -> str:
        """What it is read with, where that is not the only one along; "" for the only one."""
        if "instrument" not in self.fields:
            return ""
        listed = self.choices.instruments[self.kind]
        key = str(self["instrument"].value() or "")
        if not key:
            return str(self["borrowed"].value() or "") or "not a listed one"
        return dict(listed).get(key, "") if len(listed) > 1 else ""

    def clean_observed_at(self) -> datetime | None:
        return device_time(self.cleaned_data["observed_at"], self.choices.now)

    def clean_other_time(self) -> datetime | None:
        text = self.cleaned_data["other_time"]
        return time_said(text, self.choices.now, self.choices.zone) if text else None

    def body(self) -> dict[str, Any]:
        """The entry in the worksheet's own form; empty fields are left out."""
        moment = self.cleaned_data["other_time"] or self.cleaned_data["observed_at"]
        common = {
            "kind": self.kind,
            "at": moment and moment.astimezone(self.choices.zone).isoformat(),
            "team": self.cleaned_data.get("team"),
            "place": self.cleaned_data.get("place"),
            "instrument": self.cleaned_data.get("instrument")
            or self.cleaned_data.get("borrowed"),
            "note": self.cleaned_data.get("note"),
        }
        whole = {**common, **self.said()}
        return {key: value for key, value in whole.items() if value not in (None, "")}

    def said(self) -> dict[str, Any]:
        """The fields of this kind alone."""
        return {}
