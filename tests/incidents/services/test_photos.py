"""Photos: the record names one by its hash, the bytes come later, once, as they are named."""

import hashlib
import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from incidents import pictures, services
from incidents.documents import loads
from incidents.models import Photo
from incidents.photo_claims import Claim
from incidents.services import chain, devices, photos
from incidents.services.report_photos import photo_lines
from tests.conftest import changes_allowed
from tests.factories import SopProfileFactory, join, minutes, open_incident
from tests.photos import label

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    return open_incident()


def claim_of(content, **changes):
    given = {
        "sha256": hashlib.sha256(content).hexdigest(),
        "media_type": "image/jpeg",
        "size": len(content),
    }
    return Claim(**(given | changes))


def note(incident, claim, *, text="Label on drum 3", person=None, **changes):
    given = {
        "incident_id": incident.pk,
        "person": person or incident.opened_by,
        "client_uuid": uuid.uuid4(),
        "at": minutes(3),
        "recorded_at": minutes(3),
    }
    return services.write_note(text=text, photo=claim, **(given | changes)).entry


def add(incident, entry, content, **changes):
    given = {
        "incident_id": incident.pk,
        "person": incident.opened_by,
        "seq": entry.seq,
        "content": content,
        "at": minutes(4),
    }
    return photos.add_missing_photo(**(given | changes))


def keeping_originals(megabytes="12"):
    """An incident whose SOP keeps what the camera wrote."""
    incident = open_incident()
    version = SopProfileFactory.create(
        agency=incident.agency,
        house_rules=f'{{"photo_original":{{"value":{megabytes},"unit":"MB"}}}}',
    )
    incident.sop = version
    incident.save(update_fields=["sop"])
    return incident


class TestTheRecord:
    def test_it_names_the_photo_before_the_bytes_have_come(self, incident):
        content = label()

        entry = note(incident, claim_of(content))

        assert loads(entry.body)["photo"] == {
            "sha256": hashlib.sha256(content).hexdigest(),
            "type": "image/jpeg",
            "size": len(content),
        }
        incident.refresh_from_db()
        assert chain.verify(incident) is None
        assert not Photo.objects.exists()

    @pytest.mark.parametrize(
        ("changes", "words"),
        [
            ({"sha256": "A" * 64}, "SHA-256"),
            ({"sha256": "../../etc/passwd"}, "SHA-256"),
            ({"media_type": "image/svg+xml"}, "JPEG, PNG or WebP"),
            ({"size": 0}, "at most 2 MB"),
            ({"size": pictures.MOST_BYTES + 1}, "at most 2 MB"),
            ({"original": True}, "the SOP does not keep it"),
        ],
    )
    def test_what_cannot_be_a_photo_is_refused_with_its_reason(
        self, incident, changes, words
    ):
        with pytest.raises(services.EntryRefusedError, match=words):
            note(incident, claim_of(label(), **changes))

        assert not incident.entries.filter(kind="note").exists()

    def test_an_sop_may_keep_what_the_camera_made_up_to_its_size(self):
        incident = keeping_originals("3")

        assert note(incident, claim_of(label(), original=True, size=3_000_000))
        with pytest.raises(services.EntryRefusedError, match="at most 3 MB"):
            note(incident, claim_of(label(), original=True, size=3_000_001))


