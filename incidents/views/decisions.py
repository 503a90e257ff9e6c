"""The commander's decisions, each at most three taps from the sheet, each to be undone."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django_htmx.http import trigger_client_event

from incidents import selectors, services
from incidents.forms.deciding import DecisionForm
from incidents.forms.decisions import DECISION_FORMS, EnterForm
from incidents.models import Incident
from incidents.services import permissions
from incidents.views import board, offers
from incidents.views.access import (
    COMMAND,
    WRITERS,
    HtmxRequest,
    incident_view,
    page,
    role_in,
)
from incidents.views.answers import answer_of
from incidents.views.carried import Carried, carried_of, start_of
from incidents.views.lacks import missing_of
from incidents.views.sending import send
from incidents.views.since import Meanwhile, meanwhile


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What a decision is called, on its page, on the button that saves, in an answer."""

    title: str
    saves: str
    nothing: str = ""  # said where there is nothing to decide on
    done: str = "Saved"


WORDS: Final[Mapping[str, Words]] = MappingProxyType(
    {
        "enter": Words(title="A team goes in", saves="Save: team in"),
        "exit": Words(
            title="A team is out",
            saves="Save: team out",
            nothing="No team is inside.",
        ),
        "par": Words(
            title="PAR: who has answered",
            saves="Save PAR",
            nothing="No team is inside.",
        ),
        "ventilate": Words(title="Ventilate", saves="Save ventilation"),
        "clear": Words(
            title="Clear a hazard",
            saves="Clear this hazard",
            nothing="No hazard stands that can be cleared.",
        ),
        "change_ensemble": Words(title="Change ensemble", saves="Save ensemble"),
        "acknowledge": Words(
            title="To be heard",
            saves="Heard",
            nothing="No Stop or Withdraw stands unheard.",
            done="Heard",
        ),
        "bump_test": Words(title="Bump test", saves="Save bump test"),
        "note": Words(title="Note", saves="Save note"),
        "order": Words(
            title="Withdraw: order a team out",
            saves="Order out",
            nothing="No team is inside.",
            done="Ordered",
        ),
        "mayday": Words(title="Mayday", saves="Mayday", done="Called"),
        "undo": Words(title="Undo", saves="Undo", done="Taken back"),
        "mayday_over": Words(
            title="End the Mayday",
            saves="End the Mayday",
            nothing="No Mayday stands.",
            done="Ended",
        ),
    }
)


@incident_view("GET", "POST", roles=WRITERS)
def decision(request: HtmxRequest, incident: Incident, kind: str) -> HttpResponse:
    if kind not in DECISION_FORMS:
        raise Http404("No such decision.")
    if not permissions.may_log(role_in(incident), kind):
        raise PermissionDenied("This is a decision of the incident commander.")
    asked = _Asked.of(request, incident, kind)
    if request.method == "GET":
        return asked.choose_team() if asked.needs_team() else asked.form_page()
    try:
        appended = send(request, incident, asked.form) if asked.may_save() else None
    except services.AlreadyDoneError as before:
        return _already(request, incident, kind, before)
    if appended is None:
        return asked.form_page(status=422)
    return _saved(request, incident, kind, appended, asked.others)


@dataclass(slots=True, kw_only=True)
class _Asked:
    """One decision being asked for, with what stands at that moment."""

    request: HtmxRequest
    incident: Incident
    kind: str
    view: selectors.SheetView
    carried: Carried
    form: DecisionForm
    others: list[Meanwhile]

    @classmethod
    def of(cls, request: HtmxRequest, incident: Incident, kind: str) -> "_Asked":
        carried = carried_of(incident)
        view = selectors.sheet(incident, carried.choices.now)
        form = _form(request, incident, kind, carried, view)
        opened = form["opened"].value() if form.is_bound else ""
        return cls(
            request=request,
            incident=incident,
            kind=kind,
            view=view,
            carried=carried,
            form=form,
            others=meanwhile(incident, request.user, int(opened))
            if str(opened or "").isdigit()
            else [],
        )

    def teams(self) -> list[offers.TeamChoice]:
        return offers.teams_for(self.view, self.kind)

    def needs_team(self) -> bool:
        """Whether a team has to be chosen first; a note needs none."""
        return (
            "team" in self.form.fields
            and self.form.fields["team"].required
            and not self.form.team_by_button
            and not self.form.chosen_team()
            and not self.incident.is_closed
        )

    def choose_team(self) -> HttpResponse:
        return self._page("choose_team.html")

    def may_save(self) -> bool:
        """Valid, and nobody else decided the same since the page was opened."""
        if not self.form.is_valid():
            return False
        name = dict(self.carried.choices.teams).get(self.form.chosen_team(), "")
        same = [
            one for one in self.others if one.kind == self.kind and one.team == name
        ]
        if same:
            self.form.add_error(
                None,
                f"{same[-1].by} saved the same since you opened this, at "
                f"{timezone.localtime(same[-1].at):%H:%M:%S}. Save again if yours is "
                "needed too.",
            )
        return not same

    def form_page(self, *, status: int = 200) -> HttpResponse:
        return self._page("decide.html", status=status)

    def _page(self, partial: str, *, status: int = 200, **context: Any) -> HttpResponse:
        words = WORDS[self.kind]
        return page(
            self.request,
            f"sheet/partials/{partial}" if self.request.htmx else "sheet/decision.html",
            self.incident,
            status=status,
            partial=f"sheet/partials/{partial}",
            form=self.form,
            fields=f"sheet/decide/{self.kind}.html",
            kind=self.kind,
            words=words,
            title=words.title,
            others=self.others,
            empty=not self.form.is_bound and _is_empty(self),
            alarms=board.alarms_of(self.view),
            teams=self.teams(),
            url=reverse("incidents:decision", args=(self.incident.pk, self.kind)),
            **_readiness(self.incident, self.form),
            **context,
        )


