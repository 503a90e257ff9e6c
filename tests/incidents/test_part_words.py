import pytest
from django.core.exceptions import ValidationError

from incidents.models import Agency, IncidentRole
from incidents.part_words import say_part

MOSS = {"id": 7, "name": "E. Moss"}


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"role": "technician"}, "E. Moss takes part as technician"),
        ({"role": "safety_officer"}, "E. Moss takes part as safety officer"),
        (
            {"role": "viewer", "agency": "State team", "invited_by": "D. Holt"},
            "E. Moss of State team takes part as viewer, invited by D. Holt",
        ),
        # Someone who was invited gets another part: no new invitation.
        ({"role": "medical", "agency": "State team"}, "E. Moss takes part as medical"),
        (
            {"role": "", "ended": "training_officer"},
            "E. Moss takes no further part, was training officer",
        ),
    ],
)
def test_who_took_which_part_is_said_in_plain_words(given, words):
    assert say_part(MOSS | given) == words


@pytest.mark.parametrize("role", IncidentRole.Role.values)
def test_every_part_has_words(role):
    assert "_" not in say_part(MOSS | {"role": role})


@pytest.mark.parametrize("zone", ["Mars/Base", "America", "", "../etc/passwd"])
def test_an_agency_has_a_time_zone_that_there_is(zone):
    agency = Agency(name="Mill Town", slug="mill-town", time_zone=zone)

    with pytest.raises(ValidationError, match="time_zone"):
        agency.clean_fields()
