"""From the form to the row of the log, with and without script."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from incidents.documents import loads
from incidents.models import LogEntry

HTMX = {"HX-Request": "true"}


def address(incident, kind="ph_paper"):
    return reverse("incidents:log-kind", args=(incident.pk, kind))


def sent(**fields):
    return {
        "client_uuid": str(uuid.uuid4()),
        "team": "entry-1",
        "place": "tank room",
    } | fields


def paper(**fields):
    return sent(sample="vapour", reading="2", moistened="yes") | fields


def stored(incident):
    """The body of the newest entry, or None where nothing was logged."""
    row = incident.entries.exclude(kind__in=("opening", "amendment")).last()
    return row and loads(row.body)


CASES = [
    pytest.param(
        "ph_paper",
        paper(faded="on", carried_on="hook"),
        {
            "sample": "vapour",
            "moistened": True,
            "ph": 2,
            "faded": True,
            "carried_on": "hook",
        },
        id="pH on a wet strip",
    ),
    pytest.param(
        "ph_paper",
        paper(reading="white", moistened="no"),
        {"sample": "vapour", "moistened": False, "bleached": True},
        id="a strip that went white",
    ),
    pytest.param(
        "ph_paper",
        sent(sample="liquid", reading="14"),
        {"sample": "liquid", "ph": 14},
        id="pH of a liquid needs no word on wet or dry",
    ),
    pytest.param(
        "ki_starch_paper",
        sent(sample="liquid", reading="line_at_wet_edge", edge_checked="on"),
        {"sample": "liquid", "result": "line_at_wet_edge", "edge_checked": True},
        id="KI-starch in a liquid",
    ),
    pytest.param(
        "ki_starch_paper",
        paper(reading="blue_black", moistened="no"),
        {"sample": "vapour", "result": "blue_black", "moistened": False},
        id="KI-starch in the air",
    ),
    pytest.param(
        "fluoride_paper",
        paper(reading="changed"),
        {"sample": "vapour", "result": "changed", "moistened": True},
        id="fluoride",
    ),
    pytest.param(
        "gas_meter",
        sent(lel_percent="0", oxygen_percent="20,9", over_co="on", height="waist"),
        {
            "lel_percent": Decimal(0),
            "oxygen_percent": Decimal("20.9"),
            "over_range": ["co"],
            "height": "waist",
        },
        id="a meter, comma read as the decimal sign",
    ),
    pytest.param(
        "gas_meter",
        sent(gas_name="ammonia", gas_ppm="35", voc_ppm="0.5", lamp_ev="10.6"),
        {
            "gases": {"ammonia": Decimal(35)},
            "voc_ppm": Decimal("0.5"),
            "lamp_ev": Decimal("10.6"),
        },
        id="another gas by name, VOC with its lamp",
    ),
    pytest.param(
        "gas_meter",
        sent(gas_name="chlorine", over_gas="on"),
        {"over_range": ["chlorine"]},
        id="another gas over range",
    ),
    pytest.param(
        "thermal_imager",
        sent(
            target="closed_container",
            container="drum 6",
            surface="-3",
            surroundings="19.5",
            unit="degC",
            shiny="on",
        ),
        {
            "target": "closed_container",
            "container": "drum 6",
            "surface": {"value": Decimal(-3), "unit": "degC"},
            "surroundings": {"value": Decimal("19.5"), "unit": "degC"},
            "shiny": True,
        },
        id="imager",
    ),
    pytest.param("sign", sent(what="bulging"), {"what": "bulging"}, id="a sign"),
    pytest.param(
        "dosimeter",
        sent(
            dose_rate="12",
            dose_rate_unit="uSv/h",
            dose="0.2",
            dose_unit="mSv",
            member="entry-1/a",
            alarm="no",
            contact="on",
        ),
        {
            "dose_rate": {"value": Decimal(12), "unit": "uSv/h"},
            "dose": {"value": Decimal("0.2"), "unit": "mSv"},
            "member": "a",
            "alarm": False,
            "contact": True,
        },
        id="dosimeter",
    ),
    pytest.param(
        "air_check",
        {
            "client_uuid": str(uuid.uuid4()),
            "member": "entry-1/a",
            "pressure": "3900",
            "unit": "psi",
        },
        {"member": "a", "pressure": {"value": Decimal(3900), "unit": "psi"}},
        id="air gauge: the member says the team",
    ),
]


@pytest.mark.parametrize(("kind", "data", "expected"), CASES)
def test_what_was_chosen_is_what_is_stored(
    client, technician, incident, kind, data, expected
):
    response = client.post(address(incident, kind), data, headers=HTMX)

    assert response.status_code == 200, response.text
    body = stored(incident)
    common = {"kind": kind, "team": "entry-1", "id": data["client_uuid"]}
    if kind != "air_check":
        common["place"] = "tank room"
    body.pop("at")
    assert body == common | expected


def test_the_verdict_stands_where_the_form_was(client, technician, incident):
    response = client.post(address(incident), paper(), headers=HTMX)

    assert "<html" not in response.text
    assert 'class="verdict stop"' in response.text
    assert "Say back:" in response.text
    assert "pH 2 on wet paper in the air, tank room" in response.text
    assert "Put right" in response.text
    assert response.text.index("verdict stop") < response.text.index("<form")


def test_continue_always_stands_with_what_was_not_looked_at(
    client, technician, incident
):
    response = client.post(
        address(incident, "gas_meter"),
        sent(lel_percent="0", oxygen_percent="20.9", co_ppm="0", h2s_ppm="0"),
        headers=HTMX,
    )

    assert 'class="verdict continue"' in response.text
    assert "Not looked at:" in response.text
    assert "safe" not in response.text.lower()


def test_without_script_a_saved_reading_leads_to_its_page(client, technician, incident):
    response = client.post(address(incident), paper(), follow=True)

    seq = incident.entries.last().seq
    assert response.redirect_chain == [
        (reverse("incidents:entry", args=(incident.pk, seq)), 302)
    ]
    assert 'class="verdict stop"' in response.text
    assert "pH 2 on wet paper in the air, tank room" in response.text


def test_two_taps_on_save_store_one_row(client, technician, incident):
    data = paper()

    answers = [client.post(address(incident), data, headers=HTMX) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [200, 200]
    assert incident.entries.filter(kind="ph_paper").count() == 1
    assert "stored once" in answers[1].text


def test_the_same_identifier_for_something_else_is_refused(
    client, technician, incident
):
    data = paper()
    client.post(address(incident), data, headers=HTMX)

    response = client.post(address(incident), data | {"reading": "9"}, headers=HTMX)

    assert response.status_code == 422
    assert stored(incident)["ph"] == 2


@pytest.mark.parametrize(
    ("kind", "data", "words"),
    [
        pytest.param(
            "ph_paper", paper(reading=""), "Choose the colour of the strip.", id="no pH"
        ),
        pytest.param(
            "ph_paper",
            paper(moistened=""),
            "Say whether the strip was wet or dry.",
            id="never taken to be wet",
        ),
        pytest.param(
            "ph_paper",
            paper(reading="unreadable"),
            "Take a fresh strip and read it at once.",
            id="not readable is not stored",
        ),
        pytest.param("ph_paper", paper(team=""), "Choose the team", id="no team"),
        pytest.param(
            "ph_paper",
            paper(other_time="25:10"),
            "Write it as 14:02.",
            id="no such time",
        ),
        pytest.param(
            "ki_starch_paper",
            paper(reading="line_at_wet_edge"),
            "in a liquid only",
            id="the wet edge is a liquid's",
        ),
        pytest.param(
            "gas_meter", sent(lel_percent="1_000"), "is not a number", id="no number"
        ),
        pytest.param(
            "gas_meter", sent(oxygen_percent="209"), "100 or less", id="over 100 %"
        ),
        pytest.param("gas_meter", sent(), "at least one figure", id="an empty meter"),
        pytest.param(
            "gas_meter",
            sent(lel_percent="3", over_lel="on"),
            "not both",
            id="a figure and over range",
        ),
        pytest.param(
            "gas_meter", sent(gas_ppm="3"), "Say which gas", id="a gas with no name"
        ),
        pytest.param(
            "thermal_imager",
            sent(target="closed_container", surface="41", unit="degC"),
            "Name the container",
            id="a container with no name",
        ),
        pytest.param(
            "dosimeter",
            sent(dose_rate="3"),
            "Choose the unit",
            id="a figure without its unit",
        ),
        pytest.param(
            "air_check",
            {"client_uuid": str(uuid.uuid4()), "pressure": "3900", "unit": "psi"},
            "Choose whose gauge",
            id="nobody's gauge",
        ),
    ],
)
def test_what_is_missing_is_said_at_its_field_and_nothing_is_stored(
    client, technician, incident, kind, data, words
):
    response = client.post(address(incident, kind), data, headers=HTMX)

    assert response.status_code == 422
    assert response.text.lstrip().startswith("<title>Error: ")
    assert 'id="error-summary"' in response.text
    assert words in response.text.replace("&#x27;", "'")
    assert stored(incident) is None


def test_what_was_typed_stays_in_its_field(client, technician, incident):
    data = sent(
        lel_percent="2x",
        oxygen_percent="20.9",
        over_h2s="on",
        height="head",
        note="dial jumps",
    )

    response = client.post(address(incident, "gas_meter"), data)

    assert response.status_code == 422
    assert "<html" in response.text
    form = response.context["form"]
    assert form["lel_percent"].value() == "2x"
    for kept in ('value="2x"', 'value="20.9"', "dial jumps", 'value="tank room"'):
        assert kept in response.text
    assert form["over_h2s"].value() is True
    assert form["height"].value() == "head"


def test_each_line_of_the_summary_leads_to_a_field_that_is_there(
    client, technician, incident
):
    response = client.post(
        address(incident, "gas_meter"), sent(team="", lel_percent="x", gas_ppm="3")
    )

    for target, _ in response.context["form"].error_links():
        assert f'id="{target}"' in response.text


def test_the_time_of_the_device_is_kept(client, technician, incident):
    moment = incident.opened_at.isoformat()

    client.post(address(incident), paper(observed_at=moment), headers=HTMX)

    row = LogEntry.objects.get(kind="ph_paper")
    assert row.observed_at == incident.opened_at
    assert row.recorded_at > row.observed_at


@pytest.mark.parametrize(
    "moment", ["", "yesterday", "2019-01-01T00:00:00Z", "2999-01-01T00:00:00Z"]
)
def test_a_time_that_cannot_be_is_that_of_arrival(client, technician, incident, moment):
    client.post(address(incident), paper(observed_at=moment), headers=HTMX)

    row = LogEntry.objects.get(kind="ph_paper")
    assert row.observed_at == row.recorded_at


def test_team_and_place_are_carried_to_the_next_entry(client, technician, incident):
    client.post(address(incident), paper(place="line 2"), headers=HTMX)

    page = client.get(address(incident, "fluoride_paper"))

    form = page.context["form"]
    assert (form["team"].value(), form["place"].value()) == ("entry-1", "line 2")
    assert form["sample"].value() == "vapour"
    assert not form["reading"].value()
    assert not form["moistened"].value()


def test_a_figure_is_never_carried(client, technician, incident):
    client.post(
        address(incident, "gas_meter"),
        sent(lel_percent="3", oxygen_percent="20.1", height="waist"),
        headers=HTMX,
    )

    form = client.get(address(incident, "gas_meter")).context["form"]

    assert form["height"].value() == "waist"
    assert not form["lel_percent"].value()
    assert not form["oxygen_percent"].value()


def test_nothing_is_taken_into_a_closed_incident(client, commander, incident):
    client.post(reverse("incidents:close", args=(incident.pk,)), {"reason": "all done"})
    before = incident.entries.count()

    page = client.get(address(incident))
    response = client.post(address(incident), paper(), headers=HTMX)

    assert "This incident is closed" in page.text
    assert response.status_code == 422
    assert "is closed" in response.text
    assert incident.entries.count() == before


def test_an_unknown_kind_is_not_there(client, technician, incident):
    assert client.get(address(incident, "tea_leaves")).status_code == 404
    assert client.get(address(incident, "strike")).status_code == 404


def test_text_from_people_never_becomes_markup(client, technician, incident):
    name = "<img src=x onerror=alert(1)>"

    client.post(address(incident), paper(place=name, note=name), headers=HTMX)

    for page in ("sheet", "log", "log-choose"):
        text = client.get(reverse(f"incidents:{page}", args=(incident.pk,))).text
        assert "<img" not in text
    entry = reverse("incidents:entry", args=(incident.pk, incident.entries.last().seq))
    assert "<img" not in client.get(entry).text
