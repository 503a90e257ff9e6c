"""What holds of a sealed report: its signature, and this server's log where it is known."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from incidents.models import Agency, Incident, KeyRevocation, Report, SigningKey
from incidents.services import chain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from reports.checks import Check
    from reports.verifying import Known, Verification

NOT_HERE: Final = "This server holds no report of this hash and no log with this head."


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """Every check of one file; `report` is the stored one, if it is known here."""

    checks: "tuple[Check, ...]"
    verification: "Verification"
    report: Report | None
    # Whose key signed it, or whose root alone certified that key, of those kept here.
    agency: Agency | None

    @property
    def holds(self) -> bool:
        return all(check.holds for check in self.checks)

    @property
    def signed_by(self) -> str:
        """Who signed, by what is kept here and never by the certificate's text alone."""
        named = self.verification.signer
        if not named:
            return "nobody: no signature was found"
        if self.agency is not None and not self.refused:
            return f"{self.agency}; its certificate names “{named}”"
        return f"nobody who is known here; its certificate names “{named}”"

    @property
    def refused(self) -> "tuple[Check, ...]":
        return tuple(check for check in self.checks if check.holds is False)


def known_here(
    roots: "Iterable[bytes]" = (), lists: "Iterable[bytes]" = (), *, only: bool = False
) -> "Known":
    """What this server knows, with what was given; `only`: with the given roots alone."""
    from incidents.time_server import time_roots
    from reports.revoking import Revoked
    from reports.verifying import Known

    kept = () if only else SigningKey.objects.values_list("root_certificate", flat=True)
    rows = KeyRevocation.objects.select_related("key")
    return Known(
        roots=tuple(dict.fromkeys([*roots, *(bytes(root) for root in kept)])),
        time_roots=time_roots(),
        lists=tuple(lists),
        revoked=tuple(
            Revoked(
                fingerprint=row.key.fingerprint,
                at=row.since,
                words=row.get_reason_display(),
            )
            for row in rows
        ),
    )


def check(
    pdf: bytes,
    known: "Known",
    verify: "Callable[[bytes, Known], Verification]",
    may_see: "Callable[[Incident], bool]" = lambda incident: True,
) -> Checked:
    """All that can be said of a file. A log that may not be seen is one that is not here.

    A changed file is known by the head that it prints: its stored hash then differs.
    """
    from reports.data import ChainHead

    found = verify(pdf, known)
    head = found.printed_head
    report = _stored(sha256=found.sha256)
    if report is None and head is not None:
        report = _stored(head_hash=head.sha256, head_seq=head.seq)
    if report is not None and not may_see(report.incident):
        report = None
    if report is not None:
        kept = ChainHead(seq=report.head_seq, sha256=report.head_hash)
        found = found.held_against(sha256=report.sha256, head=kept)
    return Checked(
        checks=(*found.checks, *_log_checks(report, found)),
        verification=found,
        report=report,
        agency=_agency_of(found),
    )


def _stored(**fields: Any) -> Report | None:
    reports = Report.objects.select_related("incident__agency").defer("pdf")
    return reports.filter(**fields).first()


def _agency_of(found: "Verification") -> Agency | None:
    """The agency whose key signed; else the one agency whose trusted root certified it.

    Several agencies may have their keys from one root: that root then names none of them.
    """
    from reports.keys import fingerprint

    if not found.anchor_fingerprint:
        return None
    keys = list(SigningKey.objects.select_related("agency"))
    for key in keys:
        if key.fingerprint == found.certificate_fingerprint:
            return key.agency
    named = {
        key.agency_id: key.agency
        for key in keys
        if fingerprint(bytes(key.root_certificate)) == found.anchor_fingerprint
    }
    return next(iter(named.values())) if len(named) == 1 else None


def _log_checks(report: Report | None, checked: "Verification") -> "tuple[Check, ...]":
    """The signer against the stored row, and the printed head against the log."""
    from reports.checks import Check

    if report is None:
        return (Check(name="log", holds=None, words=NOT_HERE),)
    same = checked.certificate_fingerprint == report.certificate_fingerprint
    words = f"Signed with certificate {checked.certificate_fingerprint or 'unknown'}"
    signer = Check(
        name="signer",
        holds=same,
        words=words + (", as stored." if same else ", not the stored one."),
    )
    head = checked.printed_head
    anchor = chain.Anchor(seq=head.seq, hash=head.sha256) if head else None
    problem = chain.verify(report.incident, anchor=anchor)
    words = "Every record of the log holds, and the printed head is one of them."
    if head is None:
        words = "The file prints no head to look for in the log."
    elif problem:
        words = f"{problem}."
    holds = problem is None and head is not None
    return (signer, Check(name="log", holds=holds, words=words))
