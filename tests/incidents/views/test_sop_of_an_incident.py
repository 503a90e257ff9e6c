"""The limits of one incident: chosen when it is opened, changed with what that changes."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import loads
from incidents.models import Incident
from incidents.selectors import profiles as read
from incidents.services import profiles
from tests.factories import acid, entry, join, log, open_incident
from tests.incidents.views.sop_pages import add, text_of
from tests.incidents.views.test_open_and_close import NEW, whole

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

MILD = {"limits": {"acid_stop_ph": Decimal("2.5")}}


class TestOpening:
    def test_the_latest_in_force_stands_first_and_the_built_in_ones_last(
        self, client, officer
    ):
        add(officer)
        add(officer, "2")
        add(
            officer,
            "3",
            effective_on=read.today_of(officer.agency, timezone.now())
            + timedelta(days=3),
        )

        page = client.get(NEW).text

        choices = re.search(r'<select name="profile".*?</select>', page, re.DOTALL)[0]
        offered = re.findall(r"<option[^>]*>([^<]*)<", choices)
        assert [words.partition(",")[2] for words in offered[:-1]] == [
            f" version 2, in force since {read.today_of(officer.agency, timezone.now())}"
        ]
        assert offered[-1] == "Built-in limits"

    def test_the_incident_keeps_the_version_that_was_chosen(self, client, officer):
        version = add(officer, **MILD)

        client.post(NEW, whole(profile=str(version.pk)))

        incident = Incident.objects.get()
        assert incident.sop == version
        assert loads(incident.setup)["profile"] == loads(version.document)

    def test_the_built_in_limits_can_be_chosen(self, client, officer):
        add(officer)

        client.post(NEW, whole(profile=""))

        incident = Incident.objects.get()
        assert incident.sop is None
        assert loads(incident.setup)["profile"]["name"] == "Built-in limits"


class TestRules:
    def test_they_say_whose_they_are(self, client, officer):
        incident = open_incident(person=officer, sop=add(officer), at=timezone.now())

        page = text_of(client.get(url(incident, "incident-rules")))

        assert "is judged by Example County SOP , version 1" in page
        assert "approved by Chief O. Lark" in page
        assert "Pulse, no entry above 100 beats/min" in page

    def test_a_looser_limit_stands_with_its_reason_there_and_on_the_sheet(
        self, client, officer
    ):
        version = add(
            officer,
            limits={"lel_withdraw_percent": Decimal(20)},
            house_rules={"pulse_max": {"value": Decimal(110), "unit": "beats/min"}},
            reasons={
                "lel_withdraw_percent": "Read at the pump",
                "pulse_max": "Our physician",
            },
        )
        incident = open_incident(person=officer, sop=version, at=timezone.now())

        for name in ("incident-rules", "sheet"):
            page = text_of(client.get(url(incident, name)))
            assert "sets 20 %, looser than 10 %" in page
            assert "Reason given: Read at the pump." in page
            assert "Reason given: Our physician." in page

    def test_each_entry_says_by_whose_limits_it_is_judged(self, client, officer):
        incident = open_incident(person=officer, sop=add(officer), at=timezone.now())
        log(incident, acid(timezone.now()))

        page = client.get(reverse("incidents:entry", args=(incident.pk, 2)))

        assert (
            "Judged by Example County SOP, version 1 , approved by Chief O. Lark"
            in text_of(page)
        )


class TestChange:
    @pytest.fixture
    def incident(self, officer):
        now = timezone.now()
        incident = open_incident(
            person=officer, sop=add(officer), at=now - timedelta(minutes=9)
        )
        before = now - timedelta(minutes=5)
        log(incident, entry("enter", before, team="entry-1", place="tank room"))
        log(incident, acid(before + timedelta(minutes=1), ph="3"))
        incident.refresh_from_db()
        return incident

    @pytest.fixture
    def milder(self, officer, incident):
        return add(officer, "2", previous=incident.sop, **MILD)

    def test_it_is_three_taps_from_the_sheet(self, client, incident, milder):
        sheet = client.get(url(incident, "sheet")).text
        rules = client.get(url(incident, "incident-rules")).text
        change = client.get(change_url(incident, milder)).text

        assert url(incident, "incident-rules") in sheet
        assert change_url(incident, milder) in rules
        assert 'id="change-limits">Judge by version 2</button>' in change

    def test_what_it_would_change_is_shown_before(self, client, incident, milder):
        page = client.get(change_url(incident, milder))

        words = text_of(page)
        assert "Acid, stop pH 4 pH 2.5 looser" in words
        assert re.search(r"Entry team 1 Stop now Caution milder", words)
        found = re.search(
            r"(\d+) would no longer be said and stay as judged anew; (\d+) would", words
        )
        assert int(found[1]) > 0
        incident.refresh_from_db()
        assert incident.sop != milder

    def test_confirmed_it_is_in_the_log_with_its_reason(
        self, client, officer, incident, milder
    ):
        response = client.post(
            change_url(incident, milder),
            {"reason": "The state team's SOP", "seen": str(incident.sop_id)},
        )

        incident.refresh_from_db()
        assert response.url == url(incident, "incident-rules")
        assert incident.sop == milder
        page = text_of(client.get(url(incident, "log")))
        assert (
            "Limits changed from Example County SOP, version 1, to Example County SOP, "
            "version 2: The state team&#x27;s SOP" in page
        )
        sheet = text_of(client.get(url(incident, "sheet")))
        assert "judged anew" in sheet

    def test_without_a_reason_nothing_changes(self, client, incident, milder):
        page = client.post(
            change_url(incident, milder), {"reason": "", "seen": str(incident.sop_id)}
        )

        assert page.status_code == 422
        assert "Say why the limits are changed." in page.text
        incident.refresh_from_db()
        assert incident.sop != milder

    def test_what_another_commander_changed_meanwhile_is_said_and_nothing_is_lost(
        self, client, officer, incident, milder
    ):
        seen = incident.sop_id
        third = add(officer, "3")
        client.post(change_url(incident, third), {"reason": "first", "seen": str(seen)})

        page = client.post(
            change_url(incident, milder), {"reason": "second", "seen": str(seen)}
        )

        assert page.status_code == 422
        assert "were changed meanwhile" in page.text
        assert "second" in page.text
        assert f'name="seen" value="{third.pk}"' in page.text
        assert "Now it is Example County SOP, version 3" in text_of(page)
        incident.refresh_from_db()
        assert incident.sop == third

    @pytest.mark.parametrize("seen", ["²", "x", "9" * 19])
    def test_what_was_never_seen_changes_nothing(self, client, incident, milder, seen):
        page = client.post(change_url(incident, milder), {"reason": "x", "seen": seen})

        assert page.status_code == 422
        incident.refresh_from_db()
        assert incident.sop != milder

    @pytest.mark.parametrize("count", [1, 20])
    def test_the_rules_take_as_many_queries_for_one_version_as_for_many(
        self, client, officer, incident, count, django_assert_num_queries
    ):
        for number in range(count):
            add(officer, str(number + 10))
        client.get(url(incident, "incident-rules"))

        # Session, person, incident, its openings and amendments, versions.
        with django_assert_num_queries(5):
            client.get(url(incident, "incident-rules"))

    def test_only_the_commander_is_offered_it(self, client, incident, milder):
        client.force_login(join(incident, "technician"))

        rules = client.get(url(incident, "incident-rules"))

        assert "Judge this incident by other limits" not in text_of(rules)
        assert client.get(change_url(incident, milder)).status_code == 403

    def test_what_is_not_in_force_is_not_offered(self, client, officer, incident):
        withdrawn = add(officer, "2")
        profiles.withdraw_version(
            version=withdrawn, person=officer, at=timezone.now(), reason="Wrong"
        )
        later = add(
            officer,
            "3",
            effective_on=read.today_of(officer.agency, timezone.now())
            + timedelta(days=1),
        )

        rules = client.get(url(incident, "incident-rules")).text

        for version in (withdrawn, later):
            assert change_url(incident, version) not in rules
            assert client.get(change_url(incident, version)).status_code == 404

    def test_limits_under_which_the_log_cannot_be_read_are_named_and_not_offered(
        self, client, officer
    ):
        chart = {"teal": [Decimal(8), Decimal(9)]}
        now = timezone.now()
        incident = open_incident(
            person=officer, sop=add(officer, paper_chart=chart), at=now
        )
        body = acid(now) | {"band": "teal"}
        del body["ph"]
        log(incident, body)

        page = client.get(change_url(incident, add(officer, "2")))

        assert "The log cannot be read under these limits" in text_of(page)
        assert "/log/0/band" in page.text
        assert "change-limits" not in page.text


def url(incident, name):
    return reverse(f"incidents:{name}", args=(incident.pk,))


def change_url(incident, version):
    return reverse("incidents:sop-change", args=(incident.pk, version.pk))
