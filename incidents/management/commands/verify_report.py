"""Check a sealed report against its signature, the stored hash and the log."""

from argparse import ArgumentParser
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError

from incidents.models import Report, SigningKey
from incidents.services import chain

if TYPE_CHECKING:
    from reports.verifying import Check, Verification


class Command(BaseCommand):
    help = (
        "Check a sealed report: the signature (whole file, no later change of any kind), "
        "the stored SHA-256, the attached records against the printed head, and that "
        "head against the log. Says of each whether it holds; succeeds only if all do."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="the PDF to check")
        parser.add_argument(
            "--root",
            type=Path,
            help="a root certificate to trust (PEM or DER) in place of those stored",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        pdf = self._read(options["file"])
        roots = self._roots(options["root"])
        report, checked = verified(pdf, roots)
        checks = [*checked.checks, *log_checks(report, checked)]
        for check in checks:
            self.stdout.write(str(check))
        if report is not None:
            incident = report.incident
            self.stdout.write(f"Incident: {incident.name} ({incident.pk})")
        if checked.signed_at:
            self.stdout.write(f"Signed: {checked.signed_at}, by the signer's own clock")
        failed = [check.name for check in checks if not check.holds]
        if failed:
            raise CommandError(f"This report does not hold: {', '.join(failed)}.")
        self.stdout.write("This report holds.")

    def _read(self, path: Path) -> bytes:
        try:
            return path.read_bytes()
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}.") from error

    def _roots(self, path: Path | None) -> list[bytes] | None:
        from reports.keys import certificate_from_file

        if path is None:
            return None
        try:
            return [certificate_from_file(self._read(path))]
        except ValueError as error:
            raise CommandError(f"{path} holds no certificate.") from error


def verified(
    pdf: bytes, roots: list[bytes] | None
) -> "tuple[Report | None, Verification]":
    """The stored report that a file is, or was made from, and what holds of the file.

    A changed file is known by the head that it prints: its stored hash then differs.
    Without `roots` those of the report's agency are trusted.
    """
    import hashlib

    from reports.data import ChainHead
    from reports.verifying import verify_pdf

    digest = hashlib.sha256(pdf).hexdigest()
    report = _stored(sha256=digest)
    if report is None:
        report = _by_printed_head(pdf)
    if roots is None:
        roots = _stored_roots(report)
    kept = None
    if report is not None:
        kept = ChainHead(seq=report.head_seq, sha256=report.head_hash)
    checked = verify_pdf(
        pdf,
        roots,
        expected_sha256=report.sha256 if report else None,
        expected_head=kept,
    )
    return report, checked


def _by_printed_head(pdf: bytes) -> Report | None:
    from reports.verifying import printed_head

    try:
        head = printed_head(pdf)
    except Exception:  # what is wrong with the file is said by its checks
        return None
    if head is None:
        return None
    return _stored(head_hash=head.sha256, head_seq=head.seq)


def _stored(**fields: Any) -> Report | None:
    reports = Report.objects.select_related("incident__agency").defer("pdf")
    return reports.filter(**fields).first()


def _stored_roots(report: Report | None) -> list[bytes]:
    keys = SigningKey.objects.all()
    if report is not None:
        keys = keys.filter(agency=report.incident.agency)
    return [bytes(root) for root in keys.values_list("root_certificate", flat=True)]


def log_checks(report: Report | None, checked: "Verification") -> "Iterable[Check]":
    """The signer against the stored row, and the printed head against the log."""
    from reports.verifying import Check

    if report is None:
        words = "No stored report has this hash or prints this head."
        return [Check(name="log", holds=None, words=words)]
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
    return [signer, Check(name="log", holds=holds, words=words)]
