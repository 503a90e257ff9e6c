"""Tries to sign in: when the next one is not looked at, and what is kept."""

import uuid
from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction

from incidents.models import SignInRecord
from incidents.services import signing_in
from incidents.services.signing_in import HELD_FOR, TRIES, HeldBackError, Try
from tests.factories import START, PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

Outcome = SignInRecord.Outcome
HERE, ELSEWHERE = "192.0.2.7", "198.51.100.9"


def attempt(name="dana", address=HERE, at=START, **changes):
    return Try(name=name, address=address, at=at, **changes)


def fail(times, *, every=timedelta(seconds=1), **about):
    start = about.pop("at", START)
    for number in range(times):
        signing_in.refused(attempt(at=start + number * every, **about))
    return start + times * every


def is_held(**about):
    try:
        signing_in.refuse_if_held(attempt(**about))
    except HeldBackError:
        return True
    return False


@pytest.mark.parametrize(("times", "held"), [(0, False), (9, False), (10, True)])
def test_the_tenth_wrong_try_is_the_last_that_is_looked_at(times, held):
    assert TRIES == 10
    PersonFactory.create(username="dana")
    now = fail(times)

    assert is_held(at=now) is held


def test_it_says_when_the_next_try_counts_and_then_it_does():
    first = START
    now = fail(TRIES)

    with pytest.raises(HeldBackError) as held:
        signing_in.refuse_if_held(attempt(at=now))

    assert held.value.until == first + HELD_FOR
    assert "19:05:00 UTC" in str(held.value)
    assert is_held(at=first + HELD_FOR - timedelta(seconds=1))
    assert not is_held(at=first + HELD_FOR)


def test_trying_on_while_held_back_does_not_make_it_longer_nor_fill_the_table():
    now = fail(TRIES)

    for number in range(50):
        assert is_held(at=now + timedelta(seconds=number))

    assert not is_held(at=START + HELD_FOR)
    assert SignInRecord.objects.filter(outcome=Outcome.HELD_BACK).count() == 1


def test_the_same_name_from_elsewhere_and_another_from_here_are_not_held_back():
    now = fail(TRIES)

    assert is_held(at=now)
    assert is_held(name="DANA", at=now)
    assert not is_held(address=ELSEWHERE, at=now)
    assert not is_held(name="robin", at=now)
    assert not is_held(what="invitation", at=now)


def test_wrong_tries_that_lie_far_apart_hold_nobody_back():
    now = fail(30, every=HELD_FOR / (TRIES - 1))

    assert not is_held(at=now)


def test_getting_in_takes_the_count_back_to_nothing():
    dana = PersonFactory.create(username="dana")
    now = fail(TRIES - 1)
    signing_in.keep(attempt(at=now), Outcome.SIGNED_IN, dana)

    assert not is_held(at=fail(TRIES - 1, at=now))
    assert is_held(at=fail(TRIES, at=now))


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("192.0.2.7", "192.0.2.8", False),
        ("192.0.2.7", "::ffff:192.0.2.7", True),
        # Whoever has an IPv6 address has a whole /64 of them.
        ("2001:db8:1:2::1", "2001:db8:1:2:ffff::9", True),
        ("2001:db8:1:2::1", "2001:db8:1:3::1", False),
        ("", "", True),
        ("", "192.0.2.7", False),
    ],
)
def test_one_origin_is_an_address_or_the_network_of_a_host(one, other, same):
    assert (signing_in.origin_of(one) == signing_in.origin_of(other)) is same


def test_a_name_that_nobody_has_is_not_kept_since_it_may_be_a_password():
    signing_in.refused(attempt(name="correct-horse-battery"))

    record = SignInRecord.objects.get()
    assert (record.outcome, record.name, record.person) == (
        Outcome.UNKNOWN_NAME,
        "",
        None,
    )
    assert "horse" not in record.key
    assert record.address == HERE


@pytest.mark.parametrize(
    ("active", "outcome"), [(True, "wrong_password"), (False, "not_active")]
)
def test_what_is_kept_of_a_known_person_says_who_from_where_and_what(active, outcome):
    dana = PersonFactory.create(username="dana", is_active=active)

    signing_in.refused(attempt())

    record = SignInRecord.objects.get()
    assert (record.person, record.agency, record.name) == (dana, dana.agency, "dana")
    assert (record.at, record.address, record.outcome) == (START, HERE, outcome)


def test_the_password_of_who_is_signed_in_is_counted_like_a_sign_in():
    dana = PersonFactory.create(username="dana")

    assert signing_in.password_holds(dana, "correct-horse-battery", attempt())
    for _ in range(TRIES):
        assert not signing_in.password_holds(dana, "wrong", attempt())

    with pytest.raises(HeldBackError):
        signing_in.password_holds(dana, "correct-horse-battery", attempt())


@pytest.mark.parametrize("statement", ["UPDATE {} SET name = 'x'", "DELETE FROM {}"])
def test_no_statement_changes_or_deletes_what_was_kept(statement):
    signing_in.refused(attempt())

    with (
        pytest.raises(DatabaseError, match="takes no"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement.format(SignInRecord._meta.db_table))

    assert SignInRecord.objects.count() == 1


def test_counting_costs_few_queries_however_much_was_kept(
    django_assert_max_num_queries,
):
    fail(TRIES)
    for _ in range(50):
        signing_in.refused(attempt(name=str(uuid.uuid4()), at=START))

    with django_assert_max_num_queries(3):
        signing_in.refuse_if_held(attempt(at=START + timedelta(hours=1)))
