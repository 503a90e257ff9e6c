"""What axe and a ruler find on the pages of the record, its files, its key and its people.

One incident with everything in it is made once, each page is opened once, and is looked at
in every size and both schemes where it stands. With WORKSHEET_SHOTS set each is kept as a
picture, too.
"""

import hashlib
import os
import uuid
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.models import SigningKey
from incidents.photo_claims import Claim
from incidents.services import photos, signing_keys
from incidents.services.access_requests import record_request
from incidents.services.importing import import_worksheet
from incidents.services.keeping import record_employment_end
from tests.browser.looking import BOXES, LOOKED_AT, problems
from tests.conftest import changes_allowed
from tests.factories import PersonFactory, acid, entry, join, log, open_incident
from tests.incidents.services.test_importing import FOREIGN, WRONG
from tests.incidents.services.test_signing_keys import file_of
from tests.photos import label

SHOTS = os.environ.get("WORKSHEET_SHOTS", "")
SEALING = 240_000  # milliseconds: the machine may be busy, and nothing is measured here
MEASURED = [*LOOKED_AT, (320, 568)]


def note(incident, at, text, content):
    claim = Claim(
        sha256=hashlib.sha256(content).hexdigest(),
        media_type="image/jpeg",
        size=len(content),
    )
    return services.write_note(
        incident_id=incident.pk, person=incident.opened_by, client_uuid=uuid.uuid4(),
        at=at, recorded_at=at, text=text, photo=claim,
    ).entry  # fmt: skip


def been_in(owner, at):
    """An incident that was worked: people in and out, a Stop, a photo come and one not."""
    incident = open_incident(person=owner, at=at)
    log(incident, entry("enter", at, team="entry-1", place="tank room"))
    log(incident, acid(at + timedelta(minutes=5)))
    come = note(incident, at + timedelta(minutes=6), "Placard, UN 1017", label())
    photos.add_missing_photo(
        incident_id=incident.pk, person=owner, seq=come.seq, content=label(), at=at
    )
    missing = note(incident, at + timedelta(minutes=7), "Drum 3", label(400, 300))
    log(incident, entry("exit", at + timedelta(minutes=20), team="entry-1"))
    return incident, come, missing


def keys_of(owner, at):
    """One that was imported and replaced, one revoked, and the one in use."""
    agency = owner.agency
    signing_keys.import_key(
        agency=agency, file=file_of(), file_passphrase="theirs", at=at
    )
    revoked = signing_keys.replace_key(agency=agency, at=at)
    signing_keys.revoke_key(
        key=revoked, person=owner, since=at, reason="key_compromise",
        words="The old server was taken out of the post.", at=timezone.now(),
    )  # fmt: skip
    return signing_keys.signing_key_of(agency=agency, at=at)


def sealed(open_as, incident):
    """Made by the server: signing wants an event loop of its own, and here runs one."""
    page = open_as(
        incident.opened_by, reverse("incidents:reports", args=(incident.pk,))
    )
    page.locator("#make-report").click(timeout=SEALING)
    page.get_by_role("link", name="Download the PDF").wait_for(timeout=SEALING)
    return incident.reports.get()


def from_elsewhere(open_as, at):
    """A report of a server that this one knows nothing of, and that server's root."""
    incident = open_incident(at=at, name="Harbour cold store")
    report = sealed(open_as, incident)
    key = SigningKey.objects.get(agency=incident.agency)
    file, root = bytes(report.pdf), bytes(key.root_certificate)
    with changes_allowed():
        report.delete()
        key.delete()
    return file, root


@pytest.fixture
def scene(transactional_db, open_as):
    at = timezone.now() - timedelta(hours=3)
    owner = PersonFactory.create(
        is_agency_owner=True, display_name="Alder", agency__name="Example County"
    )
    incident, come, missing = been_in(owner, at)
    key = keys_of(owner, at)
    interim = {"incident_id": incident.pk, "person": owner}
    services.sign_off(
        **interim, client_uuid=uuid.uuid4(), at=timezone.now(), dissents=True,
        dissent="The meter of the backup team was not bump tested.",
    )  # fmt: skip
    report = sealed(open_as, incident)
    services.close_incident(**interim, at=timezone.now(), reason="Handed over")
    services.add_addendum(
        **interim, client_uuid=uuid.uuid4(), at=timezone.now(),
        recorded_at=timezone.now(), text="The drum was weighed later: 41 kg.",
    )  # fmt: skip
    record_employment_end(
        person=owner, name="Birch", ended_on=timezone.now().date(), at=timezone.now()
    )
    long_ago = timezone.now() - timedelta(days=60)
    asked = record_request(
        person=owner, for_whom="Birch", asked_as="representative", asked_by="K. Alder",
        authority="of Birch, 2026-01-02", what="exposure",
        received_on=long_ago.date(), at=timezone.now(),
    )  # fmt: skip
    file, root = from_elsewhere(open_as, at)
    imported = import_worksheet(
        file=FOREIGN.encode(), person=owner, agency=owner.agency, at=timezone.now()
    )
    return SimpleNamespace(
        owner=owner, asked=asked, incident=incident, come=come, missing=missing, key=key,
        report=bytes(report.pdf), foreign=file, root=root, imported=imported,
        beginner=join(incident, "viewer", display_name="N. Ewcomer"),
    )  # fmt: skip


