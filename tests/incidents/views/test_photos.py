"""Photos: from a phone, in the form of a note, on the entry's page, as a file."""

import hashlib
import json
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from incidents import pictures, services
from incidents.models import Photo
from incidents.services import chain
from tests.factories import join
from tests.incidents.views.test_field_link import HEADERS, item, phone, send
from tests.photos import MODEL, label

__all__ = ["phone"]  # the fixture

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def named(content, n=1, **changes):
    """An entry of a phone that names these bytes."""
    given = {
        "shows": "Label or placard",
        "words": "UN 1017",
        "place": "tank room",
        "photo_sha256": hashlib.sha256(content).hexdigest(),
        "photo_type": "image/jpeg",
        "photo_size": str(len(content)),
    }
    entry = item(n, kind="note")
    return entry | {"fields": given | changes}


def put(client, entry, content, media_type="image/jpeg", **changes):
    return client.post(
        reverse("incidents:field-photo"),
        content,
        content_type=media_type,
        headers=HEADERS | {"X-Worksheet-Entry": entry["uuid"]} | changes,
    )


def logged(incident):
    return incident.entries.get(kind="note")


@pytest.fixture
def entry_of(incident):
    """A note that names these bytes, whose page is asked for; the bytes have not come."""

    def make(content):
        photo = services.records.Claim(
            sha256=hashlib.sha256(content).hexdigest(),
            media_type="image/jpeg",
            size=len(content),
        )
        now = timezone.now()
        return services.write_note(
            incident_id=incident.pk,
            person=incident.opened_by,
            client_uuid=uuid.uuid4(),
            at=now,
            recorded_at=now,
            text="Label on drum 3",
            photo=photo,
        ).entry

    return make


def url(name, incident, entry):
    return reverse(f"incidents:{name}", args=(incident.pk, entry.seq))


class TestFromAPhone:
    def test_the_entry_first_then_its_bytes_and_both_once(self, phone, incident):
        content = label()
        entry = named(content)

        first, again = send(phone, entry), send(phone, entry)
        answers = [put(phone, entry, content).json() for _ in range(2)]

        assert [each["answers"][0]["state"] for each in (first, again)] == [
            "stored"
        ] * 2
        digest = hashlib.sha256(content).hexdigest()
        assert answers == [{"state": "stored", "sha256": digest}] * 2
        body = json.loads(logged(incident).body)
        assert body["text"] == "Label or placard, UN 1017"
        assert body["place"] == "tank room"
        assert body["team"] == "entry-1"
        assert body["photo"]["sha256"] == digest
        assert bytes(Photo.objects.get().content) == content
        incident.refresh_from_db()
        assert chain.verify(incident) is None

    def test_more_than_a_form_may_hold_comes_through(self, phone, settings):
        content = label()
        entry = named(content)
        send(phone, entry)
        settings.DATA_UPLOAD_MAX_MEMORY_SIZE = len(content) - 1

        assert put(phone, entry, content).json()["state"] == "stored"

    def test_bytes_before_their_entry_are_asked_for_again(self, phone):
        content = label()

        answer = put(phone, named(content), content)

        assert (answer.status_code, answer.json()["state"]) == (409, "again")
        assert not Photo.objects.exists()

    def test_metadata_is_refused_with_its_reason(self, phone):
        content = label(exif=True)
        entry = named(content)
        send(phone, entry)

        answer = put(phone, entry, content)

        assert answer.status_code == 422
        ((field, words),) = answer.json()["errors"]
        assert field == "photo"
        assert "holds EXIF" in words
        assert not Photo.objects.exists()

    def test_what_is_too_large_is_not_read_to_its_end(self, phone):
        entry = named(label())
        send(phone, entry)

        answer = put(phone, entry, b"\xff" * 12_000_001)

        assert (answer.status_code, answer.json()["state"]) == (413, "refused")

    def test_an_entry_that_names_nonsense_is_refused_at_its_field(self, phone):
        answer = send(phone, named(label(), photo_sha256="none", shows=""))

        (only,) = answer["answers"]
        assert only["state"] == "refused"
        assert ["shows", "Say what it shows."] in only["errors"]

    @pytest.mark.parametrize(
        "changes",
        [
            {"X-Worksheet-Device": ""},
            {"Sec-Fetch-Site": "cross-site"},
        ],
    )
    def test_another_site_puts_none(self, phone, changes):
        content = label()
        entry = named(content)
        send(phone, entry)

        assert put(phone, entry, content, **changes).status_code == 403
        for kind in ("multipart/form-data; boundary=x", "text/plain"):
            assert put(phone, entry, content, kind).status_code == 403
        assert not Photo.objects.exists()

    def test_who_has_not_joined_puts_none(self, phone):
        content = label()
        entry = named(content)
        send(phone, entry)

        assert put(Client(), entry, content).status_code == 401

    def test_without_an_identifier_it_is_for_no_entry(self, phone):
        answer = put(phone, {"uuid": "../1"}, label())

        assert answer.status_code == 400


