"""For any worksheet: "not found" has witnesses, and blind looks never come to it.

The witnesses are looked for in the document itself, in the plainest way and without the
engine's own tables, so that the two can disagree.
"""

from datetime import datetime, timedelta

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from screening.statements import CROSS_SENSITIVITY
from screening.substances import find
from tests.engine import strategies as worksheets_of
from tests.engine.documents import (
    bump,
    dose,
    fluoride,
    judge,
    ki,
    meter,
    moment,
    ph,
    rate,
    strike,
    team,
    ventilate,
    worksheet,
)
from tests.engine.strategies import PLACES, TEAMS, TODAY, YESTERDAY, pick, worksheets

careful = settings(
    max_examples=80,
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
END = 45.0
AGES = {"ph_paper": 10, "ki_starch_paper": 10, "fluoride_paper": 10, "gas_meter": 5,
        "thermal_imager": 2, "dosimeter": 15}  # fmt: skip
METERS = ("flammable_atmosphere", "oxygen_enriched", "oxygen_deficient", "toxic_gas")
PAPERS = ("acid_vapour", "base_vapour", "oxidiser_vapour", "fluoride_vapour")
HEAVY = {"hydrogen chloride", "chlorine", "propane", "carbon dioxide", "sulfur dioxide",
         "toluene", "liquid nitrogen", "hydrogen peroxide"}  # fmt: skip
LIGHT = {"ammonia", "methane", "hydrogen"}
BURN = {"ammonia", "propane", "methane", "hydrogen", "toluene"}
SPOIL = {"hydrogen chloride", "chlorine", "sulfur dioxide"}


# --- Witnesses ------------------------------------------------------------------------


class Place:
    """What a worksheet holds of one place at a moment, read from the document itself."""

    def __init__(self, document, place, at):
        self.document, self.at = document, at
        weather = document["incident"]["weather"]
        self.degrees = weather["air_temperature"]["value"]
        self.humidity = weather.get("relative_humidity_percent")
        self.suspects = set(document.get("suspects", ()))
        log = document["log"]
        struck = self._struck(log)
        kept = [line for line in log if line["id"] not in struck]
        self.kept = kept
        self.log = [line for line in kept if line.get("place", "") == place]
        self.aired = max(
            (when(line) for line in self.log if line["kind"] == "ventilate"),
            default=datetime.min.replace(tzinfo=at.tzinfo),
        )

    @staticmethod
    def _struck(log):
        struck = set()
        strikes = [line for line in log if line["kind"] == "strike"]
        for line in sorted(strikes, key=lambda e: (when(e), e["id"]), reverse=True):
            if line["id"] not in struck:
                struck.add(line["entry"])
        return struck

    def recent(self, kind):
        oldest = self.at - timedelta(minutes=AGES[kind])
        return [
            line
            for line in self.log
            if line["kind"] == kind
            and oldest <= when(line) <= self.at
            and when(line) >= self.aired
        ]

    def meters(self, *figures):
        """Readings with these figures by an instrument and in air that may count."""
        return [
            line
            for line in self.recent("gas_meter")
            if all(name in line for name in figures)
            and self.may_count(line)
            and "fouled" not in line.get("note", "")
        ]

    def may_count(self, line):
        name = line.get("instrument")
        tests = sorted(
            (when(test), test["id"], test["passed"])
            for test in self.kept
            if test["kind"] == "bump_test" and test["instrument"] == name
        )
        before = [passed for at, id, passed in tests if (at, id) <= order(line)]
        after = [passed for at, id, passed in tests if (at, id) > order(line)]
        if before[-1:] == [False] or after[:1] == [False]:
            return False
        if not -10 <= self.degrees <= 40:
            return True in before
        return name != "meter-2" or True in before

    def named_gas(self, name):
        key = find(name).name if find(name) else name
        found = []
        for line in self.meters():
            gases = {find(gas).name for gas in line.get("gases", {})}
            if "co_ppm" in line:
                gases.add("carbon monoxide")
            if "h2s_ppm" in line:
                gases.add("hydrogen sulfide")
            need = find(name).ionisation_ev if find(name) else None
            lamp = line.get("lamp_ev")
            if "voc_ppm" in line and lamp and need is not None and need < lamp:
                gases.add(key)
            if key in ("propane", "toluene") and sensed(line):
                gases.add(key)
            if key == "diesel" and lamp and lamp >= 10.6:
                gases.add(key)
            if key in gases:
                found.append(line)
        return found


def order(line):
    return when(line), line["id"]


def when(line):
    return datetime.fromisoformat(line["at"])


def at_height(lines, name):
    """Those that were held where the gas would lie."""
    if name in HEAVY:
        return [line for line in lines if line.get("height") == "floor"]
    if name in LIGHT:
        return [line for line in lines if line.get("height") in ("head", None)]
    return lines


def low_enough(lines, heavy):
    heights = ("floor",) if heavy else ("floor", None)
    return [line for line in lines if line.get("height") in heights]


def sensed(line):
    """An LEL figure that may count."""
    return (
        "lel_percent" in line
        and 19.5 <= line.get("oxygen_percent", 0) <= 23.5
        and "poisoned" not in line.get("note", "")
    )


def witnesses(here, hazard):
    """What must be in the document for "not found": a list of which none may be empty."""
    suspects = here.suspects
    if hazard in ("acid_vapour", "base_vapour"):
        strips = [
            line for line in here.recent("ph_paper")
            if line["sample"] == "vapour" and not line.get("faded")
            and not line.get("bleached") and here.degrees > 0
            and (line.get("moistened") or (here.humidity or 0) >= 30)
        ]  # fmt: skip
        yield strips
        if hazard == "acid_vapour" and "sulfuric acid" in suspects:
            yield [e for e in here.log if e["kind"] == "ph_paper"
                   and e["sample"] == "liquid"]  # fmt: skip
        acids = suspects & {"hydrogen chloride", "sulfur dioxide"}
        if acids and "ammonia" in suspects:
            either = here.named_gas("ammonia") + [
                line for name in acids for line in here.named_gas(name)
            ]
            yield either
    elif hazard == "oxidiser_vapour":
        yield [
            line for line in here.recent("ki_starch_paper")
            if line["sample"] == "vapour" and line.get("moistened") and here.degrees > 0
        ]  # fmt: skip
        if "sulfur dioxide" in suspects:
            yield here.named_gas("sulfur dioxide")
        if "hydrogen peroxide" in suspects:
            yield [e for e in here.log if e["kind"] == "ki_starch_paper"
                   and e["sample"] == "liquid" and e.get("edge_checked")]  # fmt: skip
    elif hazard == "fluoride_vapour":
        yield [
            line for line in here.recent("fluoride_paper")
            if line["sample"] == "vapour" and line.get("moistened") and here.degrees > 0
        ]  # fmt: skip
    elif hazard == "flammable_atmosphere":
        lines = [line for line in here.meters() if sensed(line)]
        if suspects & SPOIL:
            lines = [line for line in lines if line.get("instrument")]
        yield low_enough(lines, suspects & HEAVY & BURN)
        if suspects & LIGHT & BURN:
            yield at_height(lines, "methane")
        for name in suspects & {"hydrogen", "diesel"}:
            yield here.named_gas(name)
    elif hazard == "oxygen_deficient":
        displacing = (suspects & HEAVY) - {"hydrogen peroxide"}
        yield low_enough(here.meters("oxygen_percent"), displacing)
    elif hazard == "oxygen_enriched":
        yield low_enough(here.meters("oxygen_percent"), set())
    elif hazard == "toxic_gas":
        cells = [
            line for line in here.meters()
            if line.keys() & {"co_ppm", "h2s_ppm", "gases"}
            and line.get("oxygen_percent", 21) >= 5
        ]  # fmt: skip
        yield low_enough(cells, set())
        for name in suspects - {"methane", "hydrogen", "liquid nitrogen",
                                "sulfuric acid"}:  # fmt: skip
            yield at_height(here.named_gas(name), name)
    elif hazard == "gamma_radiation":
        yield [line for line in here.recent("dosimeter")
               if "dose_rate" in line or "alarm" in line]  # fmt: skip
    elif hazard == "container_heating":
        yield [line for line in here.recent("thermal_imager") if not line.get("shiny")]


early = st.integers(0, 12).map(lambda half: half / 2)
cells = {"co_ppm": pick([None, 0]), "h2s_ppm": pick([None, 0])}
lamp = st.builds(meter, early, st.just(0), st.just(20.9), voc_ppm=st.just(0),
                 lamp_ev=pick([None, 9.8, 10.6]), height=worksheets_of.heights,
                 co_ppm=st.just(0))  # fmt: skip
quiet_meters = st.builds(
    meter, early, pick([None, 0]), pick([20.9, 20.9, 19.4]), height=worksheets_of.heights,
    instrument=pick([None, "meter-1", "meter-1", "meter-2"]), note=worksheets_of.notes,
    **cells,
)  # fmt: skip
tubes = st.builds(
    meter, early, height=worksheets_of.heights,
    gases=pick([{name: 0} for name in ("ammonia", "chlorine", "hydrogen", "toluene",
                                       "sulfur dioxide", "something in drums")]),
)  # fmt: skip
strips = st.one_of(
    st.builds(ph, early, st.just(7), sample=worksheets_of.samples,
              moistened=pick([True, True, False])),
    st.builds(ki, early, moistened=pick([True, True, False])),
    st.builds(ki, early, sample=st.just("liquid"), edge_checked=worksheets_of.flags),
    st.builds(fluoride, early, moistened=pick([True, True, False])),
    st.builds(rate, early, st.just(0.01)),
)  # fmt: skip
around = st.one_of(
    st.builds(ventilate, early),
    st.builds(bump, early, pick(["meter-1", "meter-2"]), st.booleans()),
    st.builds(strike, early, st.just("?")),
)
a_round = st.lists(
    st.one_of(quiet_meters, quiet_meters, lamp, tubes, strips, strips, around),
    min_size=6, max_size=20,
)  # fmt: skip


@st.composite
def rounds(draw):
    """Looks at one place in a few minutes, nearly all of them quiet."""
    log = [draw(quiet_meters), *draw(a_round)]
    for n, line in enumerate(log):
        if line.get("entry") == "?":
            line["entry"] = f"e{draw(st.integers(1, n)):02}"
    document = worksheet(
        *log,
        suspects=draw(worksheets_of.some_suspects),
        humidity=draw(pick([None, 45])),
        instruments=[listed("meter-1", TODAY), listed("meter-2", YESTERDAY)],
    )
    air = document["incident"]["weather"]["air_temperature"]
    air["value"] = draw(pick([20, 20, 20, 20, 0, -15]))
    return document


@settings(careful, max_examples=250)
@given(st.one_of(rounds(), worksheets(max_size=16)), st.integers(6, 30))
def test_not_found_has_its_witnesses_in_the_document(document, half_minute):
    at = datetime.fromisoformat(moment(half_minute / 2))
    log = [line for line in document["log"] if when(line) <= at]
    ids = {line["id"] for line in log}
    assume(log)
    assume(all(line.get("entry", line["id"]) in ids for line in log))
    document = {**document, "log": log}
    seen = judge(document, half_minute / 2)

    for each in seen.result["teams"]:
        here = Place(document, each["place"], at)
        for row in each["coverage"]:
            if row["status"] == "not_found":
                for lines in witnesses(here, row["hazard"]):
                    assert lines, (row, document["suspects"])


def test_a_whole_round_of_looks_has_its_witnesses():
    figures = {"lel": 0, "oxygen": 20.9, "co_ppm": 0, "h2s_ppm": 0, "voc_ppm": 0}
    document = worksheet(
        *(meter(0, height=height, lamp_ev=10.6, **figures) for height in ("head", "floor")),
        ph(0, 7), ki(0), fluoride(0), rate(0, 0.01),
        suspects=["ammonia", "propane", "toluene", "carbon monoxide"],
    )  # fmt: skip
    here = Place(document, "tank room", datetime.fromisoformat(moment(1)))

    for row in judge(document, 1).team()["coverage"]:
        assert row["status"] == "not_found", row
        assert all(witnesses(here, row["hazard"])), row


def test_the_witnesses_can_be_missing():
    """So that the property above is not satisfied by anything."""
    at = datetime.fromisoformat(moment(1))
    document = worksheet(
        meter(0, 0, 20.9, co_ppm=0, height="head"), ph(0, 7), suspects=["propane"]
    )
    here = Place(document, "tank room", at)

    for hazard in ("flammable_atmosphere", "oxygen_deficient", "toxic_gas"):
        assert not all(witnesses(here, hazard)), hazard
    assert all(witnesses(here, "acid_vapour"))
    assert CROSS_SENSITIVITY.keys() <= {
        "carbon monoxide",
        "hydrogen sulfide",
        "chlorine",
    }


# --- Blind looks ----------------------------------------------------------------------

minutes = worksheets_of.minutes
common = worksheets_of.common
quiet_set = {
    "lel": st.just(0), "oxygen": st.just(20.9), "co_ppm": st.just(0),
    "h2s_ppm": st.just(0), "voc_ppm": st.just(0), "lamp_ev": pick([None, 9.8]),
}  # fmt: skip
wet_strips = st.one_of(
    st.builds(ph, minutes, pick([6, 7]), note=pick([None, "no glycerol"]), **common),
    st.builds(ki, minutes, **common),
    st.builds(fluoride, minutes, **common),
)
any_height = pick([None, "floor", "waist", "head"])


def sets(height=any_height, **fields):
    return st.builds(meter, minutes, height=height, **{**quiet_set, **fields}, **common)


# By what makes them blind: the looks, the suspects, the degrees Celsius, and what they can
# never rule out, in whatever order and number they come.
BLIND = {
    "held up, whoever is suspected": (
        sets(pick(["waist", "head"])), worksheets_of.some_suspects, [20], METERS,
    ),
    "anywhere but at the floor, with something heavy about": (
        sets(pick([None, "waist", "head"])), pick([["propane"], ["propane", "methane"]]),
        [20], ("flammable_atmosphere", "oxygen_deficient"),
    ),
    "anywhere but high up, with something light about": (
        sets(pick(["floor", "waist"])), pick([["methane"], ["hydrogen", "toluene"]]),
        [20], ("flammable_atmosphere",),
    ),
    "outside the makers' range, no bump test on scene": (
        sets(instrument=pick([None, "meter-1", "meter-2"])),
        worksheets_of.some_suspects, [-15, 45], METERS,
    ),
    "wet strips in frost": (
        wet_strips, worksheets_of.some_suspects, [0, -15], PAPERS,
    ),
    "a suspect that nothing of the set is for": (
        sets(), pick([["chlorine"], ["phosgene", "CO"], ["nobody knows"]]), [20],
        ("toxic_gas",),
    ),
    "a lamp that is too weak, in fog or not recorded": (
        sets(lel=st.none(), lamp_ev=st.none()), pick([["toluene"], ["ammonia"]]), [20],
        ("toxic_gas",),
    ),
    "a sensor noted as spoiled each time": (
        sets(note=pick(["cell fouled", "meter poisoned, it seems"])),
        worksheets_of.some_suspects, [20], METERS,
    ),
    "a suspect that spoils, a meter without a bump test": (
        sets(instrument=pick([None, "meter-2", "the old one"])),
        pick([["chlorine"], ["hydrogen sulfide", "ammonia"]]), [20],
        ("flammable_atmosphere",),
    ),
    "an LEL sensor that may be blind to the suspect": (
        sets(lamp_ev=st.none()), pick([["hydrogen"], ["acetylene"], ["diesel"]]), [20],
        ("flammable_atmosphere",),
    ),
    "strips that the suspect does not turn": (
        wet_strips, st.just(["sulfuric acid", "lye", "hydrogen peroxide"]), [20],
        PAPERS[:3],
    ),
    "strips that the suspects keep white between them": (
        wet_strips, st.just(["ammonia", "hydrogen chloride", "sulfur dioxide"]), [20],
        PAPERS[:3],
    ),
    "doses": (
        st.builds(dose, minutes, pick([0, 0.1]), **common), st.just([]), [20],
        ("gamma_radiation",),
    ),
}  # fmt: skip


@st.composite
def blind_worksheets(draw):
    """Looks of one kind of blindness, beside others that are of nothing in question."""
    looks, suspects, degrees, hazards = BLIND[draw(pick(sorted(BLIND)))]
    document = worksheet(
        *draw(st.lists(looks, min_size=1, max_size=8)),
        *draw(st.lists(worksheets_of.blind, max_size=2)),
        teams=[team(id) for id in TEAMS],
        suspects=draw(suspects),
        humidity=20,
        instruments=[listed("meter-1", TODAY), listed("meter-2", YESTERDAY)],
    )
    document["incident"]["weather"]["air_temperature"]["value"] = draw(pick(degrees))
    return document, hazards


def listed(id, bumped):
    return {"id": id, "kind": "gas_meter", "sensors": ["lel"], "last_bump_test": bumped}


@settings(careful, max_examples=150)
@given(blind_worksheets(), st.sampled_from(PLACES), st.integers(0, 90))
def test_no_sequence_of_looks_that_cannot_tell_rules_anything_out(blind, place, minute):
    document, hazards = blind
    line = {**document["log"][0], "id": "z", "kind": "enter", "place": place,
            "at": moment(minute / 2)}  # fmt: skip
    come = {key: line[key] for key in ("id", "at", "kind", "team", "place")}
    whole = {**document, "log": [*document["log"], come]}
    for at in (minute / 2, END):
        for id in TEAMS:
            for row in judge(whole, at).team(id)["coverage"]:
                if row["hazard"] in hazards:
                    assert row["status"] in ("cannot_tell", "not_checked"), row
