"""An instrument of the register: what is known of it, and its tests."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from incidents import kit
from incidents.documents import loads
from incidents.forms.fields import (
    DayField,
    DecimalText,
    OneOf,
    PlainForm,
    PlainText,
    time_said,
)
from incidents.models import Instrument, InstrumentRecord
from incidents.text import strict_decimal

Kind = InstrumentRecord.Kind
_METERS: Final = (
    "calibration_due",
    "calibration_gas",
    "alarm_points",
    "ranges",
    "warm_up",
)
_GAS: Final = ("sensors", "lel_basis", "correction_factors", "lamp_ev")
_PAPER: Final = ("lot", "opened_on", "expires")
# What each kind asks for beside the name and the serial number.
FIELDS: Final[Mapping[str, tuple[str, ...]]] = {
    "gas_meter": ("serial", *_GAS, *_METERS),
    "dosimeter": ("serial", *_METERS, "daily_test"),
    "thermal_imager": ("serial", *_METERS, "daily_test"),
    "other": ("serial", *_METERS, "daily_test"),
    **dict.fromkeys(("ph_paper", "ki_starch_paper", "fluoride_paper"), _PAPER),
}


class FactorsField(forms.CharField):
    """Lines of `gas: factor`; gives the factors by gas."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            widget=forms.Textarea(attrs={"rows": 3}), strip=False, **kwargs
        )

    def to_python(self, value: Any) -> dict[str, Decimal]:  # type: ignore[override]
        text = PlainText(longest=1000, one_line=False, required=False).clean(
            value or ""
        )
        factors: dict[str, Decimal] = {}
        wrong = []
        for number, line in enumerate(text.split("\n"), 1):
            if not line.strip():
                continue
            gas, colon, factor = line.partition(":")
            try:
                if not colon or not gas.strip():
                    raise ValueError("write a gas, a colon and its factor.")
                factors[gas.strip().lower()] = strict_decimal(factor)
            except ValueError as error:
                wrong.append(ValidationError(f"Line {number}: {error}"))
        if wrong:
            raise ValidationError(wrong)
        return factors


class RegisterForm(PlainForm):
    """One instrument; which fields there are depends on its kind."""

    label = PlainText(
        longest=120, label="Name", help_text="As the crew calls it: Four-gas meter 1."
    )
    serial = PlainText(required=False, longest=80, label="Serial number")
    lot = PlainText(required=False, longest=80, label="Lot")
    opened_on = DayField(required=False, label="Opened on")
    expires = DayField(
        required=False,
        label="Expires on",
        help_text="From the day after, a strip that does not change cannot tell.",
    )
    sensors = PlainText(
        required=False,
        longest=300,
        label="Sensors",
        help_text="Separated by commas, such as: lel, oxygen, co, h2s.",
    )
    lel_basis = PlainText(
        required=False, longest=80, label="LEL reads as", help_text="Such as methane."
    )
    correction_factors = FactorsField(
        required=False,
        label="Correction factors",
        help_text="One to a line, such as pentane: 2.0. By these the shown LEL is multiplied.",
    )
    lamp_ev = DecimalText(required=False, low=1, high=20, label="Lamp of the PID, eV")
    calibration_due = DayField(
        required=False,
        label="Calibration due on",
        help_text="From the day after, a quiet reading cannot tell.",
    )
    calibration_gas = PlainText(
        required=False,
        label="Calibration gas",
        help_text="Such as 50 % LEL methane, 18 % O2, 60 ppm CO, 20 ppm H2S.",
    )
    alarm_points = PlainText(
        required=False,
        longest=500,
        one_line=False,
        label="Alarm points",
        help_text="One to a line, with its unit.",
    )
    ranges = PlainText(
        required=False, longest=500, one_line=False, label="Ranges and resolution"
    )
    warm_up = PlainText(
        required=False,
        label="Warm-up and response",
        help_text="Such as: warm-up 60 s, response 30 s.",
    )
    daily_test = forms.BooleanField(required=False, label="Asks for a test each day")

    def __init__(
        self, data: Any = None, *, kind: str, instrument: Instrument | None = None
    ) -> None:
        super().__init__(data, initial=_initial(instrument) if instrument else None)
        self.kind = kind
        self.fields["label"].error_messages["required"] = "Give it a name."
        for name in list(self.fields):
            if name != "label" and name not in FIELDS[kind]:
                del self.fields[name]

    def facts(self) -> dict[str, Any]:
        """The worksheet's fields of an instrument."""
        cleaned = self.cleaned_data
        names = [name.strip().lower() for name in cleaned.get("sensors", "").split(",")]
        due: date | None = cleaned.get("calibration_due") or cleaned.get("expires")
        facts = {
            "sensors": [name for name in dict.fromkeys(names) if name] or None,
            "lel_basis": cleaned.get("lel_basis", "").lower(),
            "lamp_ev": cleaned.get("lamp_ev"),
            "correction_factors": cleaned.get("correction_factors") or None,
            "calibration_due": due and due.isoformat(),
        }
        return {name: value for name, value in facts.items() if value not in (None, "")}

    def about(self) -> dict[str, Any]:
        """The columns that are for people."""
        ours = {field.name for field in Instrument._meta.fields}
        return {
            name: value
            for name, value in self.cleaned_data.items()
            if name in ours and name not in ("label", "kind")
        }


