import io
import os
from argparse import ArgumentParser
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from incidents.management.serving import Tls, free_port, serve
from incidents.serving import authority
from incidents.serving.authority import Files, ServingError
from incidents.serving.install_page import InstallServer

EVERYWHERE: Final = "0.0.0.0"  # phones are on the network, not on this machine
HTTPS_PORT: Final = 8443


class Command(BaseCommand):
    help = (
        "Serve over https on the local network. Makes a private certificate authority "
        "for NAME once, a certificate from it, and prints a page and a QR code with "
        "which a phone installs the authority."
    )
    requires_system_checks = ()  # migrate runs them

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--https",
            metavar="NAME",
            required=True,
            help="the host name or address under which phones reach this machine",
        )
        parser.add_argument("--address", default=EVERYWHERE, help="listen on")
        parser.add_argument("--port", type=int, default=HTTPS_PORT)
        parser.add_argument(
            "--certificate", type=Path, help="your own certificate chain (PEM)"
        )
        parser.add_argument("--key", type=Path, help="and its key (PEM)")

    def handle(
        self,
        *,
        https: str,
        address: str,
        port: int,
        certificate: Path | None,
        key: Path | None,
        **options: Any,
    ) -> None:
        if (certificate is None) != (key is None):
            raise CommandError("--certificate and --key go together.")
        try:
            host = authority.host_name(https)
            tls, files = self._tls(host, certificate, key)
        except (ServingError, OSError) as error:
            raise CommandError(str(error)) from error
        port = free_port(address, port)
        worksheet = f"https://{_bracketed(host)}:{port}/"
        _tell_the_server_process(host, worksheet)
        call_command("migrate", verbosity=0, interactive=False)
        self.stdout.write(f"\nThe worksheet: {worksheet}")
        if files is not None:
            self._offer_authority(files, host, address, port, worksheet)
        self.stdout.write("Ctrl-C stops the server; the data stay.")
        serve(address, port, tls)

    def _tls(
        self, host: str, certificate: Path | None, key: Path | None
    ) -> tuple[Tls, Files | None]:
        """The given certificate, or one of our own authority."""
        if certificate is not None and key is not None:
            for path in (certificate, key):
                if not path.is_file():
                    raise ServingError(f"There is no {path}.")
            return Tls(certificate=certificate, key=key), None
        files = Files(directory=Path(settings.WORKSHEET_DATA) / "https")
        passphrase = settings.SIGNING_PASSPHRASE
        authority.ensure(files, host=host, passphrase=passphrase, now=timezone.now())
        return Tls(certificate=files.certificate, key=files.key), files

    def _offer_authority(
        self, files: Files, host: str, address: str, port: int, worksheet: str
    ) -> None:
        import segno

        mark = authority.fingerprint(files)
        http_port = free_port(address, port + 1)
        InstallServer(
            (address, http_port),
            worksheet=worksheet,
            fingerprint=mark,
            der=authority.authority_der(files),
        ).start()
        page = f"http://{_bracketed(host)}:{http_port}/"
        self.stdout.write(f"For each phone, once: {page}")
        code = io.StringIO()
        segno.make(page, error="m").terminal(out=code, compact=True)
        self.stdout.write(code.getvalue())
        self.stdout.write(f"The authority's fingerprint (SHA-256):\n{mark}\n")


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _tell_the_server_process(host: str, worksheet: str) -> None:
    """The server's own process is a copy of this one, or reads the environment anew."""
    hosts = sorted({*settings.ALLOWED_HOSTS, host})
    origins = [*settings.CSRF_TRUSTED_ORIGINS, worksheet.rstrip("/")]
    os.environ["SERVED_OVER_HTTPS"] = "1"
    os.environ["ALLOWED_HOSTS"] = ",".join(hosts)
    os.environ["CSRF_TRUSTED_ORIGINS"] = ",".join(origins)
    settings.ALLOWED_HOSTS = hosts
    settings.CSRF_TRUSTED_ORIGINS = origins
    for name in ("SERVED_OVER_HTTPS", "SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE"):
        setattr(settings, name, True)
