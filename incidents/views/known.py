"""What is known beyond the log: the sources of everything, and what the readings fit."""

from django.http import HttpResponse
from django.views.decorators.http import require_GET

from incidents import engine
from incidents.models import Incident
from incidents.views.access import HtmxRequest, incident_view, page
from screening.evidence import EVIDENCE_CAUTION, evidence
from screening.observed import observed
from screening.sources import all_sources
from screening.substances import find
from screening.suspects import SUSPECT_CAUTION, Fact, about
from screening.trust import standing_log, untrusted

WORDS = {
    "contradicted": "Contradicted by a reading",
    "not_excluded": "Not excluded",
    "not_seen": "Could not have been seen",
}


@require_GET
def sources(request: HtmxRequest) -> HttpResponse:
    """Every rule, limit, formula and table, made from the code."""
    return page(request, "incident/sources.html", sources=all_sources())


@incident_view("GET")
def fits(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """What the readings say of the substances of the table; never what it is."""
    live = engine.live(incident)
    seen = observed(
        standing_log(live.state), live.context, untrusted(live.state, live.context)
    )
    weighed = evidence(seen)
    groups = [
        (words, [item for item in weighed if item.weight == weight])
        for weight, words in WORDS.items()
    ]
    return page(
        request,
        "incident/fits.html",
        incident,
        groups=groups,
        suspects=_suspects(live),
        evidence_caution=EVIDENCE_CAUTION,
        suspect_caution=SUSPECT_CAUTION,
    )


def _suspects(live: engine.Live) -> list[tuple[str, tuple[Fact, ...]]]:
    """Each named suspect with what the table knows of it, for the meter listed first."""
    meters = [
        item for item in live.context.instruments.values() if item.kind == "gas_meter"
    ]
    lamp = max((m.lamp_ev for m in meters if m.lamp_ev is not None), default=None)
    known = []
    for name in live.context.suspects:
        substance = find(name)
        facts = (
            about(
                substance,
                correction_factors=meters[0].correction_factors if meters else None,
                lel_basis=meters[0].lel_basis if meters else "",
                lamp_ev=lamp,
            )
            if substance is not None
            else ()
        )
        known.append((name, facts))
    return known
