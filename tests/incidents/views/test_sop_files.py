"""A profile leaves as a file and comes in as one; errors by their place in it."""

import hashlib
import json
import re
import subprocess
import sys
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from incidents.documents import dumps
from incidents.models import SopProfile
from tests.incidents.views.sop_pages import add, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


class TestFiles:
    def test_the_limits_leave_as_the_engine_reads_them(self, client, officer, tmp_path):
        version = add(
            officer,
            limits={"lel_withdraw_percent": Decimal(20)},
            reasons={"lel_withdraw_percent": "Read at the pump."},
        )
        response = client.get(f"/sop/{version.pk}/profile.json")
        profile, worksheet = tmp_path / "profile.json", tmp_path / "sheet.json"
        profile.write_bytes(response.content)
        worksheet.write_text(dumps(an_incident()))

        run = subprocess.run(
            [
                *(sys.executable, "-m", "screening", str(worksheet)),
                *("--at", "2026-03-04T14:00:00-06:00", "--profile", str(profile)),
            ],
            capture_output=True,
            check=False,
        )

        assert run.stderr == b""
        shown = json.loads(run.stdout)["profile"]
        assert (shown["name"], shown["version"]) == ("Example County SOP", "1")
        assert len(shown["looser_than_published"]) == 1
        assert "attachment" in response["Content-Disposition"]

    def test_the_whole_version_leaves_as_it_was_hashed(self, client, officer):
        version = add(officer)

        response = client.get(f"/sop/{version.pk}/version.json")

        assert hashlib.sha256(response.content).hexdigest() == version.sha256

    def test_what_left_can_be_read_again(self, client, officer):
        version = add(
            officer, limits={"par_interval": {"value": Decimal(15), "unit": "min"}}
        )
        content = client.get(f"/sop/{version.pk}/profile.json").content

        page = client.post(
            "/sop/import/", {"file": SimpleUploadedFile("p.json", content)}
        )

        assert page.status_code == 200
        assert 'action="/sop/' in page.text
        assert re.search(r'name="limit_par_interval" value="15"', page.text)
        assert re.search(r'name="version" value="2"', page.text)
        assert "exists already" in text_of(page)
        assert SopProfile.objects.count() == 1

    def test_a_file_of_some_limits_takes_the_defaults_of_the_others(
        self, client, officer
    ):
        text = (
            '{"name": "Harbour SOP", "version": "7", "limits": {"acid_stop_ph": 4.5}}'
        )

        page = client.post("/sop/import/", {"text": text})

        assert re.search(r'name="name" value="Harbour SOP"', page.text)
        assert re.search(r'name="version" value="7"', page.text)
        assert re.search(r'name="limit_acid_stop_ph" value="4.5"', page.text)
        assert re.search(r'name="limit_acid_caution_ph" value="5.5"', page.text)

    @pytest.mark.parametrize(
        ("text", "pointer"),
        [
            ('{"version": "1"}', "/name"),
            ('{"name": "x", "version": "1", "limits": {"lel": 1}}', "/limits/lel"),
            (
                '{"name": "x", "version": "1", "limits": {"acid_stop_ph": 6}}',
                "/limits/acid_stop_ph",
            ),
            ("{", "the whole document"),
            ("[]", "the whole document"),
        ],
    )
    def test_what_is_wrong_in_a_file_is_named_by_its_place(
        self, client, officer, text, pointer
    ):
        page = client.post("/sop/import/", {"text": text})

        assert page.status_code == 422
        assert f"{pointer} :" in text_of(page)
        assert "expected" in page.text
        assert "<title>Error: " in page.text

    def test_nothing_sent_is_said(self, client, officer):
        page = client.post("/sop/import/", {})

        assert page.status_code == 422
        assert "Choose a file, or enter its text." in page.text

    def test_a_file_larger_than_any_profile_is_refused(self, client, officer):
        large = SimpleUploadedFile("p.json", b" " * 200_001)

        page = client.post("/sop/import/", {"file": large})

        assert page.status_code == 422
        assert "too large" in page.text


def an_incident():
    return {
        "format": "hazmat-incident-worksheet",
        "version": 1,
        "incident": {"name": "Mill Race", "mission": "rescue"},
        "teams": [{"id": "entry-1", "role": "entry", "ensemble": "level_b"}],
        "log": [],
    }
