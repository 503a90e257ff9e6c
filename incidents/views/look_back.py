"""Look back on one incident: over its time, at one moment, and what its times came to."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpResponse, QueryDict
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from incidents import selectors
from incidents.forms.look_back import AtForm, RangeForm
from incidents.measured import measures_of
from incidents.models import Incident
from incidents.selectors import critique, look_back
from incidents.selectors.profiles import today_of
from incidents.services import permissions
from incidents.then import then
from incidents.views.access import HtmxRequest, incident_view, page, role_in, zone_of
from incidents.views.figures import duration, figures_of
from incidents.views.sheet import LINES_SHOWN, drawn
from incidents.views.timelines import timeline_of
from incidents.views.words import rows_html
from review.stretches import Stretch, chosen, nearer, presets, window
from review.timeline import Asked, Group, Mark, Timeline

if TYPE_CHECKING:
    from reports.timeline_lanes import Pin

ROWS: Final = 200
MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What of the timeline is asked for; everything of it stands in the address."""

    start: datetime | None = None
    end: datetime | None = None
    groups: frozenset[Group] = frozenset()
    teams: frozenset[str] = frozenset()

    @classmethod
    def by(cls, form: RangeForm) -> "Shown":
        """What of the form could be read; the rest is said and shown in full."""
        form.is_valid()
        given = form.cleaned_data
        since, until = given.get("from"), given.get("to")
        return cls(
            start=since,
            end=until,
            groups=frozenset(Group(each) for each in given.get("kind") or ()),
            teams=frozenset(given.get("team") or ()),
        )

    def of(self, whole: Timeline) -> Timeline:
        start, end = self.start or whole.start, self.end or whole.end
        part = chosen(whole, self.groups, self.teams)
        if (self.start is None and self.end is None) or start >= end:
            return part
        return window(part, start, end)

    def query(self, stretch: Stretch | None = None, **more: object) -> str:
        """The address of another stretch with the same kinds and teams."""
        query = QueryDict(mutable=True)
        start, end = self.start, self.end
        if stretch is not None:
            start, end = stretch.start, stretch.end
        for name, moment in (("from", start), ("to", end)):
            if moment is not None:
                query[name] = moment.isoformat(timespec="seconds")
        query.setlist("kind", sorted(self.groups))
        query.setlist("team", sorted(self.teams))
        for name, value in more.items():
            query[name] = str(value)
        return f"?{query.urlencode()}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table under the chart."""

    mark: Mark
    team: str
    heard: str  # how long a Stop or Withdraw of it waited; "" for what is none
    then: str  # where the sheet of that moment is


def not_during_a_drill(incident: Incident) -> None:
    """Raise `PermissionDenied` for who is in a drill that goes on: it would show the
    verdicts before the crew has said its own."""
    goes_on = incident.is_drill and not incident.is_closed
    if goes_on and role_in(incident) != permissions.TRAINING_OFFICER:
        raise PermissionDenied("A drill is looked back on when it is over.")