class TestTheBytes:
    def test_they_are_kept_once_as_they_came(self, incident):
        content = label()
        entry = note(incident, claim_of(content))
        before = incident.revision

        first, again = add(incident, entry, content), add(incident, entry, content)

        incident.refresh_from_db()
        assert first == again
        assert bytes(Photo.objects.get().content) == content
        assert incident.revision > before
        assert chain.verify(incident) is None

    @pytest.mark.parametrize(
        ("named", "sent", "words"),
        [
            pytest.param(label(), label(801), "photo of the record", id="another"),
            pytest.param(label(exif=True), None, "holds EXIF", id="with metadata"),
            pytest.param(label()[:3000], None, "cut short", id="half of it"),
            pytest.param(b"<svg/>", None, "JPEG, PNG or WebP", id="no picture"),
            pytest.param(label(kind="PNG"), None, "image/jpeg", id="another type"),
        ],
    )
    def test_what_does_not_fit_the_record_is_refused(
        self, incident, named, sent, words
    ):
        entry = note(incident, claim_of(named))

        with pytest.raises(services.EntryRefusedError, match=words):
            add(incident, entry, named if sent is None else sent)

        assert not Photo.objects.exists()

    def test_metadata_is_kept_where_the_record_says_so(self):
        incident, content = keeping_originals(), label(exif=True)
        entry = note(incident, claim_of(content, original=True))

        add(incident, entry, content)

        assert bytes(Photo.objects.get().content) == content

    def test_an_entry_without_a_photo_takes_none(self, incident):
        entry = note(incident, None)

        with pytest.raises(services.NotAllowedError, match="names no photo"):
            add(incident, entry, label())

    def test_who_only_reads_hands_none_in(self, incident):
        content = label()
        entry = note(incident, claim_of(content))

        with pytest.raises(services.NotAllowedError):
            add(incident, entry, content, person=join(incident, "viewer"))
        assert not Photo.objects.exists()

    def test_a_photo_changed_or_exchanged_in_the_database_is_found(self, incident):
        content = label()
        entry = note(incident, claim_of(content))
        add(incident, entry, content)
        with changes_allowed():
            Photo.objects.update(content=content[:-2] + b"\x00\x00")

        incident.refresh_from_db()
        problem = chain.verify(incident)

        assert problem is not None
        assert (problem.what, problem.seq) == ("photo", entry.seq)


class TestAtThePost:
    def test_a_photo_of_the_form_is_scaled_and_bare_before_it_is_hashed(self, incident):
        taken = label(3000, 2000, exif=True)

        entry = note(incident, None, picture=taken)

        photo = Photo.objects.get()
        kept = bytes(photo.content)
        assert loads(entry.body)["photo"]["sha256"] == photo.sha256
        assert hashlib.sha256(kept).hexdigest() == photo.sha256
        picture = pictures.look_at(kept)
        assert (picture.width, picture.metadata) == (1600, ())
        incident.refresh_from_db()
        assert chain.verify(incident) is None

    def test_where_the_sop_keeps_them_it_is_the_file_itself(self):
        incident, taken = keeping_originals(), label(3000, 2000, exif=True)

        entry = note(incident, None, picture=taken)

        assert loads(entry.body)["photo"]["original"] is True
        assert bytes(Photo.objects.get().content) == taken

    def test_no_picture_no_note(self, incident):
        with pytest.raises(services.EntryRefusedError, match="JPEG, PNG or WebP"):
            note(incident, None, picture=b"%PDF-1.7")

        assert not incident.entries.filter(kind="note").exists()

    def test_the_same_form_sent_twice_is_one_note_with_one_photo(self, incident):
        same = {"picture": label(exif=True), "client_uuid": uuid.uuid4()}

        assert note(incident, None, **same) == note(incident, None, **same)
        assert Photo.objects.count() == 1


