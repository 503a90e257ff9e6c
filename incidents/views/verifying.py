"""A page that says what holds of a report: a file in, plain words out, nothing kept."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from incidents import report_checks, selectors
from incidents.forms.signing import VerifyForm
from incidents.models import Incident
from incidents.report_checks import Checked
from incidents.views.access import HtmxRequest, page


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One check in words: what it is about, and how it went."""

    about: str
    outcome: str
    words: str


ABOUT = {
    "signature": "The signature",
    "trust": "Who certified it",
    "revocation": "Revocation",
    "time-stamp": "The time",
    "coverage": "The whole file",
    "no later change": "Changes since",
    "container": "The signature's container",
    "attachments": "The attached files",
    "printed head": "The printed head",
    "worksheet": "The attached worksheet",
    "stored SHA-256": "The file kept here",
    "kept head": "The head kept here",
    "signer": "The key kept here",
    "log": "This server's log",
}
NOT_CERTIFIED = (
    "Its bytes are as they were signed, but nobody who is known here certified the key, or "
    "not for that time. If you have the agency's root certificate, give it below."
)
OUTCOME = {True: "in order", False: "not in order", None: "not checked"}


@require_http_methods(["GET", "POST"])
def verify(request: HtmxRequest) -> HttpResponse:
    """Choose a report; be told whether it holds, who signed it, and by whose clock."""
    sent = request.method == "POST"
    form = VerifyForm(request.POST if sent else None, request.FILES if sent else None)
    found: Checked | None = None
    if form.is_bound and form.is_valid():
        found = _checked(request, form)
    return page(
        request,
        "keys/verify.html",
        status=422 if form.is_bound and found is None else 200,
        form=form,
        found=found,
        verdict=_verdict(found) if found else "",
        lines=_lines(found) if found else (),
    )


def _checked(request: HtmxRequest, form: VerifyForm) -> Checked | None:
    from reports.apart import NotCheckedError, verify_apart

    root, revoked = form.cleaned_data["root"], form.cleaned_data["revoked"]
    known = report_checks.known_here(
        (root,) if root else (), (revoked,) if revoked else ()
    )
    try:
        return report_checks.check(
            form.cleaned_data["file"].read(),
            known,
            verify_apart,
            lambda incident: _may_see(request, incident),
        )
    except NotCheckedError as refusal:
        form.add_error("file", str(refusal))
        return None


def _may_see(request: HtmxRequest, incident: Incident) -> bool:
    """A log of which the person has no part is to them one of another server."""
    return selectors.may_see_incident(request.user, incident.pk)


def _verdict(found: Checked) -> str:
    """The one sentence that everything comes down to."""
    if found.refused:
        words = "This report does not hold."
        return f"{words} {NOT_CERTIFIED}" if _by_nobody_known(found) else words
    if found.report is None:
        return (
            "The report holds in itself. It is not held against a log: it was made on "
            "another server, or you have no part in its incident."
        )
    if found.holds:
        return "This report holds, and this server's log says the same."
    return "What could be checked holds."


def _by_nobody_known(found: Checked) -> bool:
    """Its bytes are as they were signed; what is missing is who stands behind the key."""
    holds = {check.name: check.holds for check in found.checks}
    return bool(holds.get("signature")) and holds.get("trust") is False


def _lines(found: Checked) -> list[Line]:
    """What is not in order stands first: it must not be looked for among the rest."""
    checks = sorted(found.checks, key=lambda check: check.holds is not False)
    return [
        Line(
            about=ABOUT.get(check.name, check.name),
            outcome=OUTCOME[check.holds],
            words=check.words,
        )
        for check in checks
    ]