def _readiness(incident: Incident, form: DecisionForm) -> dict[str, Any]:
    """What keeps which team out, said before anybody presses, and what kept one out."""
    if not isinstance(form, EnterForm):
        return {}
    view = selectors.plan_view(incident, form.choices.now)
    return {
        "keeps_out": missing_of(form.lacks, incident),
        "begun": view.plan.begun,
        "waiting": [
            (crew.name, len(view.of_team(crew.id)))
            for crew in view.scene.crews
            if not crew.inside and view.of_team(crew.id)
        ],
    }


def _is_empty(asked: _Asked) -> bool:
    """Whether there is nothing to decide on."""
    match asked.kind:
        case "acknowledge":
            return not any(alarm.unheard for alarm in asked.view.alarms)
        case "clear":
            return not asked.form.standing  # type: ignore[attr-defined]
        case "mayday_over":
            return asked.view.mayday is None
    return "team" in asked.form.fields and not asked.teams()


def _form(
    request: HtmxRequest,
    incident: Incident,
    kind: str,
    carried: Carried,
    view: selectors.SheetView,
) -> DecisionForm:
    data = request.POST.copy() if request.method == "POST" else None
    if data is not None and kind in ("acknowledge", "mayday"):
        # Their buttons stand on pages that are the same for all; the service sees to
        # it that one alarm is heard once, and that one Mayday stands.
        data["client_uuid"] = _one_touch(request, incident, kind, data.get("entry", ""))
    start: dict[str, Any] = {}
    if data is None:
        team = request.GET.get("team", "")
        start = start_of(carried, request.user, kind, team) | {
            "team": team,
            "opened": incident.head_seq,
        }
        inside = [each.key for each in offers.teams_for(view, kind)]
        if not team and len(inside) == 1 and kind != "note":
            start["team"] = inside[0]
    arguments: dict[str, Any] = {"choices": carried.choices, "initial": start}
    if kind in ("acknowledge", "clear"):
        arguments["by"] = request.user.shown_name
    if kind == "clear":
        arguments["standing"] = offers.clearable(view, request.user.shown_name)
    if kind == "mayday_over":
        arguments["people"] = offers.second_people(incident, request.user)
    if kind == "note":
        arguments["files"] = request.FILES if data is not None else None
    return DECISION_FORMS[kind](data, **arguments)


def _one_touch(request: HtmxRequest, incident: Incident, kind: str, entry: str) -> str:
    if kind == "acknowledge" and entry:
        return str(uuid.uuid5(incident.pk, f"heard {request.user.pk} {entry}"))
    return str(uuid.uuid4())


def _saved(
    request: HtmxRequest,
    incident: Incident,
    kind: str,
    appended: services.Appended,
    others: list[Meanwhile],
) -> HttpResponse:
    if not request.htmx:
        return redirect("incidents:sheet", incident.pk)
    answer = answer_of(request, incident, appended)
    response = page(
        request,
        "sheet/partials/decided.html",
        incident,
        answer=answer,
        kind=kind,
        words=WORDS[kind],
        others=others,
    )
    return trigger_client_event(response, "entry-saved")


def _already(
    request: HtmxRequest,
    incident: Incident,
    kind: str,
    before: services.AlreadyDoneError,
) -> HttpResponse:
    """Somebody was first: who, and when. Nothing more is logged."""
    response = page(
        request,
        "sheet/partials/already.html" if request.htmx else "sheet/decision.html",
        incident,
        status=200 if request.htmx else 409,
        partial="sheet/partials/already.html",
        title=WORDS[kind].title,
        before=before,
        kind=kind,
    )
    return trigger_client_event(response, "entry-saved")


@incident_view("GET", roles=COMMAND)
def team(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """What can be decided on one team, a tap each."""
    view = selectors.sheet(incident, timezone.now())
    key = request.GET.get("team", "")
    card = next((c for c in board.cards_of(view) if c.verdict.team == key), None)
    if card is None:
        raise Http404("No such team.")
    return page(
        request,
        "sheet/partials/team.html" if request.htmx else "sheet/decision.html",
        incident,
        partial="sheet/partials/team.html",
        title=card.verdict.name,
        card=card,
    )


@incident_view("POST", roles=WRITERS)
def undo(request: HtmxRequest, incident: Incident, seq: int) -> HttpResponse:
    """Take back what was just saved; both stay to be seen."""
    if not incident.entries.filter(seq=seq).exists():
        raise Http404("No such entry.")
    try:
        appended = services.undo(
            incident_id=incident.pk,
            person=request.user,
            seq=seq,
            recorded_at=timezone.now(),
        )
    except services.NotAllowedError as refusal:
        raise PermissionDenied(str(refusal)) from refusal
    except services.AlreadyDoneError as before:
        return _already(request, incident, "undo", before)
    return _saved(request, incident, "undo", appended, [])
