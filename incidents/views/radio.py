"""Entry by radio: a scribe types a line, sees what was understood, presses Enter."""

import hashlib
from dataclasses import dataclass
from typing import Final

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from incidents.documents import dumps
from incidents.forms.radio import RadioForm
from incidents.models import Incident
from incidents.radio import Known, Problem, Understood, check, complete, understand
from incidents.radio.line import LONGEST
from incidents.services import permissions
from incidents.views.access import WRITERS, HtmxRequest, incident_view, page, role_in
from incidents.views.answers import Answer, answer_of
from incidents.views.carried import Carried, carried_of
from incidents.views.sending import send
from incidents.views.words import Names, names_of
from reports.words import KIND_LABELS, describe
from screening.readings import Entry
from screening.substances import load as substances

_FEW: Final = 6  # problems and words that are offered


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A part of the line as it is shown again, marked where something is wrong."""

    text: str
    wrong: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What is shown under the line."""

    line: str
    parts: tuple[tuple[str, str], ...] = ()
    pieces: tuple[Piece, ...] = ()
    problems: tuple[str, ...] = ()
    may_follow: tuple[str, ...] = ()
    digest: str = ""  # of what was understood; "" where it cannot be saved


@incident_view("GET", "POST", roles=WRITERS)
def radio(request: HtmxRequest, incident: Incident) -> HttpResponse:
    now = timezone.now()
    carried = carried_of(incident)
    if request.method != "POST":
        return _page(request, incident, RadioForm(now=now), Heard(line=""))
    form = RadioForm(request.POST, now=now)
    if not form.is_valid():
        heard = _heard(incident, carried, str(request.POST.get("line", "")))[0]
        return _page(request, incident, form, heard, status=422)
    heard, understood = _heard(incident, carried, form.cleaned_data["line"])
    if not heard.digest:
        form.add_error("line", f"Not understood: {'; '.join(heard.problems)}.")
        return _page(request, incident, form, heard, status=422)
    if form.cleaned_data["shown"] != heard.digest:
        return _page(request, incident, form, heard, ask=True)
    form.understood = understood.body
    appended = send(request, incident, form)
    if appended is None:
        return _page(request, incident, form, heard, status=422)
    if not request.htmx:
        return redirect("incidents:entry", incident.pk, appended.entry.seq)
    answer = answer_of(request, incident, appended)
    return _page(request, incident, RadioForm(now=now), Heard(line=""), answer=answer)


@incident_view("GET", roles=WRITERS)
def radio_understood(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """What the line says so far, while it is typed."""
    line = request.GET.get("line", "")[: LONGEST + 1]
    heard, _ = _heard(incident, carried_of(incident), line)
    return page(request, "log/partials/understood.html", incident, heard=heard)


def _page(
    request: HtmxRequest,
    incident: Incident,
    form: RadioForm,
    heard: Heard,
    *,
    answer: Answer | None = None,
    ask: bool = False,
    status: int = 200,
) -> HttpResponse:
    return page(
        request,
        "log/partials/radio.html" if request.htmx else "log/radio.html",
        incident,
        status=status,
        form=form,
        heard=heard,
        answer=answer,
        ask=ask,
    )


def _heard(incident: Incident, carried: Carried, line: str) -> tuple[Heard, Understood]:
    if not line.strip():
        known = _known(incident, carried)
        offered = complete(line, known)[:_FEW]
        return Heard(line=line, may_follow=offered), Understood(body={})
    known, names = _known(incident, carried), names_of(incident)
    understood, entry = check(
        understand(line, known), line, names.context, carried.choices.now
    )
    return (
        Heard(
            line=line,
            parts=_parts(understood, entry, known, names),
            pieces=_pieces(line, understood.problems),
            problems=tuple(_said(line, each) for each in understood.problems[:_FEW]),
            may_follow=complete(line, known)[:_FEW],
            digest=_digest(understood) if entry is not None else "",
        ),
        understood,
    )


def _digest(understood: Understood) -> str:
    return hashlib.sha256(dumps(understood.body).encode()).hexdigest()[:20]


def _known(incident: Incident, carried: Carried) -> Known:
    """What the incident has names for, for this person."""
    choices, names = carried.choices, names_of(incident)
    context = names.context
    cells = {
        sensor
        for instrument in context.instruments.values()
        for sensor in instrument.sensors
    }
    last: dict[str, str] = {}
    for said in reversed(carried.said):
        if said.body.get("place") and said.body.get("team"):
            last[str(said.body["team"])] = str(said.body["place"])
    return Known(
        teams=names.teams,
        now=choices.now,
        zone=choices.zone,
        members=names.members,
        places=choices.places,
        last_places=last,
        containers=choices.containers,
        instruments={kind: dict(of) for kind, of in choices.instruments.items()},
        gases=tuple(sorted({*_gases(), *context.suspects, *cells} - _NO_GASES)),
        bands=tuple(context.profile.paper_chart),
        kinds=permissions.KINDS_OF_ROLE.get(role_in(incident)),
    )


def _gases() -> frozenset[str]:
    return frozenset(substance.name for substance in substances())


_NO_GASES: Final = frozenset({"lel", "oxygen", "co", "h2s", "voc"})


def _parts(
    understood: Understood, entry: Entry | None, known: Known, names: Names
) -> tuple[tuple[str, str], ...]:
    """Label and words of what was understood so far, in the order of the line."""
    body, assumed = understood.body, understood.assumed
    team = str(body.get("team", ""))
    pairs = []
    if team:
        only = " (the only team)" if "team" in assumed else ""
        pairs.append(("Team", names.team(team) + only))
    if "place" in body:
        pairs.append(("Place", _place(str(body["place"]), known, "place" in assumed)))
    if entry is not None:
        pairs.append((KIND_LABELS[entry.kind], describe(entry, names.of(entry.team))))
    elif "kind" in body:
        pairs.append((KIND_LABELS[body["kind"]], "…"))
    if "instrument" in body:
        of_kind = known.instruments.get(str(body.get("kind")), {})
        pairs.append(("With", of_kind.get(body["instrument"], body["instrument"])))
    at = f"{entry.at.astimezone(known.zone):%H:%M}" if entry and "at" in body else "now"
    pairs.append(("At", at))
    if "note" in body:
        pairs.append(("Note", str(body["note"])))
    return tuple(pairs)


def _place(place: str, known: Known, assumed: bool) -> str:
    if assumed:
        return f"{place} (as last time)"
    new = place.casefold() not in {each.casefold() for each in known.places}
    return f"{place} (a new place)" if new else place


def _said(line: str, problem: Problem) -> str:
    word = line[problem.start : problem.end]
    return f"at “{word}”: {problem.expected}" if word else f"next: {problem.expected}"


def _pieces(line: str, problems: tuple[Problem, ...]) -> tuple[Piece, ...]:
    pieces: list[Piece] = []
    done = 0
    for problem in sorted(problems, key=lambda each: each.start):
        if problem.start < done or problem.start == problem.end:
            continue
        pieces.append(Piece(text=line[done : problem.start], wrong=False))
        pieces.append(Piece(text=line[problem.start : problem.end], wrong=True))
        done = problem.end
    pieces.append(Piece(text=line[done:], wrong=False))
    return tuple(piece for piece in pieces if piece.text)