def _initial(instrument: Instrument) -> dict[str, Any]:
    known = loads(instrument.document)
    factors = known.get("correction_factors", {})
    due = known.get("calibration_due")
    return {
        **{
            field.name: getattr(instrument, field.name)
            for field in instrument._meta.fields
        },
        "sensors": ", ".join(known.get("sensors", ())),
        "lel_basis": known.get("lel_basis", ""),
        "lamp_ev": known.get("lamp_ev"),
        "correction_factors": "\n".join(f"{gas}: {by}" for gas, by in factors.items()),
        "calibration_due": due,
        "expires": due,
    }


class TestForm(PlainForm):
    """One test of one instrument."""

    __test__ = False  # no test of ours, whatever pytest thinks

    kind = OneOf(label="Done", missing="Choose what was done.")
    passed = OneOf(
        (("yes", "Passed"), ("no", "Failed")),
        label="Result",
        missing="Choose passed or failed.",
    )
    failed_sensors = PlainText(
        required=False,
        label="Which failed",
        help_text="Such as lel. Any that failed takes the whole instrument out.",
    )
    gas = PlainText(
        required=False, label="Gas or sample", help_text="With its concentration."
    )
    place = PlainText(
        required=False, label="Where", help_text="For a zero: where the fresh air was."
    )
    next_due = DayField(required=False, label="Next calibration due on")
    other_time = PlainText(
        required=False,
        longest=8,
        label="At another time",
        help_text="Hours and minutes, such as 07:10. Empty means now.",
    )
    note = PlainText(required=False, longest=2000, one_line=False, label="Note")

    def __init__(
        self,
        data: Any = None,
        *,
        instrument: Instrument,
        now: datetime,
        zone: ZoneInfo,
        kind: str = "",
    ) -> None:
        super().__init__(data, initial={"kind": kind or Kind.BUMP_TEST.value})
        self.now, self.zone = now, zone
        self.is_paper = kit.is_paper(instrument.kind)
        chosen = self.fields["kind"]
        assert isinstance(chosen, forms.ChoiceField)
        chosen.choices = _kinds(instrument)
        if self.is_paper:
            for name in ("failed_sensors", "place", "next_due"):
                del self.fields[name]

    def clean_other_time(self) -> datetime:
        text = self.cleaned_data["other_time"]
        return time_said(text, self.now, self.zone) if text else self.now

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind, passed = cleaned.get("kind"), cleaned.get("passed") == "yes"
        if self.is_paper:
            return cleaned
        if kind == Kind.CALIBRATION and passed and not cleaned.get("next_due"):
            self.add_error("next_due", "Give the day on which the next is due.")
        if kind != Kind.CALIBRATION and cleaned.get("next_due"):
            self.add_error("next_due", "Only a calibration has a next one that is due.")
        if kind == Kind.ZERO and not cleaned.get("place"):
            self.add_error("place", "Say where the fresh air was.")
        if passed and cleaned.get("failed_sensors"):
            self.add_error(
                "failed_sensors", "A test with a failed sensor has not passed."
            )
        return cleaned

    def given(self) -> dict[str, Any]:
        """The arguments of `services.record_test`."""
        cleaned = dict(self.cleaned_data)
        return {
            "at": cleaned.pop("other_time"),
            "passed": cleaned.pop("passed") == "yes",
            **cleaned,
        }


def _kinds(instrument: Instrument) -> list[tuple[str, str]]:
    if kit.is_paper(instrument.kind):
        return [(Kind.BUMP_TEST.value, "Check with a known sample")]
    return [
        (kind.value, str(kind.label))
        for kind in (Kind.BUMP_TEST, Kind.CALIBRATION, Kind.ZERO)
    ]


class TakenForm(PlainForm):
    """Which instruments an incident has along."""

    instruments = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Taken along",
    )

    def __init__(
        self, data: Any = None, *, offered: list[tuple[str, str]], taken: list[str]
    ) -> None:
        super().__init__(data, initial={"instruments": taken})
        chosen = self.fields["instruments"]
        assert isinstance(chosen, forms.MultipleChoiceField)
        chosen.choices = offered
