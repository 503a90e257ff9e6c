"""A draft in CAP 1.2, held against the standard: elements, order, values, polygon.

From memory of OASIS CAP-v1.2-os, section 3.2 and appendix A (the schema): no copy of it
was at hand.
"""

import re
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from reports import cap

# from memory of CAP 1.2, A (xs:sequence of alert and info); those in capitals are required
ALERT = [
    "IDENTIFIER",
    "SENDER",
    "SENT",
    "STATUS",
    "MSGTYPE",
    "source",
    "SCOPE",
    "restriction",
    "addresses",
    "code",
    "note",
    "references",
    "incidents",
    "info",
]
INFO = [
    "language",
    "CATEGORY",
    "EVENT",
    "responsetype",
    "URGENCY",
    "SEVERITY",
    "CERTAINTY",
    "audience",
    "eventcode",
    "effective",
    "onset",
    "expires",
    "sendername",
    "headline",
    "description",
    "instruction",
    "web",
    "contact",
    "parameter",
    "resource",
    "area",
]
CORNERS = [
    (Decimal("44.10"), Decimal("-93.20")),
    (Decimal("44.12"), Decimal("-93.20")),
    (Decimal("44.12"), Decimal("-93.10")),
]


def made(**changes):
    given = {
        "identifier": "x.3.shelter",
        "sender": "example-county.worksheet.invalid",
        "sent": datetime(
            2026, 3, 4, 14, 2, 3, 999, tzinfo=timezone(timedelta(hours=-6))
        ),
        "incident": "Quarry <Lane> & sons",
        "agency": "Example County",
        "response": "Shelter",
        "area": "Quarry Lane",
        "corners": CORNERS,
    }
    return ElementTree.fromstring(cap.draft(cap.Draft(**given | changes)))


def tags(element):
    return [each.tag.removeprefix(f"{{{cap.NAMESPACE}}}") for each in element]


def text(element, path):
    return element.findtext(path, namespaces={"": cap.NAMESPACE})


@pytest.mark.parametrize(("path", "order"), [(".", ALERT), ("info", INFO)])
def test_the_elements_are_those_of_the_standard_in_its_order(path, order):
    element = made().find(path, namespaces={"": cap.NAMESPACE})
    known = [name.lower() for name in order]

    places = [known.index(tag.lower()) for tag in tags(element)]

    assert places == sorted(places)
    assert {name.lower() for name in order if name.isupper()} <= {
        tag.lower() for tag in tags(element)
    }


def test_it_is_a_draft_that_names_its_restriction_and_the_caution():
    alert = made()

    assert text(alert, "status") == "Draft"
    assert text(alert, "scope") == "Restricted"
    assert text(alert, "restriction")  # 3.2.1: needed where the scope is Restricted
    assert "local SOPs and the incident commander govern" in text(alert, "note")


def test_the_time_has_an_offset_in_figures_and_whole_seconds():
    """CAP 1.2, 3.3.2: "Z" is not to be used, and UTC is written as "-00:00".

    The sentence was read in transcripts of the standard's notes on `sent`, not in the
    standard itself.
    """
    assert text(made(), "sent") == "2026-03-04T14:02:03-06:00"
    for utc in (UTC, ZoneInfo("UTC"), ZoneInfo("Atlantic/Reykjavik")):
        sent = text(made(sent=datetime(2026, 3, 4, 1, 2, 3, tzinfo=utc)), "sent")
        assert sent == "2026-03-04T01:02:03-00:00"


@pytest.mark.parametrize(
    ("hours", "minutes"), [(-6, 0), (-3, -30), (0, 0), (0, 30), (5, 45), (14, 0)]
)
def test_every_offset_is_of_the_form_that_the_standard_has(hours, minutes):
    """From memory of CAP 1.2, appendix A: the pattern of `sent`."""
    zone = timezone(timedelta(hours=hours, minutes=minutes))

    sent = text(made(sent=datetime(2026, 3, 4, 14, 2, 3, 999, tzinfo=zone)), "sent")

    pattern = r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[-+]\d\d:\d\d"
    assert re.fullmatch(pattern, sent)
    assert not sent.endswith("+00:00")


def test_a_time_without_an_offset_is_refused():
    with pytest.raises(ValueError, match="offset"):
        made(sent=datetime(2026, 3, 4, tzinfo=UTC).replace(tzinfo=None))


@pytest.mark.parametrize("name", ["identifier", "sender"])
def test_names_hold_no_space_comma_or_angle(name):
    """CAP 1.2, 3.2.1."""
    assert not re.search(r"[\s,<&]", text(made(), name))


def test_the_polygon_is_closed_latitude_first_with_four_pairs_or_more():
    """CAP 1.2, 3.2.4."""
    pairs = text(made(), "info/area/polygon").split()

    assert pairs == ["44.10,-93.20", "44.12,-93.20", "44.12,-93.10", "44.10,-93.20"]


def test_an_area_in_words_alone_has_no_polygon():
    alert = made(corners=())

    assert text(alert, "info/area/areaDesc") == "Quarry Lane"
    assert text(alert, "info/area/polygon") is None


@pytest.mark.parametrize("response", list(cap.RESPONSES))
def test_what_to_do_is_a_response_of_the_standard_and_no_promise(response):
    """3.2.2, from memory: Shelter, Evacuate, Prepare, Execute, Avoid, Monitor, Assess,
    AllClear, None."""
    alert = made(response=response)

    assert text(alert, "info/responseType") in {"Shelter", "Evacuate", "Avoid"}
    assert "safe" not in ElementTree.tostring(alert, "unicode").lower()
    assert text(alert, "info/headline").endswith("Quarry <Lane> & sons")
