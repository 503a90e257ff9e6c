"""Which part of an incident's time is looked at, and what is said of it."""

import uuid
from collections.abc import Sequence
from datetime import datetime, time, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from django import forms

from incidents.forms.fields import Choices, DayField, OneOf, PlainForm, PlainText
from incidents.models import CritiqueNote, CritiqueStep
from incidents.models.critique import LONGEST_NOTE
from review.timeline import Group

State = CritiqueStep.State
GROUPS: Final = tuple((group.value, group.label) for group in Group)
_LOCAL: Final = "%Y-%m-%d %H:%M:%S"


class LocalMoment(PlainText):
    """Day and time of day as they are typed, in the agency's zone and of 24 hours.

    A time of day alone is the first one after the incident began. With an offset it is
    taken as it stands; of an hour that comes twice without one, the earlier is taken.
    """

    zone: ZoneInfo = ZoneInfo("UTC")
    since: datetime | None = None

    def __init__(self, *, to_its_end: bool = False, **kwargs: Any) -> None:
        self.to_its_end = to_its_end  # a second that was typed is meant with all of it
        kwargs.setdefault("help_text", "As 14:02:10, or 2026-03-04 14:02:10.")
        super().__init__(longest=40, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """What was typed as it stands; a moment in the zone's own clock."""
        if isinstance(value, str) and "T" in value:
            try:
                value = datetime.fromisoformat(value)
            except ValueError:
                return value
        if isinstance(value, datetime):
            here = value.astimezone(self.zone) if value.tzinfo else value
            return here.strftime(_LOCAL)
        return value

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            moment = self._moment(text)
        except ValueError as error:
            raise forms.ValidationError(
                "Write the time as 14:02:10, or day and time as 2026-03-04 14:02:10."
            ) from error
        if moment.tzinfo:
            return moment
        if self.to_its_end and not moment.microsecond:
            moment = moment.replace(microsecond=999_999)
        return moment.replace(tzinfo=self.zone)

    def _moment(self, text: str) -> datetime:
        """Raises ValueError for what is neither."""
        if self.since is None or "-" in text:
            return datetime.fromisoformat(text)
        clock = time.fromisoformat(text)
        began = self.since.astimezone(self.zone).replace(tzinfo=None, microsecond=0)
        moment = datetime.combine(began.date(), clock.replace(tzinfo=None))
        return moment if moment >= began else moment + timedelta(days=1)


class _Zoned(PlainForm):
    """A form whose moments are those of the agency's clock; `since` is the beginning of
    the incident."""

    def __init__(
        self, *args: Any, zone: ZoneInfo, since: datetime | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, LocalMoment):
                field.zone, field.since = zone, since


class RangeForm(_Zoned):
    """The stretch, the kinds and the teams; in the address, so that a view can be sent."""

    kind = forms.MultipleChoiceField(
        required=False,
        choices=GROUPS,
        widget=forms.CheckboxSelectMultiple,
        label="Only",
        error_messages={"invalid_choice": "%(value)s is no kind of record here."},
    )
    team = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Teams",
        error_messages={"invalid_choice": "%(value)s is no team of this incident."},
    )

    def __init__(
        self, *args: Any, teams: Choices, zone: ZoneInfo, since: datetime
    ) -> None:
        super().__init__(*args, zone=zone)
        for name, label in (("from", "From"), ("to", "To")):
            field = LocalMoment(required=False, to_its_end=name == "to", label=label)
            field.zone, field.since = zone, since
            self.fields[name] = field
        self.order_fields(["from", "to", "kind", "team"])
        team = self.fields["team"]
        assert isinstance(team, forms.MultipleChoiceField)
        team.choices = list(teams)

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        since, until = given.get("from"), given.get("to")
        if since and until and since >= until:
            self.add_error("to", "The end comes after the beginning.")
        return given


class AtForm(_Zoned):
    """The moment that is played back."""

    at = LocalMoment(
        required=False, to_its_end=True, label="The sheet as it was known at"
    )


