from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from incidents.models import Person
from incidents.services import people, second_step
from incidents.services.signing_in import Try


class Command(BaseCommand):
    help = (
        "Give someone a password made at random and print it, for when nobody who runs "
        "the agency can sign in. It ends what they are signed in at; they make one of "
        "their own at the next sign-in."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username", help="the name to sign in with")
        parser.add_argument(
            "--without-second-step",
            action="store_true",
            help="take the second step away, too",
        )

    def handle(
        self, *, username: str, without_second_step: bool, **options: Any
    ) -> None:
        person = Person.objects.filter(username=username).first()
        if person is None:
            raise CommandError(f"There is no {username}.")
        if not person.is_active:
            raise CommandError(f"{username} may not sign in any more.")
        attempt = Try(name=username, address="", at=timezone.now())
        password = people.give_new_password(person=person, attempt=attempt)
        if without_second_step:
            second_step.remove(person, attempt)
        self.stdout.write(f"{person.username} of {person.agency}: {password}")
