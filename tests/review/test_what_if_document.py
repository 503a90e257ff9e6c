"""The JSON of a what-if: what it asks for, what it says, and that it says it the same."""

import json
import pickle
from decimal import Decimal

import pytest

from incidents.documents import dumps
from review.what_if import Change
from review.what_if_document import Values, judge, read_limits, whole
from screening.verdicts import CAUTION
from screening.worksheet import WorksheetErrors
from tests.engine.documents import worksheet
from tests.review.test_what_if import RISING

LOWER = {"lel_withdraw_percent": Decimal(5)}


def values(log, key="1", **setup):
    document = worksheet(**setup)
    document.pop("log")
    return Values(key, json.dumps(document), tuple(dumps(body) for body in log))


def test_one_incident_as_a_line():
    row = judge(values(RISING), Change(limits=LOWER))

    assert "\n" not in row.document
    found = json.loads(row.document)
    assert (row.differs, row.ended_otherwise, row.judged) == (True, False, True)
    assert found["id"] == "1"
    assert found["entries_judged"] == 4
    assert found["entries"] == [
        {
            "id": "e03",
            "at": RISING[2]["at"],
            "teams": {"entry-1": {"before": "caution", "after": "withdraw"}},
        }
    ]
    assert found["teams"] == []
    (moved,) = [f for f in found["findings"] if f["rule"] == "lel_at_withdraw"]
    assert (moved["way"], moved["number"], moved["place"]) == (
        "earlier",
        10,
        "tank room",
    )
    assert moved["before"] == {
        "entry": "e04",
        "at": RISING[3]["at"],
        "action": "withdraw",
    }
    assert moved["after"]["entry"] == "e03"
    assert found["not_judged"] == {"before": [], "after": []}


def test_a_team_that_ended_otherwise_stands_with_both_actions():
    row = judge(
        values(RISING), Change(limits={"lel_withdraw_percent": Decimal("20.5")})
    )

    assert row.ended_otherwise
    assert json.loads(row.document)["teams"] == [
        {
            "id": "entry-1",
            "strictest": {"before": "withdraw", "after": "caution"},
            "at_end": {"before": "withdraw", "after": "caution"},
        }
    ]


def test_an_incident_that_cannot_be_read_under_the_limits_says_why():
    row = judge(
        values(RISING, limits={"lel_withdraw_percent": 5}),
        Change(limits={"lel_caution_percent": Decimal(6)}),
    )

    assert (row.judged, row.differs) == (False, False)
    (error,) = json.loads(row.document)["not_readable"]
    assert error["pointer"].startswith("/profile/limits/lel_")


def test_the_document_is_json_with_its_caution_and_its_sums():
    asked = Change(limits=LOWER)
    rows = [judge(values(log, key), asked) for key, log in (("1", RISING), ("2", []))]

    text = "".join(whole(asked, dumps(LOWER), iter(rows)))

    found = json.loads(text)
    assert (found["format"], found["version"]) == ("hazmat-what-if", 1)
    assert found["caution"] == CAUTION
    assert (found["limits"], found["laid_over_own_limits"]) == (
        {"lel_withdraw_percent": 5},
        True,
    )
    assert [one["id"] for one in found["incidents"]] == ["1", "2"]
    assert found["summary"] == {
        "incidents": 2,
        "differ": 1,
        "ended_otherwise": 0,
        "not_readable": 0,
    }
    assert "".join(whole(asked, "{}", iter(()))).count('"incidents"') == 2


def test_what_is_sent_to_a_worker_and_back_survives_the_way():
    asked = read_limits(LOWER)

    assert pickle.loads(pickle.dumps(asked)) == asked
    assert pickle.loads(pickle.dumps(values(RISING))) == values(RISING)


def test_a_profile_and_a_bare_table_of_limits_are_both_taken():
    profile = {"name": "Other", "version": "3", "limits": LOWER}

    assert read_limits(profile) == Change(profile=profile)
    assert read_limits(LOWER) == Change(limits=LOWER)


@pytest.mark.parametrize(
    ("document", "pointer"),
    [
        pytest.param([], "", id="a list"),
        pytest.param({}, "", id="nothing"),
        pytest.param({"limits": LOWER}, "/name", id="a profile without a name"),
        pytest.param(
            {"name": "A", "version": "1", "limits": {"lel_withdraw": 5}},
            "/limits/lel_withdraw",
            id="a limit that there is not, in a profile",
        ),
        pytest.param({"lel_withdraw": Decimal(5)}, "/lel_withdraw", id="in a table"),
        pytest.param(
            {"dose_turn_back_other": Decimal(5)},
            "/dose_turn_back_other",
            id="a dose without its unit",
        ),
        pytest.param(
            {"lel_caution_percent": Decimal(11)},
            "/lel_caution_percent",
            id="limits that contradict each other",
        ),
    ],
)
def test_what_is_wrong_is_named_by_its_pointer(document, pointer):
    with pytest.raises(WorksheetErrors) as refused:
        read_limits(document)

    assert pointer in [error.pointer for error in refused.value.errors]
