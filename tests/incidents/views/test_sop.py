"""The pages of the SOP: versions, one of them, two side by side, a new one, a file."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from incidents.documents import loads
from incidents.models import SopProfile, SopWithdrawal
from incidents.sop_table import ITEMS
from tests.factories import PersonFactory, SopProfileFactory
from tests.incidents.views.sop_pages import add, sent, text_of, today

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

LIST = "/sop/"
FIRST = "/sop/new/"


class TestList:
    def test_it_says_who_when_and_what_is_in_force(self, client, officer):
        add(officer)
        add(officer, "2", approved_by="Chief N. Reed")

        page = text_of(client.get(LIST))

        assert "Example County SOP, version 2 in force since" in page
        assert "Example County SOP, version 1 replaced by version 2" in page
        assert "approved by Chief N. Reed" in page
        assert "by S. Ferris" in page

    def test_an_empty_one_says_what_holds_and_what_to_do(self, client, officer):
        page = client.get(LIST)

        assert "built-in limits" in text_of(page)
        assert f'href="{FIRST}"' in page.text

    def test_everybody_reads_but_only_some_are_offered_to_write(self, client, officer):
        version = add(officer)
        reader = PersonFactory.create(agency=officer.agency)
        client.force_login(reader)

        page = client.get(LIST)

        assert "Example County SOP, version 1" in text_of(page)
        assert "/new/" not in page.text
        assert client.get(f"/sop/{version.pk}/").status_code == 200
        assert client.get(f"/sop/{version.pk}/new/").status_code == 403

    def test_another_agencys_versions_are_not_there(self, client, officer):
        other = SopProfileFactory.create(name="Harbour SOP")

        assert "Harbour" not in client.get(LIST).text
        for path in ("", "new/", "withdraw/", "profile.json", "version.json"):
            assert client.get(f"/sop/{other.pk}/{path}").status_code == 404
        assert client.post(f"/sop/{other.pk}/new/", {}).status_code == 404
        assert client.get(f"/sop/compare/?a={other.pk}").status_code == 404

    @pytest.mark.parametrize("count", [1, 20])
    def test_it_takes_as_many_queries_for_one_as_for_many(
        self, client, officer, count, django_assert_num_queries
    ):
        previous = None
        for number in range(count):
            previous = add(officer, str(number + 1), previous=previous)

        with django_assert_num_queries(4):  # session, person, agency, versions
            page = client.get(LIST)

        assert page.text.count('class="line"') == count


@pytest.mark.parametrize("number", [10**9, 10**18, 10**25])
def test_a_number_that_no_version_has_is_not_found(client, officer, number):
    assert client.get(f"/sop/{number}/").status_code == 404


class TestVersion:
    def test_every_value_stands_with_default_direction_and_source(
        self, client, officer
    ):
        version = add(
            officer,
            limits={
                "lel_withdraw_percent": Decimal(20),
                "dose_turn_back_other": {"value": Decimal(40), "unit": "mSv"},
            },
            reasons={"lel_withdraw_percent": "Read at the pump."},
        )

        page = client.get(f"/sop/{version.pk}/")

        words = text_of(page)
        assert page.text.count('<th scope="row">') == len(ITEMS)
        assert "Flammable gas, withdraw 20 %" in words
        assert "Looser than its source. Read at the pump." in words
        assert "Turn-back dose 40 mSv 5 rem lower EPA-400/R-17/001" in words
        assert version.sha256 in words
        assert "Pulse, no entry above 100 beats/min" in words

    def test_a_content_that_was_changed_is_said(self, client, officer):
        from tests.conftest import changes_allowed

        version = add(officer)
        with changes_allowed():
            SopProfile.objects.filter(pk=version.pk).update(approved_by="Another")

        assert "Not as it was written" in text_of(client.get(f"/sop/{version.pk}/"))

    @pytest.mark.parametrize("count", [1, 20])
    def test_it_takes_as_many_queries_for_one_as_for_many(
        self, client, officer, count, django_assert_num_queries
    ):
        previous = None
        for number in range(count):
            previous = add(officer, str(number + 1), previous=previous)

        with django_assert_num_queries(5):
            client.get(f"/sop/{previous.pk}/")


class TestCompare:
    def test_two_versions_stand_side_by_side(self, client, officer):
        first = add(officer)
        second = add(
            officer, "2", limits={"par_interval": {"value": Decimal(15), "unit": "min"}}
        )

        page = text_of(client.get(f"/sop/compare/?a={first.pk}&b={second.pk}"))

        assert "1 value differs" in page
        assert "PAR interval 20 min 15 min stricter" in page
        assert f"{len(ITEMS) - 1} values are the same" in page

    def test_a_version_stands_beside_the_built_in_limits(self, client, officer):
        add(officer, limits={"acid_stop_ph": Decimal("4.5")})

        page = text_of(client.get("/sop/compare/"))

        assert "Acid, stop pH 4 pH 4.5 stricter" in page

    @pytest.mark.parametrize("count", [1, 20])
    def test_it_takes_as_many_queries_for_one_as_for_many(
        self, client, officer, count, django_assert_num_queries
    ):
        for number in range(count):
            add(officer, str(number + 1))

        with django_assert_num_queries(4):
            client.get("/sop/compare/")

    @pytest.mark.parametrize("query", ["a=x", "b=99999", "a=-1"])
    def test_what_is_no_version_is_not_found(self, client, officer, query):
        assert client.get(f"/sop/compare/?{query}").status_code == 404


class TestNewVersion:
    def test_the_form_has_every_limit_with_its_unit_default_source_and_direction(
        self, client, officer
    ):
        page = client.get(FIRST)

        words = text_of(page)
        for key, item in ITEMS.items():
            assert f'name="limit_{key}"' in page.text
            assert f"Default {item.default_words}; {item.direction}." in words
        assert 'name="unit_par_interval"' in page.text
        assert "29 CFR 1910.146(b)" in words

    def test_what_it_changes_is_shown_before_it_is_kept(self, client, officer):
        base = add(officer)
        data = sent(officer, base, limit_par_interval="15")

        page = client.post(f"/sop/{base.pk}/new/", data)

        words = text_of(page)
        assert page.status_code == 200
        assert SopProfile.objects.count() == 1
        assert "1 value differs" in words
        assert "PAR interval 20 min 15 min stricter" in words
        assert "Save as version 2" in words

    def test_saved_it_is_the_next_version_and_says_where_it_came_from(
        self, client, officer
    ):
        base = add(officer)
        data = sent(officer, base, limit_par_interval="15", limit_pulse_max="95")
        look = client.post(f"/sop/{base.pk}/new/", data)
        again = dict(
            re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', look.text)
        )

        response = client.post(f"/sop/{base.pk}/new/", again | {"action": "save"})

        kept = SopProfile.objects.get(version="2")
        assert response.url == f"/sop/{kept.pk}/"
        assert kept.previous == base
        assert loads(kept.document)["limits"]["par_interval"] == {
            "value": Decimal(15),
            "unit": "min",
        }
        assert kept.house_values["pulse_max"] == 95
        assert kept.approved_by == "Chief O. Lark"
        assert kept.author_name == "S. Ferris"

    def test_going_back_loses_nothing(self, client, officer):
        data = sent(officer, limit_par_interval="17", action="edit")

        page = client.post(FIRST, data)

        assert page.status_code == 200
        assert 'value="17"' in page.text
        assert not SopProfile.objects.exists()

    def test_a_looser_value_asks_for_its_reason_at_its_field(self, client, officer):
        data = sent(officer, limit_lel_withdraw_percent="20", limit_par_interval="17")

        refused = client.post(FIRST, data | {"action": "save"})
        data["why_lel_withdraw_percent"] = "Read at the pump."
        look = client.post(FIRST, data)
        client.post(FIRST, data | {"action": "save"})

        assert refused.status_code == 422
        assert "<title>Error: " in refused.text
        assert 'href="#id_why_lel_withdraw_percent"' in refused.text
        assert "Say why 20 % is looser than 10 %." in refused.text
        assert 'value="17"' in refused.text
        assert "1 value looser than the published source" in text_of(look)
        assert SopProfile.objects.get().reasons_given == {
            "lel_withdraw_percent": "Read at the pump."
        }

    @pytest.mark.parametrize(
        ("changes", "target", "words"),
        [
            ({"name": ""}, "id_name", "Give the SOP a name."),
            (
                {"approved_by": " "},
                "id_approved_by",
                "Enter who approved these limits.",
            ),
            ({"effective_on": "soon"}, "id_effective_on", "Enter a day such as"),
            (
                {"limit_par_interval": "many"},
                "id_limit_par_interval",
                "“many” is not a number.",
            ),
            (
                {"limit_acid_stop_ph": "15"},
                "id_limit_acid_stop_ph",
                "Enter a pH from 0 to 14.",
            ),
            (
                {"limit_acid_stop_ph": "6"},
                "id_limit_acid_stop_ph",
                "Enter at most pH 5.5, “Acid, caution”.",
            ),
            (
                {"limit_acid_caution_ph": "3"},
                "id_limit_acid_caution_ph",
                "Enter at least pH 4, “Acid, stop”.",
            ),
            (
                {"limit_oxygen_deficient_percent": "21"},
                "id_limit_oxygen_deficient_percent",
                "Enter below 20.9 %, “Oxygen in fresh air”.",
            ),
            (
                {"unit_par_interval": "rem"},
                "id_unit_par_interval",
                "rem is not one of the available choices",
            ),
            (
                {"limit_pulse_max": "9"},
                "id_limit_pulse_max",
                "Enter from 40 beats/min to 220 beats/min.",
            ),
            (
                {"limit_low_air_fraction": "0"},
                "id_limit_low_air_fraction",
                "Enter a number above 0, at most 1",
            ),
            (
                {"paper_chart": "amber, 3"},
                "id_paper_chart",
                "Line 1: write a colour, its lowest and its highest pH",
            ),
            ({"paper_chart": "amber, 5, 3"}, "id_paper_chart", "amber: Enter"),
        ],
    )
    def test_what_is_wrong_is_said_at_its_field_and_nothing_is_lost(
        self, client, officer, changes, target, words
    ):
        data = sent(officer, limit_exit_time="7", **changes)

        page = client.post(FIRST, data)

        assert page.status_code == 422
        assert f'href="#{target}"' in page.text
        assert words in text_of(page)
        assert 'value="7"' in page.text
        assert not SopProfile.objects.exists()

    def test_one_thing_that_cannot_be_read_is_not_held_against_its_neighbour(
        self, client, officer
    ):
        data = sent(officer, limit_acid_stop_ph="low", limit_acid_caution_ph="3")

        page = client.post(FIRST, data)

        errors = re.findall(r'href="#(id_\w+)"', page.text)
        assert errors == ["id_limit_acid_stop_ph"]

    def test_an_emptied_field_takes_the_default(self, client, officer):
        base = add(
            officer, limits={"par_interval": {"value": Decimal(15), "unit": "min"}}
        )
        data = sent(officer, base, limit_par_interval="")

        look = client.post(f"/sop/{base.pk}/new/", data)

        assert "PAR interval 15 min 20 min looser" in text_of(look)

    def test_units_of_the_agency_are_kept(self, client, officer):
        data = sent(
            officer,
            limit_dose_rate_hot_line="80",
            unit_dose_rate_hot_line="uSv/h",
            limit_body_temperature_max="37",
            unit_body_temperature_max="degC",
        )

        client.post(FIRST, data | {"action": "save"})

        kept = SopProfile.objects.get()
        assert loads(kept.document)["limits"]["dose_rate_hot_line"] == {
            "value": Decimal(80),
            "unit": "uSv/h",
        }
        assert kept.house_values["body_temperature_max"] == Decimal("98.6")

    def test_a_number_that_someone_else_took_meanwhile_is_said(self, client, officer):
        base = add(officer)
        data = sent(officer, base)
        add(officer, "2")

        page = client.post(f"/sop/{base.pk}/new/", data | {"action": "save"})

        assert page.status_code == 422
        assert 'href="#id_version"' in page.text
        assert "does not have yet" in page.text

    def test_a_day_that_has_passed_is_refused(self, client, officer):
        yesterday = today(officer) - timedelta(days=1)
        data = sent(officer, effective_on=yesterday.isoformat(), action="save")

        page = client.post(FIRST, data)

        assert page.status_code == 422
        assert "nothing was in force before it was written" in page.text

    def test_a_paper_chart_is_kept(self, client, officer):
        data = sent(officer, paper_chart="red, 0, 2\namber, 3, 4.5", action="save")

        client.post(FIRST, data)

        chart = loads(SopProfile.objects.get().document)["paper_chart"]
        assert chart == {
            "red": [Decimal(0), Decimal(2)],
            "amber": [Decimal(3), Decimal("4.5")],
        }


class TestCheck:
    def test_one_row_is_checked_as_it_is_typed(self, client, officer):
        base = add(officer)
        data = sent(officer, base, limit_lel_withdraw_percent="20")

        page = client.post(
            f"/sop/check/lel_withdraw_percent/?from={base.pk}",
            data,
            HTTP_HX_REQUEST="true",
        )

        words = text_of(page)
        assert "Changed from 10 % in Example County SOP, version 1." in words
        assert "Looser than 10 %" in words
        assert 'id="note-lel_withdraw_percent"' in page.text
        assert "data-looser" in page.text
        assert 'id="changed-all" hx-swap-oob="true"' in re.sub(r"\s+", " ", page.text)
        assert "<html" not in page.text
        assert SopProfile.objects.count() == 1

    def test_what_is_no_limit_is_not_found(self, client, officer):
        assert client.post("/sop/check/nothing/", {}).status_code == 404

    @pytest.mark.parametrize("number", ["²", "x", "-1", "9" * 5000])
    def test_what_is_no_number_is_no_version(self, client, officer, number):
        page = client.post(f"/sop/check/par_interval/?from={number}", {})

        assert page.status_code == 200
        assert 'id="note-par_interval"' in page.text


class TestWithdraw:
    def test_a_version_is_withdrawn_with_a_reason(self, client, officer):
        version = add(officer)
        url = f"/sop/{version.pk}/withdraw/"

        refused = client.post(url, {"reason": ""})
        client.post(url, {"reason": "A typing error."})

        assert refused.status_code == 422
        assert SopWithdrawal.objects.get().reason == "A typing error."
        page = text_of(client.get(f"/sop/{version.pk}/"))
        assert "by S. Ferris: A typing error." in page
        assert "version 1" not in client.get("/incidents/new/").text


@pytest.mark.parametrize(
    "name",
    ["sop-list", "sop-compare", "sop-import", "sop-first"],
)
def test_someone_of_no_agency_finds_nothing(client, name):
    client.force_login(PersonFactory.create(agency=None, may_edit_sop=True))

    assert client.get(reverse(f"incidents:{name}")).status_code in (403, 404)
