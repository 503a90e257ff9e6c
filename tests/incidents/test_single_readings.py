"""The phone's table: what one reading alone means for a team."""

import json

import pytest

from incidents.forms.single_readings import single_readings
from screening.ensembles import Ensemble
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import member, moment, quantity, team, worksheet

# Rule 1: pH 2 in the air is a caution in level A and a stop in all else.
ACTIONS = ["continue", "caution", "stop", "withdraw"]


def table(*own, worn="level_a", **changes):
    people = [
        {**member(f"m{n}"), **({"ensemble": each} if each else {})}
        for n, each in enumerate(own)
    ]
    crew = team(ensemble=worn, members=people)
    document = {**worksheet(teams=[crew], **changes), "log": []}
    context = parse_worksheet(load_json(json.dumps(document).encode())).context
    return single_readings(context, "entry-1")


def acid(of):
    """The strictest that any statement on acid vapour means in level A."""
    index = list(Ensemble).index(Ensemble.LEVEL_A)
    return ACTIONS[
        max(
            found["actions"][index]
            for found in of["findings"]
            if found["hazard"] == "Acid vapour"
        )
    ]


@pytest.mark.parametrize(
    ("own", "action"),
    [((None,), "caution"), ((None, "level_b"), "stop"), (("level_a",), "caution")],
)
def test_the_phone_counts_what_a_member_wears_instead(own, action):
    assert acid(table(*own)) == action


def test_the_phone_judges_by_the_last_weather_that_was_seen():
    looks = [{"at": moment(5), "air_temperature": quantity(50, "degF")}]

    assert table(None, weather_log=looks)["air_degf"] == 50
