from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from incidents.services.errors import NotAllowedError
from incidents.services.people import add_person


class Command(BaseCommand):
    help = (
        "Add someone who signs in, print a password made at random, and make their "
        "agency if it is new. What they may do in an incident its commander says."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username", help="the name to sign in with")
        parser.add_argument("--name", default="", help="the name on pages and reports")
        parser.add_argument("--agency", required=True)
        parser.add_argument(
            "--time-zone", help="of a new agency, such as America/Chicago"
        )
        parser.add_argument(
            "--may-open", action="store_true", help="may open and command incidents"
        )
        parser.add_argument(
            "--owner",
            action="store_true",
            help="runs the agency: adds people, gives new passwords, sees who signed in",
        )
        parser.add_argument(
            "--may-edit-sop",
            action="store_true",
            help="may write the SOP's limits for the agency",
        )
        parser.add_argument(
            "--may-review",
            action="store_true",
            help="looks back on every incident of the agency and runs its drills",
        )

    def handle(self, *, username: str, **options: Any) -> None:
        try:
            person, password = add_person(
                username=username,
                display_name=options["name"],
                agency=options["agency"],
                time_zone=options["time_zone"],
                may_open=options["may_open"],
                may_edit_sop=options["may_edit_sop"],
                may_review=options["may_review"],
                is_agency_owner=options["owner"],
            )
        except (NotAllowedError, ValueError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{person.username} of {person.agency}: {password}")
