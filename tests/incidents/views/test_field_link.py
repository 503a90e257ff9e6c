"""The phone's side of the link: joining once, sending, being told, being cut off."""

import json
import re
import uuid
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.models import DeviceEntry
from incidents.services import chain, devices
from tests.conftest import changes_allowed

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]
HEADERS = {"X-Worksheet-Device": "1", "Sec-Fetch-Site": "same-origin"}


def post(client, name, content, **changes):
    return client.post(
        reverse(f"incidents:{name}"),
        content,
        content_type="application/json",
        headers=HEADERS | changes,
    )


def offered(incident, **changes):
    given = {"team": "entry-1", "name": "Alder's phone", "at": timezone.now()}
    return devices.offer_device(
        incident_id=incident.pk, person=incident.opened_by, **(given | changes)
    )


@pytest.fixture
def phone(incident):
    """A browser that has joined, and knows no other way in."""
    client = Client(enforce_csrf_checks=True)
    _, secret = offered(incident)
    answer = post(client, "field-join", json.dumps(secret))
    assert answer.status_code == 200, answer.content
    return client


def item(n=1, at=None, kind="ph_paper", offset_ms=0, **fields):
    given = {
        "sample": "vapour",
        "reading": "2",
        "moistened": "yes",
        "place": "tank room",
    }
    return {
        "uuid": str(uuid.uuid4()),
        "n": n,
        "kind": kind,
        "device_at": (at or timezone.now()).isoformat(),
        "offset_ms": offset_ms,
        "fields": given | fields,
    }


def send(client, *items, sent_at=None):
    batch = {
        "sent_at": (sent_at or timezone.now()).isoformat(),
        "entries": list(items),
    }
    answer = post(client, "field-entries", json.dumps(batch))
    assert answer.status_code == 200, answer.content
    return answer.json()


def logged(incident):
    return list(incident.entries.filter(kind="ph_paper").order_by("seq"))


def device_of(incident):
    return incident.devices.get()


# --- Joining -------------------------------------------------------------------------


def test_the_cookie_goes_to_the_link_alone_and_no_script_reads_it(incident):
    client = Client()
    _, secret = offered(incident)
    answer = post(client, "field-join", json.dumps(secret))
    cookie = answer.cookies["device"]
    assert cookie["path"] == "/field/link/"
    assert cookie["httponly"]
    assert cookie["samesite"] == "Strict"
    assert answer.json()["team"]["name"] == "Entry team 1"


def test_neither_secret_is_kept(incident):
    device, secret = offered(incident)
    _, token = devices.join_device(secret=secret, at=timezone.now())
    device.refresh_from_db()
    kept = [str(value) for value in vars(device).values()]
    assert not any(secret in value or token in value for value in kept)


def test_a_code_works_once(incident):
    _, secret = offered(incident)
    assert post(Client(), "field-join", json.dumps(secret)).status_code == 200
    second = post(Client(), "field-join", json.dumps(secret))
    assert second.status_code == 410
    assert "used before" in second.json()["words"]


def test_a_code_works_for_ten_minutes(incident):
    _, secret = offered(incident, at=timezone.now() - timedelta(minutes=11))
    answer = post(Client(), "field-join", json.dumps(secret))
    assert "too old" in answer.json()["words"]
    _, secret = offered(incident, at=timezone.now() - timedelta(minutes=9))
    assert post(Client(), "field-join", json.dumps(secret)).status_code == 200


def test_what_is_no_code_is_refused(incident):
    assert post(Client(), "field-join", '"guess"').status_code == 410


def test_only_the_commander_offers_and_revokes(incident, technician):
    with pytest.raises(services.NotAllowedError):
        devices.offer_device(
            incident_id=incident.pk,
            person=technician,
            team="entry-1",
            name="Phone",
            at=timezone.now(),
        )


@pytest.mark.parametrize("name", ["field-link", "field-entries"])
@pytest.mark.parametrize(
    "headers",
    [{}, {"X-Worksheet-Device": "1", "Sec-Fetch-Site": "cross-site"}],
)
def test_another_site_s_form_cannot_use_the_cookie(phone, name, headers):
    call = phone.get if name == "field-link" else phone.post
    assert call(reverse(f"incidents:{name}"), headers=headers).status_code == 403


def test_the_device_s_cookie_opens_no_page(phone, incident):
    phone.cookies["device"]["path"] = "/"
    for name in ("sheet", "log-choose", "log", "reports"):
        answer = phone.get(reverse(f"incidents:{name}", args=(incident.pk,)))
        assert answer.status_code == 302


