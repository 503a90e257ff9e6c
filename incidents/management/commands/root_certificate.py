from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from incidents.models import SigningKey


class Command(BaseCommand):
    help = (
        "Print the root certificate of an agency as PEM, with its SHA-256. Whoever is to "
        "check reports gets it once, by hand, and trusts it from then on."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--agency", help="needed where there are several")

    def handle(self, *, agency: str | None, **options: Any) -> None:
        from cryptography import x509
        from cryptography.hazmat.primitives import hashes, serialization

        keys = SigningKey.objects.filter(retired_at=None).select_related("agency")
        if agency is not None:
            keys = keys.filter(agency__name=agency)
        found = list(keys)
        if not found:
            raise CommandError("No key yet: it is made with the first report.")
        if len(found) > 1:
            names = ", ".join(sorted(key.agency.name for key in found))
            raise CommandError(f"Name the agency with --agency: {names}.")
        root = x509.load_der_x509_certificate(bytes(found[0].root_certificate))
        self.stdout.write(f"{found[0].agency.name}")
        self.stdout.write(f"SHA-256 {root.fingerprint(hashes.SHA256()).hex(':')}")
        self.stdout.write(root.public_bytes(serialization.Encoding.PEM).decode())
