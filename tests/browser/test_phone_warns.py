"""The phone's own warning against the engine: never milder, on generated readings."""

import json
import random
from collections import Counter
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from zoneinfo import ZoneInfo

import pytest

from incidents.documents import dumps
from incidents.forms.entry import EntryChoices
from incidents.forms.readings import READING_FORMS
from incidents.forms.single_readings import single_readings
from screening.assess import assess
from screening.ensembles import Ensemble
from screening.state import initial_state, step
from screening.verdicts import Hazard
from screening.worksheet import WorksheetErrors, load_json, parse_context, parse_entry

READINGS = 20_000
AT = datetime(2026, 3, 4, 14, 2, tzinfo=UTC)
NOT_OF_A_READING = {Hazard.MONITORING, Hazard.ACCOUNTABILITY}
LIMITS = [
    "0", "0.1", "1", "3.9", "4", "5", "9.9", "10", "10.1", "19.4", "19.5", "20.3",
    "20.4", "20.9", "21.4", "23.5", "23.6", "35", "45", "50", "100", "200", "300", "1200",
]  # fmt: skip


def context(ensemble, **changes):
    """One team, named by what it wears."""
    cylinder = {
        "rated_volume": {"value": 1840, "unit": "L"},
        "rated_pressure": {"value": 4500, "unit": "psi"},
        "start_pressure": {"value": 4400, "unit": "psi"},
    }
    document = {
        "format": "hazmat-incident-worksheet",
        "version": 1,
        "incident": {
            "name": "n",
            "mission": "other",
            "weather": {"air_temperature": {"value": 20, "unit": "degC"}},
        },
        "teams": [
            {
                "id": ensemble,
                "role": "entry",
                "ensemble": ensemble,
                "members": [{"id": "a", "cylinder": cylinder}, {"id": "b"}],
            }
        ],
    } | changes
    return parse_context(load_json(dumps(document)))


def figure(rng):
    """Half of them at a limit or next to it."""
    if rng.random() < 0.5:
        return rng.choice(LIMITS)
    digits = rng.choice((0, 1, 3))
    return str(round(Decimal(rng.uniform(0, rng.choice((15, 30, 130, 2000)))), digits))


@cache
def asked_on(kind):
    """Each field of the form with the values that it offers, if it does."""
    form = READING_FORMS[kind](choices=choices("t"))
    return [
        (name, [value for value, _ in getattr(field, "choices", ())])
        for name, field in form.fields.items()
        if name not in ("client_uuid", "observed_at", "team", "other_time", "note")
    ]


def fields_of(rng, kind):
    """What a person could enter on the form."""
    fields = {}
    for name, options in asked_on(kind):
        if options:
            fields[name] = rng.choice(options)
        elif name.startswith("over_") or name in (
            "faded",
            "shiny",
            "contact",
            "edge_checked",
        ):
            fields[name] = "on" if rng.random() < 0.15 else ""
        elif name == "gas_name":
            fields[name] = rng.choice(
                ["", "", "ammonia", "Chlorine", "hydrogen_sulfide", "unheard of", "CO2"]
            )
        elif name in ("place", "container"):
            fields[name] = "drum 1"
        elif rng.random() < 0.6:
            fields[name] = figure(rng)
    if kind == "thermal_imager":
        fields["surface"] = fields.get("surface", "20")
    if kind == "air_check":
        fields["member"] = "t/a"
        fields["pressure"] = str(
            rng.choice((1484, 1485, 1486, 2967, 2968, 4000, 102.3))
        )
    return {name: value for name, value in fields.items() if value != ""}


def choices(team):
    return EntryChoices(
        now=AT,
        zone=ZoneInfo("UTC"),
        teams=((team, team),),
        members={team: (("a", "a"), ("b", "b"))},
    )


def generated(rng, given):
    """Readings that their forms take, with the entry that is made of each."""
    while True:
        kind, ensemble = rng.choice(list(READING_FORMS)), rng.choice(list(Ensemble))
        fields = fields_of(rng, kind)
        team = ensemble.value
        if "member" in fields:
            fields["member"] = fields["member"].replace("t/", f"{team}/")
        data = fields | {
            "client_uuid": "00000000-0000-4000-8000-000000000001",
            "team": team,
        }
        form = READING_FORMS[kind](data, choices=choices(team))
        if form.is_valid() and (entry := entry_of(given[team], form.body())):
            yield {"kind": kind, "fields": fields, "ensemble": team}, entry


def entry_of(given, body):
    """None where the engine's own reader refuses more than the forms, a distance of 0 say."""
    document = {"id": "x", "at": AT.isoformat(), **body}
    try:
        return parse_entry(load_json(dumps(document)), given)
    except WorksheetErrors:
        return None


def by_engine(given, entry, worn):
    state, _ = step(initial_state(given), entry, given)
    view = assess(state, given, AT).by_team()[worn]
    actions = [f.action for f in view.findings if f.hazard not in NOT_OF_A_READING]
    return max(actions, default=0)


def on_the_phone(page, table, asked):
    return page.evaluate(
        """async ([table, asked]) => {
          const { judge } = await import("/static/field/warn.js");
          return asked.map(({ kind, fields, ensemble }) =>
            Math.max(0, ...judge(table, kind, fields, ensemble).map((one) => one.action)));
        }""",
        [table, asked],
    )


STRICTER = {
    "name": "Stricter",
    "version": "2",
    "limits": {
        "lel_withdraw_percent": 5,
        "oxygen_min_for_lel": Decimal("20.9"),
        "acid_stop_ph": 5,
        "voc_ceiling_ppm": 35,
        "dose_turn_back_other": {"value": 10, "unit": "mSv"},
        "thermal_margin": {"value": 3, "unit": "delta_degC"},
    },
}


@pytest.mark.parametrize(
    "changes", [{}, {"profile": STRICTER}], ids=["default profile", "a stricter one"]
)
def test_the_phone_is_never_milder_than_the_engine(open_as, incident, changes):
    page = open_as(incident.opened_by)
    given = {worn.value: context(worn.value, **changes) for worn in Ensemble}
    rng = random.Random(20261125)
    pairs = generated(rng, given)
    made = [next(pairs) for _ in range(READINGS // 2)]
    # The teams are the same but for what they wear, which the table does not depend on.
    table = single_readings(given["level_a"], "level_a")
    difference = Counter()
    kinds = Counter()
    for worn in table["ensembles"]:
        mine = [(asked, entry) for asked, entry in made if asked["ensemble"] == worn]
        shown = on_the_phone(page, table, [asked for asked, _ in mine])
        for (asked, entry), phone in zip(mine, shown, strict=True):
            engine = by_engine(given[worn], entry, worn)
            assert phone >= engine, json.dumps(asked)
            difference[phone - engine] += 1
            kinds[asked["kind"], engine] += 1
    assert sum(difference.values()) == READINGS // 2
    # Stricter is allowed, but a phone that always cries would be no help.
    assert difference[0] > 0.97 * READINGS / 2
    assert {kind for kind, _ in kinds} == set(READING_FORMS)
    assert {action for _, action in kinds} == {0, 1, 2, 3}


def test_an_ensemble_that_the_table_does_not_know_gets_the_strictest(open_as, incident):
    page = open_as(incident.opened_by)
    table = single_readings(context("level_a"), "level_a")
    asked = {
        "kind": "ph_paper",
        "fields": {"sample": "vapour", "reading": "2", "moistened": "yes"},
    }
    shown = on_the_phone(
        page,
        table,
        [asked | {"ensemble": "level_a"}, asked | {"ensemble": "unheard of"}],
    )
    assert shown == [1, 2]