@incident_view("GET")
def timeline(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The chart, the same data as a table, the figures, and what was said of it."""
    not_during_a_drill(incident)
    now, zone = timezone.now(), zone_of(incident)
    measures = measures_of(incident, now)
    whole = timeline_of(incident, measures, now)
    names = {team.key: team.name for team in whole.teams}
    form = RangeForm(
        request.GET, teams=list(names.items()), zone=zone, since=whole.start
    )
    shown = Shown.by(form)
    part = shown.of(whole)
    notes = critique.notes_of(incident)
    heard = {one.seq: one for one in reversed(part.asked)}
    rows = Paginator(part.marks, ROWS).get_page(request.GET.get("page"))
    return page(
        request,
        "review/look_back.html",
        incident,
        status=422 if form.errors else 200,
        form=form,
        seen=part,
        charts=_charts(incident, part, notes, zone),
        stretches=_stretches(shown, whole, part),
        chosen=bool(request.GET) or bool(form.errors),
        rows=[_row(incident, mark, names, heard) for mark in rows],
        pages=rows,
        page_query=shown.query(),
        figures=figures_of(incident, measures, now),
        records=critique.by_record(notes),
        today=today_of(incident.agency, now),
        may_critique=role_in(incident) in permissions.CRITICS,
        imported=look_back.is_imported(incident),
    )


def _stretches(
    shown: Shown, whole: Timeline, part: Timeline
) -> list[tuple[str, str, bool]]:
    """Each with its name, its address and whether it is the one that is shown."""
    return [
        (
            one.label,
            shown.query(one),
            (one.start, one.end) == (part.start, part.end),
        )
        for one in (*presets(whole), *nearer(whole, part.start, part.end))
    ]


def _row(
    incident: Incident, mark: Mark, names: dict[str, str], asked: dict[int, Asked]
) -> Row:
    moment = max(mark.recorded_at, mark.at)
    return Row(
        mark=mark,
        team=names.get(mark.team, mark.team),
        heard=_heard(asked.get(mark.seq)),
        then=_then_address(incident, moment),
    )


def _heard(one: Asked | None) -> str:
    if one is None:
        return ""
    if one.heard_at is None:
        return "not heard"
    return f"heard after {duration((one.heard_at - one.at).total_seconds())}"


def _then_address(incident: Incident, at: datetime) -> str:
    query = QueryDict(mutable=True)
    # The whole of a second is played: what was recorded in it is there.
    query["at"] = at.isoformat()
    address = reverse("incidents:look-back-at", args=(incident.pk,))
    return f"{address}?{query.urlencode()}"


def _charts(
    incident: Incident,
    part: Timeline,
    notes: Iterable[critique.NoteRow],
    zone: ZoneInfo,
) -> list[tuple[str, SafeString]]:
    """The two halves for a wide page and the whole for a phone; the style shows one of
    both."""
    # Loads the fonts' measures: only these pages need them.
    from reports import drawing
    from reports.timeline_chart import PAGE, PHONE, Lanes, timeline_chart

    pins = list(_pins(part, notes))

    def address(mark: Mark) -> str:
        return reverse("incidents:entry", args=(incident.pk, mark.seq))

    def drawn_as(name: str, width: float, lanes: Lanes) -> tuple[str, SafeString]:
        chart = timeline_chart(
            part, zone, address, notes=pins, width=width, lanes=lanes
        )
        # The drawing escapes every text that came from people (reports.drawing).
        return name, mark_safe(drawing.svg(chart, f"timeline-{name}-{lanes.value}"))

    charts = [drawn_as("wide", PAGE, Lanes.SHOWN)]
    if part.channels:
        charts.append(drawn_as("wide", PAGE, Lanes.CHANNELS))
    return [*charts, drawn_as("narrow", PHONE, Lanes.ALL)]


def _pins(part: Timeline, notes: Iterable[critique.NoteRow]) -> Iterator["Pin"]:
    """What was said of the time that is shown, to be pinned to it."""
    from reports.timeline_lanes import Pin

    for row in notes:
        if row.stands and part.start <= row.note.at <= part.end:
            kind = row.note.get_kind_display()
            yield Pin(
                at=row.note.at,
                letter=kind[0],
                words=f"{kind}: {row.last.text}",
                href=f"#note-{row.note.pk}",
            )


@incident_view("GET")
def at(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The sheet as it was at a moment, by what was known then; nothing can be pressed."""
    not_during_a_drill(incident)
    zone, rows = zone_of(incident), look_back.rows_of(incident)
    form = AtForm(request.GET, zone=zone, since=incident.opened_at)
    wanted = form.cleaned_data.get("at") if form.is_valid() else None
    span = look_back.span_of(incident, rows, timezone.now())
    imported = look_back.is_imported(incident)
    moments = sorted({r.observed_at if imported else r.recorded_at for r in rows})
    first, last = moments[0], max(span.end, moments[-1])
    moment = min(max(wanted or first, first), last)
    past = then(incident, moment)
    recorded = selectors.log_rows_then(past, limit=LINES_SHOWN)
    lines = rows_html(recorded, incident)
    before = [each for each in moments if each < moment]
    after = [each for each in moments if each > moment]
    steps = (
        ("Beginning", first if moment > first else None),
        ("A minute back", max(first, moment - MINUTE) if moment > first else None),
        ("Record before", before[-1] if before else None),
        ("Next record", after[0] if after else None),
        ("A minute on", min(last, moment + MINUTE) if moment < last else None),
        ("End", last if moment < last else None),
    )
    return page(
        request,
        "review/then.html",
        incident,
        status=422 if form.errors else 200,
        form=form,
        moment=moment,
        last=past.last,
        imported=imported,
        steps=[(w, _then_address(incident, each) if each else "") for w, each in steps],
        live=drawn(past.incident, selectors.sheet_then(past), lines),
    )
