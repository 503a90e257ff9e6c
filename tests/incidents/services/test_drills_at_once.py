"""A crew that asks at one moment: what is due comes once, and one answer counts."""

import pytest

from incidents.models import APP_KINDS, DrillAnswer
from incidents.services import drills
from incidents.services.errors import AlreadyDoneError
from screening.verdicts import Action
from tests.drills import after, started, step
from tests.factories import START
from tests.incidents.services.test_concurrency import run_together, whole

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.db_both]


def test_all_who_ask_at_once_get_what_is_due_once():
    drill, _ = started(speed=10)
    counts = []

    def work(number):
        counts.append(drills.give_due(incident_id=drill.pk, at=after(18 + number)))

    run_together(work)

    rows = drill.incident.entries.exclude(kind__in=APP_KINDS)
    assert rows.count() == 5
    assert sum(counts) == 4  # the first came with the beginning
    whole(drill.incident)


def test_one_answer_of_a_person_counts_though_they_press_on_four_screens():
    drill, people = started()
    step(drill)
    seq = drill.incident.entries.order_by("-seq").first().seq
    taken, refused = [], []

    def work(number):
        try:
            taken.append(
                drills.answer(
                    incident_id=drill.pk,
                    person=people["commander"],
                    seq=seq,
                    action=Action(number),
                    at=START,
                )
            )
        except AlreadyDoneError:
            refused.append(number)

    run_together(work)

    assert (len(taken), len(refused)) == (1, 3)
    assert DrillAnswer.objects.count() == 1


def test_nothing_comes_after_the_end_however_close_it_was():
    drill, _ = started(speed=10)

    def work(number):
        if number == 0:
            drills.end_drill(incident_id=drill.pk, person=drill.led_by, at=after(18))
        else:
            drills.give_due(incident_id=drill.pk, at=after(18))

    run_together(work)

    kinds = list(drill.incident.entries.order_by("seq").values_list("kind", flat=True))
    assert kinds[-2:] == ["drill", "closing"]
    whole(drill.incident)
