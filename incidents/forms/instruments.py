"""Meters, imager, dosimeter, gauges, and what was seen without an instrument."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from incidents.forms.entry import EntryChoices, EntryForm
from incidents.forms.fields import DecimalText, OneOf, PlainText
from reports.words import SIGN_LABELS

# Field, sensor name in `over_range`, short label, unit.
SENSORS = (
    ("lel_percent", "lel", "LEL", "%"),
    ("oxygen_percent", "oxygen", "Oxygen", "%"),
    ("co_ppm", "co", "CO", "ppm"),
    ("h2s_ppm", "h2s", "H2S", "ppm"),
    ("voc_ppm", "voc", "VOC", "ppm"),
)


def quantity(value: Decimal | None, unit: str) -> dict[str, Any] | None:
    return None if value is None else {"value": value, "unit": unit}


def _sensor(label: str, unit: str, high: int) -> DecimalText:
    return DecimalText(required=False, low=0, high=high, label=f"{label}, {unit}")


class GasMeterForm(EntryForm):
    kind = "gas_meter"
    lel_percent = _sensor("LEL", "%", 100)
    oxygen_percent = _sensor("Oxygen", "%", 100)
    co_ppm = _sensor("CO", "ppm", 1_000_000)
    h2s_ppm = _sensor("H2S", "ppm", 1_000_000)
    voc_ppm = _sensor("VOC", "ppm", 1_000_000)
    gas_name = PlainText(
        required=False, longest=80, label="Another gas", help_text="Such as ammonia."
    )
    gas_ppm = _sensor("Its figure", "ppm", 1_000_000)
    lamp_ev = DecimalText(required=False, low=1, high=20, label="Lamp of the PID, eV")
    height = OneOf(
        (("floor", "Floor"), ("waist", "Waist"), ("head", "Head")),
        required=False,
        label="Height",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in [*(sensor[1] for sensor in SENSORS), "gas"]:
            self.fields[f"over_{name}"] = forms.BooleanField(
                required=False, label="Over range"
            )

    def sensors(self) -> list[dict[str, Any]]:
        """Rows for the page: the field, its switch and how the button says it."""
        return [
            {
                "field": self[name],
                "over": self[f"over_{sensor}"],
                "label": label,
                "unit": unit,
            }
            for name, sensor, label, unit in SENSORS
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name, sensor, label, _ in SENSORS:
            if cleaned.get(name) is not None and cleaned.get(f"over_{sensor}"):
                self.add_error(name, f"{label}: a figure or over range, not both.")
        gas = cleaned.get("gas_ppm") is not None or cleaned.get("over_gas")
        if gas and not cleaned.get("gas_name"):
            self.add_error("gas_name", "Say which gas the figure is of.")
        if cleaned.get("gas_name") and not gas and not self.errors.get("gas_ppm"):
            self.add_error("gas_ppm", f"Enter the figure of {cleaned['gas_name']}.")
        if not self.errors and not self._shows_anything():
            raise ValidationError("Enter at least one figure, or what was over range.")
        return cleaned

    def _shows_anything(self) -> bool:
        cleaned = self.cleaned_data
        return bool(
            cleaned.get("gas_name")
            or any(cleaned.get(name) is not None for name, *_ in SENSORS)
            or any(cleaned.get(f"over_{sensor}") for _, sensor, *_ in SENSORS)
        )

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        body: dict[str, Any] = {name: cleaned[name] for name, *_ in SENSORS}
        over = [sensor for _, sensor, *_ in SENSORS if cleaned[f"over_{sensor}"]]
        if cleaned["gas_ppm"] is not None:
            body["gases"] = {cleaned["gas_name"]: cleaned["gas_ppm"]}
        if cleaned["over_gas"]:
            over.append(cleaned["gas_name"])
        if over:
            body["over_range"] = over
        if cleaned["voc_ppm"] is not None:
            body["lamp_ev"] = cleaned["lamp_ev"]
        return body | {"height": cleaned["height"]}


class ThermalImagerForm(EntryForm):
    kind = "thermal_imager"
    target = OneOf(
        (
            ("closed_container", "Closed container"),
            ("relief_valve_discharge", "Relief valve discharge"),
            ("other", "Something else"),
        ),
        label="Looked at",
        missing="Choose what was looked at.",
    )
    container = PlainText(
        required=False,
        longest=80,
        label="Name of the container",
        help_text="The same name each time, such as drum 6: a rise shows only so.",
    )
    unit = OneOf(
        (("degC", "°C"), ("degF", "°F")), label="Unit", missing="Choose °C or °F."
    )
    surface = DecimalText(low=-200, high=2500, label="Surface")
    surroundings = DecimalText(
        required=False, low=-200, high=2500, label="Surroundings, wall or ground"
    )
    shiny = forms.BooleanField(required=False, label="Shiny metal")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["surface"].error_messages["required"] = (
            "Enter the temperature shown."
        )
        self.fields["container"].widget.attrs["list"] = "containers"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("target") == "closed_container" and not cleaned.get("container"):
            self.add_error("container", "Name the container, such as drum 6.")
        return cleaned

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        body: dict[str, Any] = {
            "target": cleaned["target"],
            "container": cleaned["container"],
            "surface": quantity(cleaned["surface"], cleaned["unit"]),
            "surroundings": quantity(cleaned["surroundings"], cleaned["unit"]),
        }
        if cleaned["shiny"]:
            body["shiny"] = True
        return body


class SignForm(EntryForm):
    kind = "sign"
    what = OneOf(
        tuple(SIGN_LABELS.items()),
        label="Seen, heard or felt",
        missing="Choose what was seen, heard or felt.",
    )

    def said(self) -> dict[str, Any]:
        return {"what": self.cleaned_data["what"]}


class DosimeterForm(EntryForm):
    kind = "dosimeter"
    dose_rate = DecimalText(required=False, low=0, label="Dose rate")
    dose_rate_unit = OneOf(
        (
            ("mrem/h", "mrem/h"),
            ("rem/h", "rem/h"),
            ("mR/h", "mR/h"),
            ("uSv/h", "µSv/h"),
            ("mSv/h", "mSv/h"),
        ),
        required=False,
        label="Unit of the rate",
    )
    dose = DecimalText(required=False, low=0, label="Dose so far")
    dose_unit = OneOf(
        (("mrem", "mrem"), ("rem", "rem"), ("uSv", "µSv"), ("mSv", "mSv")),
        required=False,
        label="Unit of the dose",
    )
    member = OneOf(required=False, label="Whose dose")
    alarm = OneOf(
        (("yes", "Alarm sounding"), ("no", "No alarm")), required=False, label="Alarm"
    )
    contact = forms.BooleanField(required=False, label="On contact")
    distance = DecimalText(
        required=False, low=0, high=10000, label="Distance from the source, m"
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_members(self, self.choices, none="The whole team")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name in ("dose_rate", "dose"):
            if cleaned.get(name) is not None and not cleaned.get(f"{name}_unit"):
                self.add_error(f"{name}_unit", "Choose the unit that the figure is in.")
        if cleaned.get("contact") and cleaned.get("distance") is not None:
            self.add_error("distance", "On contact or at a distance, not both.")
        check_member(self)
        said = [cleaned.get("dose_rate"), cleaned.get("dose")]
        if not self.errors and said == [None, None] and not cleaned.get("alarm"):
            raise ValidationError("Enter a dose rate, a dose, or whether it alarmed.")
        return cleaned

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        body: dict[str, Any] = {
            "dose_rate": quantity(cleaned["dose_rate"], cleaned["dose_rate_unit"]),
            "dose": quantity(cleaned["dose"], cleaned["dose_unit"]),
            "member": member_key(cleaned["member"]),
            "distance": quantity(cleaned["distance"], "m"),
        }
        if cleaned["alarm"]:
            body["alarm"] = cleaned["alarm"] == "yes"
        if cleaned["contact"]:
            body["contact"] = True
        return body


class AirCheckForm(EntryForm):
    kind = "air_check"
    gathers_place = False
    member = OneOf(label="Whose gauge", missing="Choose whose gauge it is.")
    pressure = DecimalText(low=0, high=15000, label="Gauge shows")
    unit = OneOf(
        (("psi", "psi"), ("bar", "bar")), label="Unit", missing="Choose psi or bar."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pressure"].error_messages["required"] = (
            "Enter what the gauge shows."
        )
        # The member says the team.
        del self.fields["team"]
        member = self.fields["member"]
        assert isinstance(member, forms.ChoiceField)
        member.choices = self.choices.all_members()

    def said(self) -> dict[str, Any]:
        team, _, member = self.cleaned_data["member"].partition("/")
        return {
            "team": team,
            "member": member,
            "pressure": quantity(
                self.cleaned_data["pressure"], self.cleaned_data["unit"]
            ),
        }


def offer_members(form: EntryForm, choices: EntryChoices, *, none: str) -> None:
    member = form.fields["member"]
    assert isinstance(member, forms.ChoiceField)
    member.choices = [("", none), *choices.all_members()]


def member_key(value: str) -> str:
    return value.partition("/")[2]


def check_member(form: EntryForm) -> None:
    """The member belongs to the team that is chosen."""
    team, _, member = (form.cleaned_data.get("member") or "").partition("/")
    chosen = form.cleaned_data.get("team")
    if member and chosen and team != chosen:
        form.add_error("member", "That person is in another team.")
