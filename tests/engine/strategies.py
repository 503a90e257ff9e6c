"""Random valid worksheets for the property tests."""

from collections.abc import Sequence

from hypothesis import strategies as st

from tests.engine.documents import (
    ENSEMBLES,
    Json,
    bump,
    change,
    clear,
    dose,
    enter,
    entry,
    fluoride,
    imager,
    ki,
    leave,
    member,
    meter,
    par,
    ph,
    quantity,
    rate,
    sign,
    strike,
    team,
    ventilate,
    worksheet,
)
from tests.engine.documents import air as air_check

PLACES = ("tank room", "hall", "")
TEAMS = ("entry-1", "entry-2")
TODAY, YESTERDAY = "2026-03-04T08:00:00-05:00", "2026-03-03T08:00:00-05:00"
INSTRUMENTS = ("meter-1", "meter-2", "the old yellow meter")
HAZARDS = (
    "acid_vapour", "base_vapour", "oxidiser_vapour", "fluoride_vapour",
    "corrosive_liquid", "oxidiser_liquid", "fluoride_liquid", "flammable_atmosphere",
    "oxygen_enriched", "oxygen_deficient", "toxic_gas", "container_heating",
    "hot_relief_discharge", "gamma_radiation", "low_air", "accountability",
    "monitoring", "unexplained_sign", "heat_stress",
)  # fmt: skip
SIGNS = (
    "rising_pitch", "bulging", "discoloured_shell", "relief_device_operating", "frost",
    "visible_cloud", "odour", "symptoms", "dead_plants_or_animals",
)  # fmt: skip

pick = st.sampled_from
samples = pick(["vapour", "liquid"])
flags = pick([True, False, None])
minutes = st.integers(0, 80).map(lambda half: half / 2)
oxygen = pick([None, 5, 12, 19.4, 19.5, 20.4, 20.5, 20.9, 21.3, 21.4, 23.5, 23.6])
lel = pick([None, 0, 0, 0.9, 1, 5, 9.9, 10, 30, 50, 80])
common = {"place": pick(PLACES), "team": pick(TEAMS)}
heights = pick([None, None, "floor", "waist", "head"])
held = {"height": heights, **common}
notes = pick([None, None, None, "LEL sensor poisoned", "fouled cell"])
SUSPECTS = (
    "ammonia", "hydrogen chloride", "chlorine", "propane", "methane", "hydrogen",
    "carbon dioxide", "liquid nitrogen", "sulfuric acid", "hydrogen peroxide",
    "sulfur dioxide", "diesel", "toluene", "something in drums",
)  # fmt: skip
some_suspects = st.one_of(
    st.just(()), st.lists(pick(SUSPECTS), min_size=1, max_size=3, unique=True)
)


def _readings(when: st.SearchStrategy[float]) -> st.SearchStrategy[Json]:
    acidity = pick([0, 2, 4, 4.1, 5.5, 6, 7, 7.9, 8, 9, 13])
    starch = pick(["no_change", "no_change", "blue_black"])
    target = pick(["closed_container", "closed_container", "relief_valve_discharge"])
    return st.one_of(
        st.builds(ph, when, acidity, sample=samples, moistened=flags, faded=flags,
                  **common),
        st.builds(ph, when, bleached=st.just(True), sample=samples, **common),
        st.builds(ki, when, starch, sample=st.just("vapour"), moistened=flags,
                  **common),
        st.builds(ki, when, pick(["no_change", "blue_black", "line_at_wet_edge"]),
                  sample=st.just("liquid"), edge_checked=flags, **common),
        st.builds(fluoride, when, pick(["no_change", "no_change", "changed"]),
                  sample=samples, moistened=flags, **common),
        st.builds(meter, when, lel, oxygen.filter(lambda o: o is not None),
                  instrument=pick([None, *INSTRUMENTS]), note=notes, **held),
        st.builds(meter, when, lel.filter(lambda x: x is not None), oxygen,
                  over_range=pick([None, None, None, ["lel"]]), **held),
        st.builds(meter, when, st.just(0), st.just(20.9), co_ppm=st.just(0),
                  h2s_ppm=st.just(0), instrument=pick([None, "meter-1"]), **held),
        st.builds(meter, when, co_ppm=pick([0, 50, 200, 1200]),
                  h2s_ppm=pick([None, 0, 10, 100]), **held),
        st.builds(meter, when, voc_ppm=pick([0, 0.9, 1, 300]),
                  lamp_ev=pick([None, 10.6]), **held),
        st.builds(meter, when, gases=pick([{"ammonia": 0}, {"ammonia": 30},
                                           {"ammonia": 300}, {"chlorine": 10},
                                           {"chlorine": 0}]),
                  **held),
        st.builds(imager, when, pick([60, 70, 74, 80, 90, 95]), shiny=flags,
                  target=target, container=pick(["drum 1", "drum 2"]), **common),
        st.builds(sign, when, pick(SIGNS), **common),
        st.builds(rate, when, pick([0.01, 0.1, 0.11, 10, 9_990, 10_000]), **common),
        st.builds(dose, when, pick([0, 1, 12.5, 24.2, 25]), **common),
        st.builds(entry, st.just("dosimeter"), when, alarm=pick([True, False]),
                  **common),
        st.builds(air_check, when, pick([4400, 3600, 2000, 1486, 1485]), **common),
    )  # fmt: skip