# --- Sending -------------------------------------------------------------------------


def test_an_entry_goes_into_the_log_with_its_verdict(phone, incident):
    reply = send(phone, item())
    (answer,) = reply["answers"]
    assert answer["state"] == "stored"
    assert [each["action"] for each in answer["found"]][0] == "stop"
    assert reply["now"]["verdict"]["word"] == "stop"
    (row,) = logged(incident)
    assert row.device == "Phone: Alder's phone"
    assert chain.verify(incident_again(incident)) is None


def incident_again(incident):
    incident.refresh_from_db()
    return incident


def test_sent_twice_it_is_stored_once_and_answered_the_same(phone, incident):
    one = item()
    first, second = send(phone, one), send(phone, one)
    assert first["answers"] == second["answers"]
    assert len(logged(incident)) == 1


def test_a_batch_keeps_the_device_s_order(phone, incident):
    start = timezone.now() - timedelta(minutes=5)
    items = [
        item(n, at=start + timedelta(seconds=n), reading=str(n)) for n in range(1, 13)
    ]
    reply = send(phone, *reversed(items))
    assert {each["state"] for each in reply["answers"]} == {"stored"}
    assert [json.loads(row.body)["ph"] for row in logged(incident)] == list(
        range(1, 13)
    )


def test_a_refused_one_stays_out_with_its_field_and_the_next_is_stored(phone, incident):
    bad = item(1, reading="")
    reply = send(phone, bad, item(2))
    refused, stored = reply["answers"]
    assert (refused["state"], stored["state"]) == ("refused", "stored")
    assert refused["errors"] == [["reading", "Choose the colour of the strip."]]

    bad["fields"]["reading"] = "4"
    assert send(phone, bad)["answers"][0]["state"] == "stored"


def test_the_same_identifier_for_something_else_is_a_conflict(phone, incident):
    one = item()
    send(phone, one)
    one["fields"]["reading"] = "9"
    assert send(phone, one)["answers"][0]["state"] == "conflict"
    other = item(1)
    assert send(phone, other)["answers"][0]["state"] == "conflict"
    assert len(logged(incident)) == 1


def test_a_phone_logs_for_its_own_team_only(phone, incident):
    send(phone, item(team="backup-1"))
    assert json.loads(logged(incident)[0].body)["team"] == "entry-1"


def test_a_phone_decides_nothing(phone):
    batch = {"sent_at": timezone.now().isoformat(), "entries": [item(kind="clear")]}
    answer = post(phone, "field-entries", json.dumps(batch))
    assert answer.status_code == 400
    assert "/entries/0/kind" in answer.json()["words"]


@pytest.mark.parametrize(
    "content",
    [b"[]", b"{", b"{}", b'{"entries": 1}', b'{"entries": [1], "sent_at": "x"}', b"\xff"],
)  # fmt: skip
def test_what_is_no_batch_is_refused_in_words(phone, content):
    answer = post(phone, "field-entries", content)
    assert answer.status_code == 400
    assert answer.json()["words"].startswith("Not read")


def test_fifty_at_most(phone):
    many = [item(n) for n in range(1, 52)]
    batch = {"sent_at": timezone.now().isoformat(), "entries": many}
    answer = post(phone, "field-entries", json.dumps(batch))
    assert "at most 50" in answer.json()["words"]


# --- Clocks --------------------------------------------------------------------------


def test_a_clock_an_hour_ahead_is_measured_and_the_true_time_kept(phone, incident):
    ahead = timezone.now() + timedelta(hours=1)
    reply = send(phone, item(at=ahead, offset_ms=-3_600_000), sent_at=ahead)
    assert reply["answers"][0]["state"] == "stored"
    (row,) = logged(incident)
    assert abs(row.observed_at - timezone.now()) < timedelta(minutes=1)
    kept = json.loads(DeviceEntry.objects.get().sent)
    assert kept["offset_ms"] == -3_600_000
    assert kept["device_at"] == ahead.isoformat()


@pytest.mark.parametrize(
    ("moved", "words"),
    [(timedelta(minutes=10), "not come yet"), (timedelta(hours=-25), "over a day ago")],
)
def test_an_impossible_time_is_kept_apart(phone, incident, moved, words):
    reply = send(phone, item(at=timezone.now() + moved))
    (answer,) = reply["answers"]
    assert answer["state"] == "held"
    assert words in answer["words"]
    assert logged(incident) == []


def test_a_clock_that_was_moved_while_nobody_measured_it_is_kept_apart(phone, incident):
    now = timezone.now()
    reply = send(phone, item(at=now), sent_at=now + timedelta(minutes=30))
    assert "clock was moved by 30 min" in reply["answers"][0]["words"]


