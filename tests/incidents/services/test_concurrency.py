"""Many writers at once, each sending blindly again: nothing lost, doubled or skipped."""

import random
import threading
import uuid
from collections import Counter
from contextlib import suppress
from decimal import Decimal

import pytest
from django.db import connection

from incidents import selectors, services
from incidents.models import LogEntry, StoredFinding
from incidents.services import chain
from tests.factories import acid, entry, join, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.db_both]

WRITERS = 4
EACH = 8


def run_together(work):
    """Run `work(number)` in so many threads, starting at one moment."""
    start = threading.Barrier(WRITERS)
    faults = []

    def one(number):
        try:
            start.wait()
            work(number)
        except Exception as fault:  # told by the assertion below
            faults.append(fault)
        finally:
            connection.close()

    threads = [threading.Thread(target=one, args=(n,)) for n in range(WRITERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []


def whole(incident):
    incident.refresh_from_db()
    seqs = list(incident.entries.order_by("seq").values_list("seq", flat=True))
    assert seqs == list(range(1, incident.head_seq + 1))
    assert chain.verify(incident) is None


def test_writers_of_one_incident_lose_and_double_nothing():
    incident = open_incident()
    people = [join(incident, "technician") for _ in range(WRITERS)]
    acknowledged = {}

    def work(number):
        again = random.Random(number)
        for count in range(EACH):
            sent_as = uuid.UUID(int=number * 1000 + count + 1)
            body = meter(minutes(count), lel_percent=Decimal(number))
            for _ in range(2 if again.random() < 0.3 else 1):
                appended = log(
                    incident, body, person=people[number], client_uuid=sent_as,
                    recorded_at=minutes(60),
                )  # fmt: skip
                seen = acknowledged.setdefault(sent_as, appended.entry.seq)
                assert seen == appended.entry.seq

    run_together(work)

    whole(incident)
    stored = dict(
        incident.entries.exclude(kind="opening").values_list("client_uuid", "seq")
    )
    assert stored == acknowledged
    assert len(stored) == WRITERS * EACH


def test_one_entry_sent_by_all_at_once_is_recorded_once():
    incident = open_incident()
    sent_as = uuid.uuid4()
    answers = []

    def work(_):
        answers.append(log(incident, acid(minutes(1)), client_uuid=sent_as))

    run_together(work)

    assert Counter(answer.duplicate for answer in answers) == {
        False: 1,
        True: WRITERS - 1,
    }
    assert len({answer.entry.pk for answer in answers}) == 1
    assert len({answer.findings for answer in answers}) == 1
    kept = LogEntry.objects.get(client_uuid=sent_as)
    assert StoredFinding.objects.filter(entry=kept).count() == len(answers[0].findings)
    whole(incident)


def test_writers_of_two_incidents_do_not_mix():
    incidents = [open_incident(), open_incident()]

    def work(number):
        for count in range(EACH):
            log(incidents[number % 2], acid(minutes(count)), recorded_at=minutes(60))

    run_together(work)

    for incident in incidents:
        whole(incident)
        assert incident.head_seq == 1 + EACH * WRITERS // 2


def test_nothing_gets_in_behind_a_closing():
    incident = open_incident()
    refused = []

    def work(number):
        for count in range(EACH):
            try:
                if number == 0 and count == EACH // 2:
                    services.close_incident(
                        incident_id=incident.pk,
                        person=incident.opened_by,
                        at=minutes(60),
                        reason="Handed over",
                    )
                log(incident, acid(minutes(count)), recorded_at=minutes(60))
            except services.IncidentClosedError as refusal:
                refused.append(refusal)

    run_together(work)

    whole(incident)
    assert incident.entries.order_by("seq").last().kind == "closing"
    # The opening and the closing are the two that no writer sent.
    assert incident.head_seq - 2 + len(refused) == WRITERS * EACH
    assert refused


def test_an_alarm_heard_by_all_at_once_is_heard_once_and_the_others_are_told():
    incident = open_incident()
    log(incident, acid(minutes(1)))
    incident.refresh_from_db()
    (alarm,) = selectors.sheet(incident, minutes(2)).alarms
    people = [join(incident, "commander") for _ in range(WRITERS)]
    heard, told = [], []

    def work(number):
        try:
            appended = services.hear(
                incident_id=incident.pk,
                person=people[number],
                alarm=alarm.key,
                seen=alarm.action,
                client_uuid=uuid.uuid4(),
                at=minutes(3),
                recorded_at=minutes(3),
            )
            heard.append(appended.entry.author_name)
        except services.AlreadyDoneError as before:
            told.append(before.by)

    run_together(work)

    whole(incident)
    assert len(heard) == 1
    assert told == heard * (WRITERS - 1)


def test_a_mayday_called_by_all_at_once_is_one():
    incident = open_incident()
    log(incident, entry("enter", minutes(1), team="entry-1"))
    people = [join(incident, "technician") for _ in range(WRITERS)]

    def work(number):
        with suppress(services.AlreadyDoneError):
            services.call_mayday(
                incident_id=incident.pk,
                person=people[number],
                client_uuid=uuid.uuid4(),
                at=minutes(2),
                recorded_at=minutes(2),
            )

    run_together(work)

    whole(incident)
    kinds = Counter(incident.entries.values_list("kind", flat=True))
    assert (kinds["mayday"], kinds["par"]) == (1, 1)