class _Saying(_Zoned):
    """What a note says, with the owner and the day of an improvement."""

    client_uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid.uuid4,
        error_messages={"required": "Open the page again: its identifier is missing."},
    )
    text = PlainText(
        longest=LONGEST_NOTE,
        one_line=False,
        label="What is to be said",
        error_messages={"required": "Say what is to be said."},
    )
    owner = forms.ChoiceField(
        required=False,
        label="Who sees to it (of an improvement)",
        error_messages={"invalid_choice": "Choose somebody of the agency."},
    )
    due_on = DayField(required=False, label="To be done by (of an improvement)")

    def __init__(self, *args: Any, people: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        owner = self.fields["owner"]
        assert isinstance(owner, forms.ChoiceField)
        owner.choices = [("", "Nobody"), *people]

    def owner_id(self) -> int | None:
        chosen = self.cleaned_data.get("owner")
        return int(chosen) if chosen else None

    def need_owner_and_day(self) -> None:
        if not self.cleaned_data.get("owner") and "owner" not in self.errors:
            self.add_error("owner", "Say who of the agency sees to it.")
        if not self.cleaned_data.get("due_on") and "due_on" not in self.errors:
            self.add_error("due_on", "Say by which day it is to be done.")


class NoteForm(_Saying):
    """A new note, pinned to a moment."""

    kind = OneOf(
        tuple(CritiqueNote.Kind.choices),
        missing="Say whether it is a strength, an improvement or a note.",
        label="What it is",
    )
    record = OneOf(
        tuple(CritiqueNote.Record.choices),
        missing="Say which record it belongs to.",
        label="Which record it belongs to",
    )
    at = LocalMoment(
        label="The moment that it is about",
        error_messages={"required": "Say which moment it is about."},
    )
    entry = forms.IntegerField(
        required=False,
        min_value=1,
        label="Number of the entry, if it is about one",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={"invalid": "Enter the entry's number, such as 12."},
    )
    field_order = ("kind", "record", "at", "entry", "text", "owner", "due_on")

    def clean(self) -> dict[str, Any]:
        if self.cleaned_data.get("kind") == CritiqueNote.Kind.IMPROVEMENT:
            self.need_owner_and_day()
        return self.cleaned_data


class StepForm(_Saying):
    """What becomes of a note: said anew, done, dropped or taken back."""

    seen = forms.IntegerField(widget=forms.HiddenInput)
    state = OneOf(missing="Say what becomes of it.", label="What becomes of it")
    said = PlainText(
        required=False,
        longest=LONGEST_NOTE,
        one_line=False,
        label="What was done, or why it is dropped or taken back",
    )
    done_on = DayField(required=False, label="Done on (today, if left empty)")
    field_order = ("state", "said", "done_on", "text", "owner", "due_on")

    def __init__(
        self, *args: Any, states: Sequence[str], improves: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.improves = improves
        words = {
            State.OPEN: "Stands as written below",
            State.DONE: "Done",
            State.DROPPED: "Dropped",
            State.TAKEN_BACK: "Taken back",
        }
        state = self.fields["state"]
        assert isinstance(state, forms.ChoiceField)
        state.choices = [(each, words[State(each)]) for each in states]
        if not improves:
            for name in ("owner", "due_on", "done_on"):
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        state = given.get("state")
        if state and state != State.OPEN and not given.get("said"):
            self.add_error("said", "Say what was done, or why.")
        if self.improves:
            self.need_owner_and_day()
        return given


class DoneForm(_Zoned):
    """Who owns an improvement says that it is done."""

    client_uuid = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    seen = forms.IntegerField(widget=forms.HiddenInput)
    said = PlainText(
        longest=LONGEST_NOTE,
        one_line=False,
        label="What was done",
        error_messages={"required": "Say what was done."},
    )
    done_on = DayField(required=False, label="Done on (today, if left empty)")


class FollowUpForm(PlainForm):
    """Which improvements are listed; in the address."""

    state = forms.ChoiceField(
        required=False,
        label="State",
        choices=[
            ("open", "Open"),
            ("overdue", "Overdue"),
            ("done", "Done"),
            ("dropped", "Dropped"),
            ("all", "All"),
        ],
    )
    owner = forms.ChoiceField(required=False, label="Who sees to it")
    incident = PlainText(required=False, longest=100, label="Incident's name")
    drills = forms.ChoiceField(
        required=False,
        label="Of",
        choices=[("", "Real incidents"), ("1", "Drills")],
    )

    def __init__(self, *args: Any, owners: Choices) -> None:
        super().__init__(*args)
        owner = self.fields["owner"]
        assert isinstance(owner, forms.ChoiceField)
        owner.choices = [("", "Anybody"), *owners]