class TestThePicture:
    def test_it_is_shown_as_what_it_is_and_runs_nothing(
        self, client, commander, incident, entry_of
    ):
        content = label()
        entry = entry_of(content)
        put_in(client, incident, entry, content)

        answer = client.get(url("photo", incident, entry))

        assert answer.content == content
        assert answer["Content-Type"] == "image/jpeg"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
        assert answer["Cache-Control"] == "private, no-store"
        page = client.get(url("entry", incident, entry)).content.decode()
        assert f'src="{url("photo", incident, entry)}"' in page
        assert "not received" not in page

    def test_one_that_never_came_is_said_on_page_sheet_and_log(
        self, client, commander, incident, entry_of
    ):
        content = label()
        entry = entry_of(content)

        assert client.get(url("photo", incident, entry)).status_code == 404
        page = client.get(url("entry", incident, entry)).content.decode()
        assert "Photo not received." in page
        assert hashlib.sha256(content).hexdigest() in page
        for name in ("log", "sheet"):
            shown = client.get(reverse(f"incidents:{name}", args=(incident.pk,)))
            assert "photo not received" in shown.content.decode()

    def test_people_of_another_agency_and_phones_see_none(
        self, client, commander, incident, entry_of, stranger, phone
    ):
        content = label()
        entry = entry_of(content)
        put_in(client, incident, entry, content)

        assert phone.get(url("photo", incident, entry)).status_code == 302
        client.force_login(stranger)
        assert client.get(url("photo", incident, entry)).status_code == 404
        assert client.get(url("photo-add", incident, entry)).status_code == 404

    def test_who_only_reads_sees_it_and_hands_none_in(
        self, client, commander, incident, entry_of
    ):
        content = label()
        entry = entry_of(content)
        put_in(client, incident, entry, content)
        client.force_login(join(incident, "viewer"))

        assert client.get(url("photo", incident, entry)).status_code == 200
        assert client.get(url("photo-add", incident, entry)).status_code == 403


def put_in(client, incident, entry, content):
    file = SimpleUploadedFile("photo.jpg", content)
    return client.post(url("photo-add", incident, entry), {"photo": file})


class TestAsAFile:
    def test_the_very_file_is_taken(self, client, technician, incident, entry_of):
        content = label()
        entry = entry_of(content)

        answer = put_in(client, incident, entry, content)

        assert answer.status_code == 302
        assert bytes(Photo.objects.get().content) == content

    def test_another_file_is_refused_at_the_field(
        self, client, technician, incident, entry_of
    ):
        entry = entry_of(label())

        answer = put_in(client, incident, entry, label(801))

        assert answer.status_code == 422
        assert "photo" in answer.context["form"].errors
        assert "expected the photo of the record" in answer.content.decode()
        assert not Photo.objects.exists()


class TestInTheFormOfANote:
    def note(self, client, incident, **changes):
        given = {
            "client_uuid": str(uuid.uuid4()),
            "text": "Label on drum 3",
            "place": "tank room",
        }
        address = reverse("incidents:decision", args=(incident.pk, "note"))
        return client.post(address, given | changes)

    def test_it_works_without_a_script_and_what_the_camera_wrote_is_gone(
        self, client, technician, incident
    ):
        file = SimpleUploadedFile("IMG_1.jpg", label(2400, 1800, exif=True))

        answer = self.note(client, incident, photo=file)

        assert answer.status_code == 302
        kept = bytes(Photo.objects.get().content)
        assert pictures.look_at(kept).metadata == ()
        assert MODEL.encode() not in kept
        photo = json.loads(logged(incident).body)["photo"]
        assert photo["sha256"] == hashlib.sha256(kept).hexdigest()

    def test_no_photo_is_a_note_as_before(self, client, technician, incident):
        self.note(client, incident)

        assert "photo" not in json.loads(logged(incident).body)

    def test_a_file_that_is_no_photo_is_refused_at_its_field(
        self, client, technician, incident
    ):
        file = SimpleUploadedFile("x.jpg", b"<script>alert(1)</script>")

        answer = self.note(client, incident, photo=file)

        assert answer.status_code == 422
        assert "photo" in answer.context["form"].errors
        assert "Label on drum 3" in answer.content.decode()
        assert not incident.entries.filter(kind="note").exists()

    def test_the_form_can_carry_a_file(self, client, technician, incident):
        address = reverse("incidents:decision", args=(incident.pk, "note"))

        page = client.get(address).content.decode()

        assert 'enctype="multipart/form-data"' in page
        assert 'hx-encoding="multipart/form-data"' in page
