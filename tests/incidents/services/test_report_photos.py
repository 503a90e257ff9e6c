"""The photos of a log in its sealed report, and how much of them is printed."""

import hashlib
import io
import json

import pytest
from PIL import Image

from incidents import pictures, services
from incidents.services import report_photos
from incidents.services.reports import make_report
from reports.reading import page_texts
from tests.factories import minutes, open_incident
from tests.incidents.services.test_photos import (
    add,
    claim_of,
    keeping_originals,
    note,
)
from tests.photos import MODEL, label
from tests.reports.test_photos import pictures_in

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    return open_incident()


def lines(incident):
    rows = list(incident.entries.order_by("seq"))
    return report_photos.photo_lines(incident, rows, {"entry-1": "Entry team 1"})


def test_the_report_prints_those_that_came_and_names_those_that_did_not(incident):
    content, lost = label(), label(801)
    here = note(incident, claim_of(content), place="tank room", team="entry-1")
    add(incident, here, content)
    missing = note(incident, claim_of(lost), text="Label on drum 4")

    report = make_report(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(10)
    )

    pdf = bytes(report.pdf)
    words = " ".join(" ".join(page_texts(pdf)).split())
    assert pictures_in(pdf) == [content]
    assert f"Record {here.seq} Label on drum 3, Entry team 1, tank room" in words
    assert "Photo: Label on drum 3. See Photos" in words
    assert f"Record {missing.seq} Label on drum 4" in words
    assert "Photo not received." in words
    # In the narrow column of the timeline it is broken over lines.
    assert words.replace(" ", "").count(hashlib.sha256(lost).hexdigest()) == 2


def test_a_note_that_was_taken_back_says_so(incident):
    content = label()
    entry = note(incident, claim_of(content))
    services.undo(
        incident_id=incident.pk,
        person=incident.opened_by,
        seq=entry.seq,
        recorded_at=minutes(5),
    )

    (line,) = lines(incident)

    assert line.taken_back.startswith("undone by")
    assert line.picture == b""


def test_one_kept_as_the_camera_made_it_is_printed_upright_and_bare():
    incident = keeping_originals()
    taken = label(1200, 800, exif=True, orientation=6)
    note(incident, None, picture=taken)

    (line,) = lines(incident)

    assert not line.as_kept
    assert (line.pixels_wide, line.pixels_high) == (800, 1200)
    assert pictures.look_at(line.picture).metadata == ()
    assert MODEL.encode() not in line.picture
    assert line.sha256 == hashlib.sha256(taken).hexdigest()
    assert line.size == len(taken)


def test_many_photos_are_printed_smaller(incident, monkeypatch):
    content = label(1600, 1200)
    add(incident, note(incident, claim_of(content)), content)
    assert lines(incident)[0].as_kept

    monkeypatch.setattr(report_photos, "BUDGET", len(content) - 1)
    monkeypatch.setattr(report_photos, "LEAST_SHARE", 1)
    (line,) = lines(incident)

    assert not line.as_kept
    assert (line.pixels_wide, line.pixels_high) == (1000, 750)
    assert Image.open(io.BytesIO(line.picture)).size == (1000, 750)


def test_the_record_of_the_photo_goes_with_the_report_s_chain(incident):
    content = label()
    entry = note(incident, claim_of(content))

    hashed = json.loads(bytes(entry.canonical))

    assert hashlib.sha256(content).hexdigest() in hashed["body"]