class TestFromAPhone:
    @pytest.fixture
    def device(self, incident):
        _, secret = devices.offer_device(
            incident_id=incident.pk,
            person=incident.opened_by,
            team="entry-1",
            name="Alder's phone",
            at=minutes(0),
        )
        return devices.join_device(secret=secret, at=minutes(1))[0]

    def send(self, device, claim, *, at=None, key=None, counter=1):
        body = {"kind": "note", "text": "Label", "team": "entry-1"}
        sent = devices.Sent(
            client_uuid=key or uuid.uuid4(),
            counter=counter,
            observed_at=minutes(3),
            clock_moved=timedelta(0),
            body=body | {"photo": claim.body()},
            raw={},
        )
        taken = devices.take_from_device(
            device=device, sent=sent, received_at=at or minutes(3)
        )
        return sent.client_uuid, taken

    def take(self, device, key, content):
        return photos.take_photo_from_device(
            device=device, entry=key, content=content, received_at=minutes(5)
        )

    def test_entry_and_bytes_have_the_phone_by_name(self, incident, device):
        content = label()

        key, taken = self.send(device, claim_of(content))
        photo = self.take(device, key, content)

        assert taken.appended.entry.device == "Phone: Alder's phone"
        assert photo.device == "Phone: Alder's phone"
        assert photo == self.take(device, key, content)

    def test_sent_again_after_closing_it_is_the_same_entry(self, incident, device):
        claim = claim_of(label())
        key, first = self.send(device, claim)
        services.close_incident(
            incident_id=incident.pk,
            person=incident.opened_by,
            at=minutes(4),
            reason="Done",
        )

        _, again = self.send(device, claim, key=key, at=minutes(5))

        assert again.appended.duplicate
        assert again.appended.entry == first.appended.entry
        assert self.take(device, key, label())

    def test_of_a_revoked_phone_it_waits_with_its_entry(self, incident, device):
        content = label()
        devices.revoke_device(
            incident_id=incident.pk,
            person=incident.opened_by,
            device_id=device.pk,
            at=minutes(2),
        )
        key, taken = self.send(device, claim_of(content))
        assert "revoked" in taken.held_because
        self.take(device, key, content)

        held = devices.decide_held(
            held_id=device.entries.get().pk,
            person=incident.opened_by,
            take=True,
            reason="Seen by radio",
            at=minutes(6),
        )

        assert Claim.of(loads(held.entry.body)) == claim_of(content)
        incident.refresh_from_db()
        assert chain.verify(incident) is None

    def test_bytes_that_no_entry_names_are_not_kept(self, incident, device):
        with pytest.raises(photos.PhotoNotNamedError):
            self.take(device, uuid.uuid4(), label())
        assert not Photo.objects.exists()

    def test_the_entry_of_another_incident_names_nothing_here(self, incident, device):
        content = label()
        key, _ = self.send(device, claim_of(content))
        other = open_incident()
        _, secret = devices.offer_device(
            incident_id=other.pk,
            person=other.opened_by,
            team="entry-1",
            name="Theirs",
            at=minutes(0),
        )
        theirs, _ = devices.join_device(secret=secret, at=minutes(1))

        with pytest.raises(photos.PhotoNotNamedError):
            self.take(theirs, key, content)


class TestThatItCame:
    def test_the_arrival_is_a_record_that_names_entry_and_hash(self, incident):
        content = label()
        entry = note(incident, claim_of(content))
        add(incident, entry, content)

        row = incident.entries.latest("seq")

        assert row.kind == "photo_arrived"
        assert loads(row.body) == {
            "entry": entry.key,
            "sha256": hashlib.sha256(content).hexdigest(),
        }
        assert chain.verify(refreshed(incident)) is None

    def test_handed_in_twice_it_came_once(self, incident):
        content = label()
        entry = note(incident, claim_of(content))
        for _ in range(2):
            add(incident, entry, content)

        assert incident.entries.filter(kind="photo_arrived").count() == 1

    def test_one_that_never_came_is_no_fault(self, incident, client):
        entry = note(incident, claim_of(label()))

        assert chain.verify(refreshed(incident)) is None
        page = page_of(client, incident, entry)
        assert "Photo not received." in page
        assert "Judged by" not in page

    def test_one_that_came_and_was_taken_out_is_said_to_be_gone(self, incident, client):
        content = label()
        entry = note(incident, claim_of(content))
        add(incident, entry, content)
        with changes_allowed():
            Photo.objects.all().delete()

        problem = chain.verify(refreshed(incident))

        assert (problem.what, problem.seq) == ("gone", entry.seq + 1)
        assert "is gone" in problem.in_words
        page = page_of(client, incident, entry)
        assert "The photo arrived, and is gone." in page
        sheet = client.get(reverse("incidents:log", args=(incident.pk,))).text
        assert "photo arrived, and is gone" in sheet
        (line,) = photo_lines(incident, incident.entries.order_by("seq"), {})
        assert line.state == "Photo arrived, and is gone"

    def test_the_very_file_handed_in_again_makes_it_whole(self, incident):
        content = label()
        entry = note(incident, claim_of(content))
        add(incident, entry, content)
        with changes_allowed():
            Photo.objects.all().delete()

        add(incident, entry, content, at=minutes(9))

        assert chain.verify(refreshed(incident)) is None
        assert incident.entries.filter(kind="photo_arrived").count() == 1


def refreshed(incident):
    incident.refresh_from_db()
    return incident


def page_of(client, incident, entry):
    client.force_login(incident.opened_by)
    return client.get(reverse("incidents:entry", args=(incident.pk, entry.seq))).text
