"""Versions of an agency's SOP: who may write one, what it must hold, and that it stays."""

from datetime import timedelta
from decimal import Decimal

import pytest

from incidents.documents import loads
from incidents.house_rules import value_of
from incidents.models import SopProfile, SopWithdrawal
from incidents.selectors import profiles as read
from incidents.services import EntryRefusedError, NotAllowedError, profiles
from screening.profile import DEFAULTS
from screening.worksheet import parse_profile
from tests.factories import START, PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

TODAY = START.date()  # 19:00 UTC is 13:00 in Chicago
MINUTES = {"value": Decimal(15), "unit": "min"}


@pytest.fixture
def officer():
    return PersonFactory.create(may_edit_sop=True, display_name="S. Ferris")


def draft(**changes):
    given = {
        "name": "Example County SOP",
        "version": "1",
        "approved_by": "Chief O. Lark",
        "effective_on": TODAY,
    }
    return profiles.Draft(**(given | changes))


def add(person, at=START, **changes):
    return profiles.add_version(person=person, draft=draft(**changes), at=at)


def errors_of(person, **changes):
    with pytest.raises(EntryRefusedError) as refused:
        add(person, **changes)
    assert not SopProfile.objects.filter(version="refused").exists()
    return {error.pointer: error.expected for error in refused.value.errors}


def test_a_version_says_who_wrote_it_who_approved_it_and_from_when(officer):
    version = add(officer)

    version.refresh_from_db()
    assert version.author_name == "S. Ferris"
    assert version.created_by == officer
    assert version.approved_by == "Chief O. Lark"
    assert version.effective_on == TODAY
    assert version.sha256 == profiles.content_hash(version)


def test_every_limit_is_written_into_it_also_those_at_their_default(officer):
    version = add(officer, limits={"par_interval": MINUTES})

    document = loads(version.document)
    profile = parse_profile(document)
    assert set(document["limits"]) == set(DEFAULTS)
    assert document["limits"]["par_interval"] == MINUTES
    assert profile["par_interval"] == 900
    assert {k: v for k, v in profile.limits.items() if k != "par_interval"} == {
        k: v for k, v in DEFAULTS.items() if k != "par_interval"
    }


def test_a_limit_is_kept_as_it_was_entered(officer):
    version = add(officer, limits={"acid_stop_ph": Decimal("4.50")})

    assert '"acid_stop_ph":4.50' in version.document


def test_house_rules_are_kept_beside_the_document_of_the_engine(officer):
    rest = {"value": Decimal(10), "unit": "min"}

    version = add(officer, house_rules={"medical_recheck": rest})

    assert "medical_recheck" not in version.document
    assert value_of(version, "medical_recheck") == 600
    assert value_of(version, "pulse_max") == 100


def test_a_value_looser_than_its_source_needs_a_reason_and_keeps_it(officer):
    loose = {"limits": {"lel_withdraw_percent": Decimal(20)}}
    pulse = {"pulse_max": {"value": Decimal(110), "unit": "beats/min"}}

    errors = errors_of(officer, version="refused", house_rules=pulse, **loose)
    version = add(
        officer,
        house_rules=pulse,
        reasons={
            "lel_withdraw_percent": "Read at the pump.",
            "pulse_max": "Our physician.",
            "acid_stop_ph": "Needs none.",
        },
        **loose,
    )

    assert errors == {
        "/reasons/lel_withdraw_percent": "why 20 % is looser than 10 %",
        "/reasons/pulse_max": "why 110 beats/min is looser than 100 beats/min",
    }
    assert version.reasons_given == {
        "lel_withdraw_percent": "Read at the pump.",
        "pulse_max": "Our physician.",
    }


def test_a_value_without_a_source_needs_no_reason(officer):
    version = add(officer, limits={"lel_caution_percent": Decimal(5)})

    assert version.reasons_given == {}


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"name": " "}, "/name"),
        ({"version": ""}, "/version"),
        ({"approved_by": ""}, "/approved_by"),
        ({"approved_by": "a\x00b"}, "/approved_by"),
        ({"effective_on": TODAY - timedelta(days=1)}, "/effective_on"),
        ({"limits": {"acid_stop_ph": Decimal(6)}}, "/limits/acid_stop_ph"),
        ({"limits": {"nothing": Decimal(6)}}, "/limits/nothing"),
        (
            {"limits": {"par_interval": {"value": Decimal(1), "unit": "rem"}}},
            "/limits/par_interval/unit",
        ),
        (
            {"house_rules": {"pulse_max": {"value": Decimal(9), "unit": "beats/min"}}},
            "/house_rules/pulse_max",
        ),
        (
            {"house_rules": {"systolic_min": {"value": Decimal(150), "unit": "mmHg"}}},
            "/house_rules/systolic_min",
        ),
        (
            {"house_rules": {"pulse_max": {"value": Decimal(90), "unit": "mmHg"}}},
            "/house_rules/pulse_max",
        ),
    ],
)
def test_what_is_wrong_is_named_by_its_place_and_nothing_is_kept(
    officer, changes, pointer
):
    errors = errors_of(officer, **changes)

    assert list(errors) == [pointer]
    assert not SopProfile.objects.exists()


def test_the_day_is_that_of_the_agency(officer):
    # 02:00 UTC is still the evening before in Chicago.
    night = START.replace(hour=2)

    version = add(officer, at=night, effective_on=TODAY - timedelta(days=1))

    assert version.effective_on == TODAY - timedelta(days=1)