def as_if(device, **changes):
    """A phone of some time ago; the database would refuse to make it one."""
    with changes_allowed():
        type(device).objects.filter(pk=device.pk).update(**changes)


def test_what_comes_late_is_judged_at_its_own_time(phone, incident):
    as_if(device_of(incident), joined_at=timezone.now() - timedelta(hours=1))
    earlier = timezone.now() - timedelta(minutes=20)
    reply = send(phone, item(at=earlier))
    (answer,) = reply["answers"]
    assert answer["late"]
    assert abs(logged(incident)[0].observed_at - earlier) < timedelta(seconds=1)


# --- Cut off -------------------------------------------------------------------------


def revoke(incident):
    devices.revoke_device(
        incident_id=incident.pk,
        person=incident.opened_by,
        device_id=device_of(incident).pk,
        at=timezone.now(),
    )


def test_what_a_revoked_phone_sends_is_kept_apart_and_it_reads_nothing(phone, incident):
    revoke(incident)
    assert (
        phone.get(reverse("incidents:field-link"), headers=HEADERS).status_code == 403
    )
    reply = send(phone, item())
    assert reply["answers"][0]["state"] == "held"
    assert reply["revoked"]
    assert "now" not in reply
    assert logged(incident) == []
    # The answer was lost: the same again.
    held = DeviceEntry.objects.get()
    assert held.decision == DeviceEntry.Decision.WAITING


def test_after_the_shift_it_is_kept_apart_too(phone, incident):
    as_if(device_of(incident), expires_at=timezone.now() - timedelta(minutes=1))
    assert "shift ended" in send(phone, item())["answers"][0]["words"]


def test_the_commander_takes_a_held_entry_in_or_not_and_both_are_logged(
    phone, incident
):
    revoke(incident)
    one, two = item(1), item(2, reading="9")
    send(phone, one, two)
    first, second = DeviceEntry.objects.order_by("counter")
    decide = {"person": incident.opened_by, "at": timezone.now()}

    devices.decide_held(
        held_id=first.pk, take=True, reason="seen by the crew", **decide
    )
    devices.decide_held(held_id=second.pk, take=False, reason="wrong strip", **decide)

    (row,) = logged(incident)
    assert str(row.client_uuid) == one["uuid"]
    assert "taken in by" in row.device
    steps = [
        json.loads(each.body)["step"] for each in incident.entries.filter(kind="device")
    ]
    assert steps == ["joined", "revoked", "entry taken", "entry not taken"]
    assert chain.verify(incident_again(incident)) is None
    with pytest.raises(services.NotAllowedError, match="already"):
        devices.decide_held(held_id=first.pk, take=False, reason="no", **decide)


def test_a_decision_needs_a_reason_and_the_commander(phone, incident, technician):
    revoke(incident)
    send(phone, item())
    held = DeviceEntry.objects.get()
    with pytest.raises(services.EntryRefusedError):
        devices.decide_held(
            held_id=held.pk, person=incident.opened_by, take=True, reason=" ",
            at=timezone.now(),
        )  # fmt: skip
    with pytest.raises(services.NotAllowedError):
        devices.decide_held(
            held_id=held.pk, person=technician, take=True, reason="x", at=timezone.now()
        )


# --- What a phone costs ----------------------------------------------------------------


def poll(client, at=None):
    """The statements that one poll costs; it says `at` as the phone's own time."""
    sent = (at or timezone.now()).isoformat()
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(
            reverse("incidents:field-link"),
            headers=HEADERS | {"X-Worksheet-Sent": sent},
        )
    assert answer.status_code == 200
    return [query["sql"] for query in asked]


def writes(statements):
    return [each for each in statements if each.startswith("UPDATE")]


def test_a_poll_writes_only_what_is_news(phone, incident):
    heard = timezone.now() - timedelta(seconds=16)
    assert writes(poll(phone))  # until now nobody knew its clock

    assert writes(poll(phone)) == []

    incident.devices.update(seen_at=heard)
    assert writes(poll(phone))
    assert device_of(incident).seen_at > heard


def test_a_clock_that_was_moved_is_noted_at_the_next_poll(phone, incident):
    poll(phone)

    assert writes(poll(phone, timezone.now() + timedelta(minutes=1)))

    assert 59_000 < device_of(incident).clock_ahead_ms < 61_000


def test_a_poll_reads_its_incident_once(phone):
    poll(phone)

    reads = [each for each in poll(phone) if 'FROM "incidents_incident"' in each]

    assert reads == []  # it comes with the device, in one query


