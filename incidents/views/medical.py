"""Medical checks. Values are on the pages of medical and the safety officer alone."""

from dataclasses import dataclass
from typing import Any, Final

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from command.medical import State
from incidents import medical, selectors, services
from incidents.documents import loads
from incidents.forms.medical import CheckForm, DecideForm
from incidents.house_rules import HOUSE_RULES
from incidents.models import Incident, MedicalCheck
from incidents.selectors import PersonFitness
from incidents.services import permissions
from incidents.views.access import (
    EVERYONE,
    HtmxRequest,
    incident_view,
    page,
    role_in,
    zone_of,
)
from incidents.views.sending import refuse

SEEING: Final = frozenset(
    role for role in EVERYONE if permissions.may_see_medical(role)
)
RECORDING: Final = frozenset(
    role for role in EVERYONE if permissions.may_record_medical(role)
)
Kind = MedicalCheck.Kind
_UNITS: Final = {"degC": "°C", "degF": "°F", "kg": "kg", "lb": "lb"}
_MEASURED: Final = (
    ("pulse", "Pulse", "beats/min"),
    ("systolic", "Systolic", "mmHg"),
    ("diastolic", "Diastolic", "mmHg"),
    ("temperature", "Temperature", ""),
    ("breaths", "Breaths", "a minute"),
    ("spo2", "Oxygen saturation", "%"),
    ("weight", "Weight", ""),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """One check with its values, for those who may see them."""

    row: MedicalCheck
    measured: tuple[tuple[str, str], ...]  # label, figure with its unit
    symptoms: str | None  # None for a decision
    reasons: tuple[str, ...]
    advice: tuple[str, ...]
    note: str
    corrected: bool


@incident_view("GET")
def people_fit(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Who is fit to go in: for everyone, and no figure with it."""
    role = role_in(incident)
    return page(
        request,
        "medical/people.html",
        incident,
        rows=selectors.fitness(incident, timezone.now()),
        may_see=permissions.may_see_medical(role),
        may_record=permissions.may_record_medical(role),
    )


@incident_view("GET", roles=SEEING)
def medical_person(request: HtmxRequest, incident: Incident, code: str) -> HttpResponse:
    """Everything that was measured of one person; the look is noted."""
    now = timezone.now()
    someone = _someone(incident, code)
    rows = services.look_at_checks(
        incident_id=incident.pk, person=request.user, code=code, at=now
    )
    limits = medical.limits_of(incident)
    return _unkept(
        page(
            request,
            "medical/person.html",
            incident,
            someone=someone,
            lines=_lines(rows),
            limits=[
                (
                    HOUSE_RULES[key].label,
                    HOUSE_RULES[key].words(value),
                    HOUSE_RULES[key].source,
                )
                for key, value in limits.items()
            ],
            may_record=permissions.may_record_medical(role_in(incident)),
        )
    )


@incident_view("GET", "POST", roles=RECORDING)
def medical_check(
    request: HtmxRequest, incident: Incident, code: str = ""
) -> HttpResponse:
    """Record a check; of somebody in no team, with the name."""
    someone = _someone(incident, code) if code else None
    corrects = _corrected(request, incident, code)
    form = CheckForm(
        request.POST if request.method == "POST" else None,
        name=someone.name if someone else "",
        correcting=corrects is not None,
        now=timezone.now(),
        zone=zone_of(incident),
        initial={"kind": _likely_kind(someone, corrects)},
    )
    if form.is_bound and form.is_valid():
        row = _recorded(request, incident, form, corrects)
        if row is not None:
            return redirect("incidents:medical-person", incident.pk, row.person_code)
    return _unkept(
        page(
            request,
            "medical/check.html",
            incident,
            status=422 if form.is_bound else 200,
            form=form,
            someone=someone,
            corrects=corrects,
        )
    )


@incident_view("GET", "POST", roles=RECORDING)
def medical_decide(request: HtmxRequest, incident: Incident, code: str) -> HttpResponse:
    someone = _someone(incident, code)
    form = DecideForm(
        request.POST if request.method == "POST" else None,
        now=timezone.now(),
        zone=zone_of(incident),
    )
    if form.is_bound and form.is_valid():
        cleaned = form.cleaned_data
        try:
            services.decide_fitness(
                incident_id=incident.pk,
                person=request.user,
                name=someone.name,
                fit=cleaned["fit"] == "yes",
                reason=cleaned["reason"],
                at=cleaned["other_time"],
                recorded_at=timezone.now(),
                client_uuid=cleaned["client_uuid"],
            )
        except services.RefusalError as refusal:
            refuse(form, refusal, within="/values")
        else:
            return redirect("incidents:medical", incident.pk)
    return _unkept(
        page(
            request,
            "medical/decide.html",
            incident,
            status=422 if form.is_bound else 200,
            form=form,
            someone=someone,
        )
    )


@incident_view("GET", roles=SEEING)
def medical_looks(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Who looked at whose values, when."""
    return page(
        request,
        "medical/looks.html",
        incident,
        looks=selectors.medical_looks(incident),
    )


def _someone(incident: Incident, code: str) -> PersonFitness:
    for row in selectors.fitness(incident, timezone.now()):
        if row.code == code:
            return row
    raise Http404("Nobody of this incident.")


def _corrected(
    request: HtmxRequest, incident: Incident, code: str
) -> MedicalCheck | None:
    """The check that a new one is to put right, by its number."""
    number = request.GET.get("corrects", "")
    if not (number.isascii() and number.isdigit()):
        return None
    row = incident.medical_checks.filter(seq=int(number), person_code=code).first()
    if row is None:
        raise Http404("No such check.")
    return row


def _likely_kind(someone: PersonFitness | None, corrects: MedicalCheck | None) -> str:
    if corrects is not None:
        return corrects.kind
    if someone is None or not someone.checked:
        return Kind.BEFORE.value
    standing = someone.standing
    if standing.state is State.NOT_FIT:
        return Kind.RECHECK.value
    return Kind.AFTER.value if standing.blocks else Kind.BEFORE.value


def _recorded(
    request: HtmxRequest,
    incident: Incident,
    form: CheckForm,
    corrects: MedicalCheck | None,
) -> MedicalCheck | None:
    cleaned = form.cleaned_data
    try:
        return services.record_check(
            incident_id=incident.pk,
            person=request.user,
            name=form.person_name(),
            kind=cleaned["kind"],
            values=form.values(),
            at=cleaned["other_time"],
            recorded_at=timezone.now(),
            client_uuid=cleaned["client_uuid"],
            corrects=corrects,
            note=cleaned["note"],
        )
    except services.RefusalError as refusal:
        refuse(form, refusal, within="/values")
    return None


def _lines(rows: list[MedicalCheck]) -> list[CheckLine]:
    corrected = {row.corrects_id for row in rows}
    return [_line(row, row.pk in corrected) for row in reversed(rows)]


def _line(row: MedicalCheck, corrected: bool) -> CheckLine:
    values, why = loads(row.values), loads(row.reasons)
    return CheckLine(
        row=row,
        measured=tuple(
            (label, _figure(values[name], unit))
            for name, label, unit in _MEASURED
            if values.get(name) is not None
        ),
        symptoms=None if row.kind == Kind.DECISION else values.get("symptoms", ""),
        reasons=tuple(why["reasons"]),
        advice=tuple(why["advice"]),
        note=values.get("note", ""),
        corrected=corrected,
    )


def _figure(value: Any, unit: str) -> str:
    if isinstance(value, dict):
        return f"{value['value']} {_UNITS[value['unit']]}"
    return f"{value} {unit}"


def _unkept(response: HttpResponse) -> HttpResponse:
    """No browser and nothing between keeps a copy."""
    response["Cache-Control"] = "no-store"
    return response
