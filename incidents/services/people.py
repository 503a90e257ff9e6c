"""People and the agency that they belong to."""

import secrets
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db import transaction
from django.utils.text import slugify

from incidents.models import Agency, Person
from incidents.services.errors import NotAllowedError
from incidents.text import clean_text

# Without the letters and figures that are taken for one another.
_LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"


def random_password() -> str:
    """Sixteen characters in four groups, to be read out or typed from paper."""
    groups = ("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(4))
    return "-".join(groups)


@transaction.atomic
def add_person(
    *,
    username: str,
    display_name: str,
    agency: str,
    time_zone: str | None,
    may_open: bool,
) -> tuple[Person, str]:
    """A new person with a password made at random; the agency is made if it is new.

    Raises `NotAllowedError` where the name is taken, or where a new agency comes without
    a time zone that is known.
    """
    name = clean_text(agency, max_length=200, one_line=True)
    login = clean_text(username, max_length=150, one_line=True)
    if not name or not login:
        raise NotAllowedError("A person needs a name to sign in with and an agency.")
    if Person.objects.filter(username__iexact=login).exists():
        raise NotAllowedError(f"There is a {login} already.")
    person = Person(
        username=login,
        display_name=clean_text(display_name, max_length=120, one_line=True),
        agency=_agency(name, time_zone),
        may_open=may_open,
    )
    password = random_password()
    person.set_password(password)
    person.save(force_insert=True)
    return person, password


def _agency(name: str, time_zone: str | None) -> Agency:
    known = Agency.objects.filter(name=name).first()
    if known is not None:
        return known
    if time_zone is None:
        raise NotAllowedError(f"There is no {name} yet: a new one needs its time zone.")
    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise NotAllowedError(f"{time_zone} is no known time zone.") from error
    return Agency.objects.create(
        name=name, slug=slugify(name)[:60] or "agency", time_zone=time_zone
    )