def _movements(when: st.SearchStrategy[float]) -> st.SearchStrategy[Json]:
    return st.one_of(
        st.builds(enter, when, **common),
        st.builds(leave, when, **common),
        st.builds(par, when, unanswered=pick([None, [], ["b"]]), **common),
        st.builds(ventilate, when, place=pick(PLACES)),
    )


def _decisions(when: st.SearchStrategy[float]) -> st.SearchStrategy[Json]:
    return st.one_of(
        st.builds(change, when, pick(ENSEMBLES), **common),
        st.builds(bump, when, pick(INSTRUMENTS[:2]), pick([True, False]), **common),
        st.builds(clear, when, pick(HAZARDS[:15]), **common),
        st.builds(clear, when, pick(HAZARDS), **common),
        st.builds(strike, when, st.just("?"), **common),
        st.builds(entry, st.just("acknowledge"), when, entry=st.just("?"),
                  by=st.just("commander"), **common),
    )  # fmt: skip


readings = _readings(minutes)
lel_readings = st.builds(
    meter, minutes, lel.filter(lambda x: x is not None), oxygen,
    instrument=pick([None, *INSTRUMENTS]), **held,
)  # fmt: skip
only_looking = st.one_of(readings, readings, _movements(minutes))
anything = st.one_of(readings, readings, _movements(minutes), _decisions(minutes))


def _listed(id: str, bumped: str) -> Json:
    return {
        "id": id, "kind": "gas_meter", "sensors": ["lel", "oxygen", "co", "h2s"],
        "last_bump_test": bumped, "calibration_due": "2026-06-01",
    }  # fmt: skip


@st.composite
def worksheets(
    draw: st.DrawFn,
    lines: st.SearchStrategy[Json] = anything,
    max_size: int = 12,
    ensembles: Sequence[str] = ENSEMBLES,
) -> Json:
    """A valid document: every entry that names another names one that is there."""
    log = draw(st.lists(lines, min_size=1, max_size=max_size))
    ids = [f"e{n:02}" for n in range(1, len(log) + 1)]
    for n, line in enumerate(log):
        if line.get("entry") == "?":
            line["entry"] = draw(pick(ids[:n] or ["first"]))
    if any(line.get("entry") == "first" for line in log):
        log.append(enter(0, id="first"))
    crew = [member("a"), member("b")]
    document = worksheet(
        *log,
        teams=[team(id, draw(pick(ensembles)), members=crew) for id in TEAMS],
        humidity=draw(pick([None, 10, 30, 60])),
        mission=draw(pick(["rescue", "reconnaissance", "product_control"])),
        instruments=[_listed("meter-1", TODAY), _listed("meter-2", YESTERDAY)],
        suspects=draw(some_suspects),
    )
    degrees = draw(pick([20, 20, 20, 0, -15, 45]))
    air = {"value": degrees, "unit": "degC"}
    document["incident"]["weather"]["air_temperature"] = air
    if draw(st.booleans()):
        background = quantity(0.01, "mrem/h")
        document["incident"]["background_dose_rate"] = background
    return document


# Readings that show nothing and cannot tell: section 6, with the air at 10 % humidity.
blind = st.one_of(
    st.builds(ph, minutes, pick([6, 7]), moistened=pick([False, None]), **common),
    st.builds(ph, minutes, pick([5, 7]), sample=st.just("liquid"), **common),
    st.builds(ki, minutes, moistened=pick([False, None]), **common),
    st.builds(ki, minutes, sample=st.just("liquid"), edge_checked=flags, **common),
    st.builds(fluoride, minutes, moistened=pick([False, None]), **common),
    st.builds(fluoride, minutes, sample=st.just("liquid"), **common),
    st.builds(meter, minutes, pick([0, 0.9]), pick([None, 5, 19.4, 23.6]), **common),
    st.builds(meter, minutes, pick([0, 0.9]), st.just(20.9),
              instrument=st.just("meter-2"), co_ppm=st.just(0), **common),
    st.builds(meter, minutes, voc_ppm=pick([0, 0.9]), **common),
    st.builds(imager, minutes, st.just(70), shiny=st.just(True), **common),
    st.builds(dose, minutes, pick([0, 0.1]), **common),
)  # fmt: skip