def test_an_entry_is_looked_for_once(phone, incident):
    sent = item()
    send(phone, sent)

    with CaptureQueriesContext(connection) as asked:
        send(phone, sent)

    looks = [
        query["sql"]
        for query in asked
        if 'FROM "incidents_deviceentry"' in query["sql"]
    ]
    assert len(looks) == 1


def test_the_counter_of_one_and_the_identifier_of_another_are_a_conflict(phone):
    first, second = item(), item(2)
    send(phone, first, second)

    mixed = send(phone, {**first, "n": 2})["answers"][0]

    assert mixed["state"] == "conflict"


def test_a_phone_that_has_left_is_asked_to_join(phone):
    post(phone, "field-leave", "{}")
    assert (
        phone.get(reverse("incidents:field-link"), headers=HEADERS).status_code == 401
    )


# --- The commander's page ---------------------------------------------------------------


@pytest.fixture
def post_page(client, incident, commander):
    return lambda name, /, *args, **data: (
        client.post(reverse(f"incidents:{name}", args=(incident.pk, *args)), data)
        if data
        else client.get(reverse(f"incidents:{name}", args=(incident.pk, *args)))
    )


def test_the_code_is_shown_once_and_is_nowhere_else(post_page, incident):
    shown = post_page("devices", team="entry-1", name="Alder's phone").content.decode()
    secret = re.search(r"#join=([\w-]+)", shown).group(1)
    assert "<svg" in shown
    assert secret not in post_page("devices").content.decode()
    assert post(Client(), "field-join", json.dumps(secret)).status_code == 200


def test_a_phone_needs_a_name_and_a_team(post_page):
    answer = post_page("devices", team="nobody", name="")
    assert answer.status_code == 422
    assert "Say whose phone it is." in answer.content.decode()


def test_a_phone_is_revoked_on_the_page(post_page, phone, incident):
    post_page("device-revoke", device_of(incident).pk, sure="yes")
    shown = post_page("devices").content.decode()
    assert "Revoked" in shown
    assert (
        phone.get(reverse("incidents:field-link"), headers=HEADERS).status_code == 403
    )


def test_a_wrong_clock_is_shown(post_page, phone):
    ahead = timezone.now() + timedelta(hours=1)
    send(phone, sent_at=ahead)
    assert "Its clock is 60 min ahead." in post_page("devices").content.decode()


def test_what_is_held_is_said_in_words_and_decided_on_its_page(
    post_page, phone, incident
):
    revoke(incident)
    send(phone, item())
    assert (
        "pH 2 on wet paper in the air, tank room"
        in post_page("devices").content.decode()
    )
    held = DeviceEntry.objects.get()
    refused = post_page("held", held.pk, take="yes", reason="")
    assert refused.status_code == 422
    assert post_page("held", held.pk, take="yes", reason="seen").status_code == 302
    assert len(logged(incident)) == 1
    assert post_page("held", held.pk).status_code == 404


def handed_over(post_page, entries):
    content = json.dumps({"format": "worksheet-phone-entries", "entries": entries})
    file = SimpleUploadedFile("phone.json", content.encode())
    return post_page("handed-over", file=file)


def test_a_phone_s_file_waits_for_decisions_and_counts_once(post_page, phone, incident):
    sent, left = item(1), item(2, reading="9")
    send(phone, sent)
    entries = [each | {"device": str(device_of(incident).pk)} for each in (sent, left)]
    raw_sent = DeviceEntry.objects.get()

    assert handed_over(post_page, entries[1:]).status_code == 302
    assert handed_over(post_page, entries[1:]).status_code == 302

    waiting = DeviceEntry.objects.exclude(pk=raw_sent.pk).get()
    assert "Handed over as a file" in waiting.held_because
    assert len(logged(incident)) == 1


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"{", "no file of a phone"),
        (b'{"format": "other"}', "no worksheet-phone-entries"),
        (b'{"format": "worksheet-phone-entries", "entries": []}', "no entries"),
        (b'{"format": "worksheet-phone-entries", "entries": [1]}', "/entries/0"),
    ],
)  # fmt: skip
def test_what_is_no_phone_s_file_is_refused_at_the_field(post_page, content, words):
    answer = post_page("handed-over", file=SimpleUploadedFile("x.json", content))
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_what_is_held_is_said_on_the_sheet(post_page, phone, incident):
    revoke(incident)
    send(phone, item())
    shown = post_page("sheet").content.decode()
    assert "One entry of a phone kept apart: decide under Phones." in shown
