"""What is known beyond the log: the sources of everything, and what the readings fit."""

from collections import Counter
from dataclasses import dataclass
from typing import Final

from django.http import HttpResponse
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from incidents import engine
from incidents.models import Incident
from incidents.views.access import HtmxRequest, incident_view, page, zone_of
from screening.evidence import EVIDENCE_CAUTION
from screening.fits import fold, weighed_log
from screening.sources import FROM_MEMORY, NOT_STATED, SourceRow, all_sources
from screening.suspects import SUSPECT_CAUTION, named_suspects

# Kinds of the table of sources in the words of the page.
KINDS: Final = {
    "rule": "Rules",
    "limit": "Limits",
    "fixed number": "Fixed numbers",
    "formula": "Formulas",
    "table": "Tables",
    "method": "Methods",
    "substance": "Substances",
}
WEAK: Final = (NOT_STATED, FROM_MEMORY, "memory")


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceLine:
    """One row as the page has it."""

    row: SourceRow
    anchor: str

    @property
    def title(self) -> str:
        return self.row.title[:1].upper() + self.row.title[1:].replace("`", "")

    @property
    def weak(self) -> bool:
        """Nothing that was read stands behind it."""
        return self.row.status in WEAK


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceKind:
    slug: str
    label: str
    rows: tuple[SourceLine, ...]

    @property
    def counted(self) -> str:
        """Such as "published 13, common practice, no source 25"."""
        statuses = Counter(line.row.status for line in self.rows)
        if len(statuses) > MOST_STATUSES:  # a substance counts its own cells
            return "Each value has a source and a status of its own."
        return "; ".join(f"{status}: {n}" for status, n in statuses.most_common())


# More than this many, and they are no list of statuses.
MOST_STATUSES: Final = 8


@require_GET
def sources(request: HtmxRequest) -> HttpResponse:
    """Every rule, limit, formula and table, made from the code."""
    rows = all_sources()
    kinds = [
        SourceKind(
            slug=slugify(label),
            label=label,
            rows=tuple(
                SourceLine(row=row, anchor=_anchor(row))
                for row in rows
                if row.kind == kind
            ),
        )
        for kind, label in KINDS.items()
    ]
    return page(request, "incident/sources.html", kinds=kinds)


def _anchor(row: SourceRow) -> str:
    """What a link points to: a method by its id alone, the rest by kind and id."""
    if row.kind == "method":
        return row.id
    return slugify(f"{row.kind} {row.id}".replace(".", "-").replace("_", "-"))


@incident_view("GET")
def fits(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """What the readings say of the substances of the table; never what it is."""
    live = engine.live(incident)
    weighed = weighed_log(live.state, live.context, zone_of(incident))
    worn = [each for team in live.state.core.teams.values() for each in team.worn]
    return page(
        request,
        "incident/fits.html",
        incident,
        groups=fold(weighed),
        total=len(weighed),
        suspects=named_suspects(live.context, worn, weighed),
        evidence_caution=EVIDENCE_CAUTION,
        suspect_caution=SUSPECT_CAUTION,
    )
