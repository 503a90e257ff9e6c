"""Check a sealed report against its signature, the stored hash and the log."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from incidents.report_checks import Checked, check, known_here


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
        from reports.verifying import verify_pdf

        pdf = self._read(options["file"])
        roots = self._roots(options["root"])
        known = known_here(roots or (), only=roots is not None)
        found = check(pdf, known, lambda data, given: verify_pdf(data, known=given))
        for one in found.checks:
            self.stdout.write(str(one))
        self._facts(found)
        failed = [one.name for one in found.checks if not one.holds]
        if failed:
            raise CommandError(f"This report does not hold: {', '.join(failed)}.")
        self.stdout.write("This report holds.")

    def _facts(self, found: Checked) -> None:
        said = found.verification
        if found.report is not None:
            incident = found.report.incident
            self.stdout.write(f"Incident: {incident.name} ({incident.pk})")
        if said.signer:
            self.stdout.write(f"Signed by: {found.signed_by} (PAdES {said.level})")
        if said.signed_at:
            self.stdout.write(f"Signed: {said.signed_at}, by the signer's own clock")
        if said.stamp:
            self.stdout.write(f"Time-stamp: {said.stamp.at}, by {said.stamp.by}")

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