def named(scene):
    """The pages that their address alone opens."""
    one, other = (scene.incident.pk,), (scene.imported.pk,)
    return {
        "record": reverse("incidents:record", args=one),
        "reports": reverse("incidents:reports", args=one),
        "addendum": reverse("incidents:addendum", args=one),
        "briefing": reverse("incidents:incident-briefing", args=one),
        "photo": reverse("incidents:entry", args=(*one, scene.come.seq)),
        "no photo": reverse("incidents:entry", args=(*one, scene.missing.seq)),
        "photo-add": reverse("incidents:photo-add", args=(*one, scene.missing.seq)),
        "photo-add come": reverse("incidents:photo-add", args=(*one, scene.come.seq)),
        "log": reverse("incidents:log", args=one),
        "imported sheet": reverse("incidents:sheet", args=other),
        "imported record": reverse("incidents:record", args=other),
        "imported reports": reverse("incidents:reports", args=other),
        "import": reverse("incidents:worksheet-import"),
        "keys": reverse("incidents:keys"),
        "key-import": reverse("incidents:key-import"),
        "key-revoke": reverse("incidents:key-revoke", args=(scene.key.pk,)),
        "employment": reverse("incidents:employment"),
        "access-requests": reverse("incidents:access-requests"),
        "access-request": reverse("incidents:access-request", args=(scene.asked.pk,)),
        "own-record": reverse("incidents:own-record"),
        "verify": reverse("incidents:verify"),
    }


# The same pages after something wrong was sent: what to fill in, and what to press.
WRONGLY = {
    "addendum": ({}, "#add"),
    "reports": ({}, "#sign-off"),
    "photo-add": ({"#id_photo": ("p.jpg", label(40, 30))}, "main form .main"),
    "import": ({"#id_file": ("w.json", WRONG.encode())}, "#import"),
    "key-import": ({"#id_file": ("k.p12", b"no key")}, "#key-import"),
    "key-revoke": ({}, "#key-revoke"),
    "verify": ({"#id_file": ("r.pdf", b"no report")}, "#check-report"),
}


def choose(page, field, file):
    name, content = file
    page.locator(field).set_input_files(
        {"name": name, "mimeType": "application/octet-stream", "buffer": content}
    )


def reports_to_check(scene):
    changed = bytearray(scene.report)
    changed[len(changed) // 2] ^= 1
    root = {"#id_root": ("root.der", scene.root)}
    return {
        "good": {"#id_file": ("good.pdf", scene.report)},
        "changed": {"#id_file": ("changed.pdf", bytes(changed))},
        "unknown": {"#id_file": ("foreign.pdf", scene.foreign)},
        "foreign": {"#id_file": ("foreign.pdf", scene.foreign)} | root,
    }


VERDICTS = {
    "good": "This report holds, and this server's log says the same.",
    "changed": "This report does not hold.",
    "unknown": "This report does not hold.",
    "foreign": "The report holds in itself.",
}


def every_page(page, scene):
    """Each page by name, in each of its states."""
    for name, url in named(scene).items():
        page.goto(url)
        yield name
        fields, button = WRONGLY.get(name, ({}, ""))
        if button:
            for field, file in fields.items():
                choose(page, field, file)
            page.locator(button).click()
            page.wait_for_selector("#error-summary")
            yield f"{name} with errors"
    for name, files in reports_to_check(scene).items():
        page.goto(reverse("incidents:verify"))
        for field, file in files.items():
            choose(page, field, file)
        page.locator("#check-report").click()
        assert VERDICTS[name] in page.locator("#verdict").inner_text()
        yield f"verify {name}"
    for name in ("holds", "does not hold"):
        if name == "does not hold":
            with changes_allowed():
                scene.incident.entries.filter(seq=3).update(device="Another")
        page.goto(reverse("incidents:record", args=(scene.incident.pk,)))
        page.locator("#check-record").click()
        assert f"The log {name}" in page.locator("#chain-answer").inner_text()
        yield f"record {name}"


def measured(page):
    """What is too small, too close to another, or wider than the screen."""
    boxes = page.evaluate(BOXES)
    wrong = [
        (box["what"], round(box["width"]), round(box["height"]))
        for box in boxes
        if min(box["height"], box["width"]) < 47.5
    ]
    over = page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
    return wrong + ([f"{over} px too wide"] if over > 0 else [])


def looked_at(page, name):
    found = {}
    for width, height in MEASURED:
        page.set_viewport_size({"width": width, "height": height})
        found[name, width] = measured(page)
        if SHOTS:
            file = Path(SHOTS) / f"{name.replace(' ', '-')}-{width}.png"
            page.screenshot(path=file, full_page=True)
        if (width, height) in LOOKED_AT:
            found[name, width, "axe"] = problems(page)
    return found


def test_axe_and_the_ruler_find_nothing_about_the_record(open_as, scene):
    page = open_as(scene.owner, reduced_motion="reduce")
    page.set_default_timeout(SEALING)

    found, names = {}, []
    for name in every_page(page, scene):
        names.append(name)
        found |= looked_at(page, name)
    page = open_as(scene.beginner, reverse("incidents:own-record"))
    found |= looked_at(page, "no record")

    assert len(names) == len(named(scene)) + len(WRONGLY) + len(VERDICTS) + 2
    assert {where: each for where, each in found.items() if each} == {}
