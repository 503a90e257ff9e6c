from argparse import ArgumentParser
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from incidents import services
from incidents.management.serving import free_port, serve
from incidents.models import IncidentRole
from incidents.services import demo
from screening.verdicts import CAUTION

HOST: Final = "127.0.0.1"
FIRST_PORT: Final = 8000
ROLES = dict(IncidentRole.Role.choices)


class Command(BaseCommand):
    help = (
        "Try the worksheet out: make the tables, load an invented incident once, print a "
        "sign-in for each part and serve on this machine only. Running it again keeps the "
        "data."
    )
    requires_system_checks = ()  # migrate runs them, once there is a database

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--port",
            type=int,
            default=FIRST_PORT,
            help="the port to serve on; the next free one if it is taken (default 8000)",
        )
        parser.add_argument(
            "--no-serve", action="store_true", help="stop before serving"
        )
        parser.add_argument(
            "--new-passwords", action="store_true", help="make and print new passwords"
        )
        parser.add_argument(
            "--report",
            type=Path,
            metavar="PATH",
            help="play the incident to its end instead, close it, write its signed "
            "report to PATH and print the head of its chain",
        )

    def handle(
        self,
        *,
        port: int,
        no_serve: bool,
        new_passwords: bool,
        report: Path | None,
        **options: Any,
    ) -> None:
        if settings.PRODUCTION:
            raise CommandError(
                "WORKSHEET_MODE is production. The demo makes sign-ins and invented "
                "data; it does not go where real incidents are kept."
            )
        call_command("migrate", verbosity=0, interactive=False)
        play = demo.scenario()
        crew = demo.set_up(play, now=timezone.now())
        if report is not None:
            self._write_report(play, crew, report)
            return
        demo.add_drills(crew, now=timezone.now())
        if demo.served_incident(play) is None:
            demo.play_served(play, crew, now=timezone.now())
        made = demo.new_passwords(crew, replace=new_passwords)
        address = None if no_serve else (HOST, free_port(HOST, port))
        self._say(crew, made, address)
        if address is not None:
            serve(*address)

    def _write_report(self, play: demo.Scenario, crew: demo.Crew, path: Path) -> None:
        if not path.parent.is_dir():
            raise CommandError(f"The report could not be written: no {path.parent}.")
        incident = demo.play_to_the_end(play, crew, now=timezone.now())
        report = services.make_report(
            incident_id=incident.pk,
            person=crew.by_role[demo.COMMANDER],
            at=timezone.now(),
        )
        try:
            path.write_bytes(bytes(report.pdf))
        except OSError as error:
            raise CommandError(f"The report could not be written: {error}") from error
        self.stdout.write(f"Report   {path}")
        self.stdout.write(f"Incident {incident.pk}")
        self.stdout.write(f"Head     {report.head_seq}:{report.head_hash}")

    def _say(
        self, crew: demo.Crew, made: dict[str, str], address: tuple[str, int] | None
    ) -> None:
        lines = [""]
        if address is not None:
            lines += [f"The worksheet: http://{address[0]}:{address[1]}/", ""]
        lines.append("Sign in as   Password               Who")
        for role, person in crew.by_role.items():
            password = made.get(person.username, "as printed before")
            lines.append(
                f"{person.username:<12} {password:<22} {person.shown_name}, "
                f"{ROLES[role].lower()}"
            )
        if len(made) < len(crew.by_role):
            lines += [
                "",
                "Passwords are kept as hashes only; --new-passwords makes new ones.",
            ]
        lines += ["", f"Invented data. {CAUTION}"]
        if address is not None:
            lines += ["Ctrl-C stops the server; the data stay."]
        self.stdout.write("\n".join(lines))
        self.stdout.flush()
