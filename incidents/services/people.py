"""People and the agency that they belong to."""

import itertools
from collections.abc import Mapping
from typing import Any, Final

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.text import slugify

from incidents.codes import random_words
from incidents.models import Agency, Person, SignInRecord
from incidents.services import signing_in
from incidents.services.errors import NotAllowedError
from incidents.services.signing_in import Try
from incidents.text import clean_text
from incidents.time_zones import known_time_zone

Outcome = SignInRecord.Outcome
# What who runs an agency may set of its people.
MARKS: Final = (
    "may_open",
    "may_edit_sop",
    "may_review",
    "is_agency_owner",
    "is_active",
)


def random_password() -> str:
    """Sixteen characters in four groups, to be read out or typed from paper."""
    return random_words(4)


@transaction.atomic
def add_person(
    *, agency: str, time_zone: str | None, username: str, **about: Any
) -> tuple[Person, str]:
    """A new person of an agency by name, which is made if it is new.

    `about` as for `add_to_agency`. Raises `NotAllowedError` where the name is taken, or
    where a new agency comes without a time zone that is known.
    """
    name = clean_text(agency, max_length=200, one_line=True)
    if not name or not username.strip():
        raise NotAllowedError("A person needs a name to sign in with and an agency.")
    return add_to_agency(agency=_agency(name, time_zone), username=username, **about)


@transaction.atomic
def add_to_agency(
    *,
    agency: Agency,
    username: str,
    display_name: str = "",
    may_open: bool = False,
    may_edit_sop: bool = False,
    may_review: bool = False,
    is_agency_owner: bool = False,
) -> tuple[Person, str]:
    """A new person with a password made at random, to be changed at the first sign-in.

    Raises `NotAllowedError` where the name is taken.
    """
    login = clean_text(username, max_length=150, one_line=True)
    if not login:
        raise NotAllowedError("A person needs a name to sign in with.")
    if Person.objects.filter(username__iexact=login).exists():
        raise NotAllowedError(f"There is a {login} already.")
    person = Person(
        username=login,
        display_name=clean_text(display_name, max_length=120, one_line=True),
        agency=agency,
        may_open=may_open,
        may_edit_sop=may_edit_sop,
        may_review=may_review,
        is_agency_owner=is_agency_owner,
        must_change_password=True,
    )
    password = random_password()
    person.set_password(password)
    person.save(force_insert=True)
    return person, password


@transaction.atomic
def change_person(
    *, person: Person, by: Person, attempt: Try, changes: Mapping[str, Any]
) -> None:
    """Change what someone may do: `display_name` and the marks of `MARKS`.

    Whether they may sign in at all is kept in the record of sign-ins. Raises
    `NotAllowedError` where someone would shut themself out.
    """
    unknown = set(changes) - {"display_name", *MARKS}
    if unknown:
        raise NotAllowedError(f"{', '.join(sorted(unknown))} cannot be changed.")
    for mark in ("is_active", "is_agency_owner"):
        if person.pk == by.pk and changes.get(mark) is False:
            raise NotAllowedError("Someone else who runs the agency has to do that.")
    was_active = Person.objects.values_list("is_active", flat=True).get(pk=person.pk)
    for name, value in changes.items():
        setattr(person, name, value)
    person.save(update_fields=[*changes])
    if person.is_active != was_active:
        outcome = Outcome.LET_IN if person.is_active else Outcome.SHUT_OUT
        signing_in.keep(attempt, outcome, person, by=by)


def _agency(name: str, time_zone: str | None) -> Agency:
    known = Agency.objects.filter(name=name).first()
    if known is not None:
        return known
    if time_zone is None:
        raise NotAllowedError(f"There is no {name} yet: a new one needs its time zone.")
    try:
        known_time_zone(time_zone)
    except ValidationError as error:
        raise NotAllowedError(error.message) from error
    agency = Agency(name=name, time_zone=time_zone)
    save_agency(agency=agency)
    return agency


def save_agency(*, agency: Agency) -> None:
    """Keep an agency, with a short name where it has none; its fields were checked."""
    agency.slug = agency.slug or _free_slug(agency.name)
    agency.save()


def _free_slug(name: str) -> str:
    """A short name for the agency that no other has."""
    stem = slugify(name)[:56] or "agency"
    taken = set(
        Agency.objects.filter(slug__startswith=stem).values_list("slug", flat=True)
    )
    numbered = (f"{stem}-{number}" for number in itertools.count(2))
    return next(slug for slug in itertools.chain([stem], numbered) if slug not in taken)


@transaction.atomic
def change_password(*, person: Person, password: str, attempt: Try) -> None:
    """Take the person's own new password, which was checked; sign-ins elsewhere end."""
    person.set_password(password)
    person.must_change_password = False
    person.save(update_fields=["password", "must_change_password"])
    signing_in.keep(attempt, Outcome.PASSWORD_CHANGED, person)


@transaction.atomic
def give_new_password(*, person: Person, attempt: Try, by: Person | None = None) -> str:
    """Replace the password by one made at random, to be changed at the next sign-in."""
    password = random_password()
    person.set_password(password)
    person.must_change_password = True
    person.save(update_fields=["password", "must_change_password"])
    signing_in.keep(attempt, Outcome.PASSWORD_GIVEN, person, by=by)
    return password
