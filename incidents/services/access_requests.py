"""Who asked for records of a person, and what was answered: 29 CFR 1910.1020(e)."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from incidents.medical import code_of
from incidents.models import AccessAnswer, AccessRequest, Agency, Person
from incidents.services.errors import AlreadyDoneError, NotAllowedError
from incidents.services.locking import one_transaction
from incidents.services.typed import refused, typed
from incidents.working_days import due_on

AskedAs, What, Outcome = (
    AccessRequest.AskedAs,
    AccessRequest.What,
    AccessAnswer.Outcome,
)


def record_request(
    *,
    person: Person,
    for_whom: str,
    asked_as: str,
    what: str,
    received_on: date,
    at: datetime,
    asked_by: str = "",
    authority: str = "",
    wanted: str = "",
) -> AccessRequest:
    """Record a request on the day that it came; who runs the agency does.

    A union may ask for exposure records and analyses as it is; for medical ones, and
    anybody else for all, a written authorisation is needed (29 CFR 1910.1020(c)(3),
    (e)(2)(ii); from memory).
    """
    agency = _agency_run_by(person)
    if asked_as not in AskedAs.values:
        raise refused("/asked_as", "one of the ways to ask")
    if what not in What.values:
        raise refused("/what", "one of the kinds of records")
    name = typed(for_whom, "/for_whom", longest=120, one_line=True, needed="whose")
    is_own = asked_as == AskedAs.PERSON
    by = _who_asks(asked_by, name, is_own=is_own)
    by_right = asked_as == AskedAs.UNION and what != What.MEDICAL
    needs = "the written authorisation: of whom, and its day"
    why = "" if is_own or by_right else needs
    _check_day(received_on, "/received_on", agency, at)
    return AccessRequest.objects.create(
        agency=agency,
        person_name=name,
        person_code=code_of(name),
        asked_by=by,
        asked_as=asked_as,
        authority=typed(
            authority, "/authority", longest=500, one_line=True, needed=why
        ),
        what=what,
        wanted=typed(wanted, "/wanted", longest=1000),
        received_on=received_on,
        due_on=due_on(received_on),
        recorded_at=at,
        recorded_by=person,
    )


def _who_asks(asked_by: str, name: str, *, is_own: bool) -> str:
    """Who asks, which is the person of that `name` where it is their own record."""
    by = typed(
        asked_by or (name if is_own else ""),
        "/asked_by",
        longest=120,
        one_line=True,
        needed="who asks",
    )
    if is_own and code_of(by) != code_of(name):
        raise refused("/asked_by", "the person, or somebody with an authorisation")
    return by


def answer_request(
    *,
    request_id: int,
    person: Person,
    outcome: str,
    answered_on: date,
    words: str,
    at: datetime,
    earliest_on: date | None = None,
) -> AccessAnswer:
    """Record what was answered, when. A delay needs its reason and the earliest day.

    Raises `AlreadyDoneError` where access was given or the request taken back before.
    """
    agency = _agency_run_by(person)
    if outcome not in Outcome.values:
        raise refused("/outcome", "one of the answers")
    with one_transaction():
        rows = AccessRequest.objects.select_for_update().filter(agency=agency)
        asked = rows.filter(pk=request_id).first()
        if asked is None:
            raise NotAllowedError("No such request of your agency.")
        ended = asked.answers.exclude(outcome=Outcome.LATER).first()
        if ended is not None:
            raise AlreadyDoneError(
                "This request was answered before.",
                by=ended.recorded_by.shown_name,
                at=ended.recorded_at,
            )
        _check_day(answered_on, "/answered_on", agency, at)
        if answered_on < asked.received_on:
            raise refused("/answered_on", "a day on or after that of the request")
        is_later = outcome == Outcome.LATER
        if is_later and (earliest_on is None or earliest_on <= answered_on):
            raise refused("/earliest_on", "the earliest day, after that of the answer")
        return AccessAnswer.objects.create(
            request=asked,
            outcome=outcome,
            answered_on=answered_on,
            words=typed(words, "/words", needed=_NEEDED[Outcome(outcome)]),
            earliest_on=earliest_on if is_later else None,
            recorded_at=at,
            recorded_by=person,
        )


_NEEDED = {
    Outcome.GIVEN: "what was given, and how",
    Outcome.LATER: "the reason, as it was written",
    Outcome.WITHDRAWN: "how it was taken back",
}


def _agency_run_by(person: Person) -> Agency:
    if person.agency is None or not (person.is_active and person.is_agency_owner):
        raise NotAllowedError("Who runs the agency keeps the log of requests.")
    return person.agency


def _check_day(day: date, pointer: str, agency: Agency, at: datetime) -> None:
    if day > at.astimezone(ZoneInfo(agency.time_zone)).date():
        raise refused(pointer, "a day that has come")
