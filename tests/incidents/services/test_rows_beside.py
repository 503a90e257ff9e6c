"""Rows beside the log that were changed past the program: the chain's check finds them."""

import hashlib

import pytest
from django.db import connection

from incidents.models import ImportedWorksheet, Incident
from incidents.services import chain
from tests.conftest import changes_allowed
from tests.factories import acid, log, minutes, open_incident
from tests.incidents.services.test_importing import FOREIGN, bring_in

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE incidents_member SET name = 'Cedar' WHERE name = 'Alder'", "people"),
        ("UPDATE incidents_entryteam SET name = 'Another'", "team"),
        ("UPDATE incidents_entryteam SET role = 'backup'", "team"),
        ("UPDATE incidents_incident SET is_drill = true", "whether a drill"),
        ("UPDATE incidents_incident SET name = 'Another'", "the name"),
        ("UPDATE incidents_incident SET location = 'Another'", "the place"),
        ("UPDATE incidents_incident SET opened_at = '2020-01-01 00:00:00'",
         "the opening"),
        ("DELETE FROM incidents_member", "people"),
    ],
)  # fmt: skip
def test_a_changed_row_beside_the_log_is_found(statement, words):
    incident = open_incident()
    log(incident, acid(minutes(1)))
    assert chain.verify(refreshed(incident)) is None
    with changes_allowed(), connection.cursor() as cursor:
        cursor.execute(statement)

    problem = chain.verify(refreshed(incident))

    assert problem.what == "rows"
    assert words in problem.expected


def test_a_changed_file_of_an_import_is_found_with_its_hash_repaired():
    incident = bring_in(FOREIGN)
    assert chain.verify(refreshed(incident)) is None
    changed = FOREIGN.replace("7.50", "7.40").encode()
    with changes_allowed():
        ImportedWorksheet.objects.update(
            file=changed, sha256=hashlib.sha256(changed).hexdigest()
        )

    problem = chain.verify(refreshed(incident))

    assert problem.what == "rows"
    assert "the imported file" in problem.expected


def refreshed(incident):
    return Incident.objects.get(pk=incident.pk)