def test_a_version_is_taken_only_once_in_an_agency(officer):
    add(officer)

    assert list(errors_of(officer)) == ["/version"]
    add(officer, name="Another SOP")
    add(PersonFactory.create(may_edit_sop=True))


def test_the_hash_holds_the_version_before(officer):
    first = add(officer)
    second = add(officer, version="2", previous=first)
    alone = profiles.content_hash(second)

    second.previous = None

    assert profiles.content_hash(second) != alone


def test_a_new_name_of_the_agency_leaves_the_hash_as_it_was(officer):
    version = add(officer)
    officer.agency.name = "Example County and Harbour"
    officer.agency.save()

    again = SopProfile.objects.get(pk=version.pk)

    assert profiles.content_hash(again) == version.sha256


@pytest.mark.parametrize(
    "rights", [{"may_edit_sop": False}, {"may_edit_sop": True, "is_active": False}]
)
def test_without_the_right_nothing_is_written(rights):
    with pytest.raises(NotAllowedError):
        add(PersonFactory.create(**rights))

    assert not SopProfile.objects.exists()


class TestWithdrawal:
    def test_it_says_who_when_and_why(self, officer):
        version = add(officer)

        row = profiles.withdraw_version(
            version=version, person=officer, at=START, reason="A typing error."
        )

        assert (row.by_name, row.reason) == ("S. Ferris", "A typing error.")
        assert SopProfile.objects.get() == version

    def test_it_needs_a_reason_and_happens_once(self, officer):
        version = add(officer)
        given = {"version": version, "person": officer, "at": START}

        with pytest.raises(EntryRefusedError):
            profiles.withdraw_version(reason=" ", **given)
        profiles.withdraw_version(reason="Wrong.", **given)
        with pytest.raises(NotAllowedError):
            profiles.withdraw_version(reason="Wrong.", **given)

        assert SopWithdrawal.objects.count() == 1

    def test_another_agency_cannot(self, officer):
        version = add(officer)
        stranger = PersonFactory.create(may_edit_sop=True)

        with pytest.raises(NotAllowedError):
            profiles.withdraw_version(
                version=version, person=stranger, at=START, reason="x"
            )

        assert not SopWithdrawal.objects.exists()


class TestInForce:
    def standings(self, agency, day=TODAY):
        lines = read.versions_of(agency, day)
        return {line.version.version: line.standing.value for line in lines}

    def test_the_version_written_last_whose_day_has_come(self, officer):
        add(officer, version="1")
        add(officer, version="2")
        add(officer, version="3", effective_on=TODAY + timedelta(days=2))

        assert self.standings(officer.agency) == {
            "1": "replaced",
            "2": "in force",
            "3": "not yet in force",
        }
        assert self.standings(officer.agency, TODAY + timedelta(days=2)) == {
            "1": "replaced",
            "2": "replaced",
            "3": "in force",
        }

    def test_a_withdrawn_one_gives_the_one_before_its_place_back(self, officer):
        add(officer, version="1")
        second = add(officer, version="2")
        profiles.withdraw_version(
            version=second, person=officer, at=START, reason="Wrong."
        )

        assert self.standings(officer.agency) == {"1": "in force", "2": "withdrawn"}

    def test_two_profiles_do_not_replace_each_other(self, officer):
        add(officer, version="1", name="Harbour SOP")
        add(officer, version="2", name="Example County SOP")

        found = read.in_force(officer.agency, TODAY)

        assert [str(version) for version in found] == [
            "Example County SOP, version 2",
            "Harbour SOP, version 1",
        ]

    @pytest.mark.parametrize("count", [1, 20])
    def test_the_list_takes_one_query(self, officer, count, django_assert_num_queries):
        first = None
        for number in range(count):
            first = add(officer, version=str(number), previous=first)

        with django_assert_num_queries(1):
            lines = read.versions_of(officer.agency, TODAY)
            assert [str(line.version.previous) for line in lines]
            assert [line.standing for line in lines]

        assert len(lines) == count


def test_versions_are_numbered_on(officer):
    add(officer, version="9")
    add(officer, version="2026-b")

    assert profiles.next_version(officer.agency, "Example County SOP") == "10"
    assert profiles.next_version(officer.agency, "New") == "1"


def test_what_two_versions_do_not_share(officer):
    first = add(officer)
    second = add(
        officer,
        version="2",
        limits={
            "par_interval": MINUTES,
            "lel_withdraw_percent": Decimal(20),
            "oxygen_ambient": Decimal("20.8"),
            "voc_ceiling_ppm": Decimal(500),
            "dose_turn_back_other": {"value": Decimal(50), "unit": "mSv"},
        },
        reasons={"lel_withdraw_percent": "Read at the pump."},
    )

    found = read.changes(
        read.raw_values(first), read.raw_values(second), second.reasons_given
    )

    assert [(c.item.key, c.before, c.after, c.way) for c in found] == [
        ("lel_withdraw_percent", "10 %", "20 %", "looser"),
        ("oxygen_ambient", "20.9 %", "20.8 %", "changed"),
        ("voc_ceiling_ppm", "not set", "500 ppm", "stricter"),
        ("par_interval", "20 min", "15 min", "stricter"),
    ]
    assert found[0].looser_than_source
    assert found[0].reason == "Read at the pump."


def test_built_in_limits_are_the_defaults(officer):
    version = add(officer)

    assert read.changes(read.raw_values(None), read.raw_values(version), {}) == []
