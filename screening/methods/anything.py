"""What holds for every instrument, and what none of them sees."""

from typing import Final

from screening.methods.row import Method, Sentence
from screening.verdicts import Hazard

_METER: Final = "gas_meter"
_GASES: Final = (
    Hazard.FLAMMABLE_ATMOSPHERE,
    Hazard.OXYGEN_ENRICHED,
    Hazard.OXYGEN_DEFICIENT,
    Hazard.TOXIC_GAS,
)
_BUMP: Final = (
    "OSHA SHIB 09-30-2013 and 11-26-2024 (a test with known gas); the day of the test: "
    "common practice"
)
_BUMP_HERE: Final = (
    "Bump-test the meter here, in this air; log that, and read again under its name."
)
_FLOOR: Final = (
    "Hold the probe at the floor, ahead of you, and read the gas meter again."
)
_HEAD: Final = "Hold the probe up, above your head, and read the gas meter again."
_BUMP_FIRST: Final = "Bump-test {name}, or take another meter, and read again."

ROWS: Final[tuple[Method, ...]] = (
    Method(
        id="C40", hazards=_GASES, kind=_METER, subject="Any gas",
        method="a meter just switched on, or a hose",
        tells_when="warmed up, and held as long as the maker asks",
        cannot_when="read too soon: a hose takes 1 to 2 seconds a foot",
        never_when="With a stalled pump or water in the hose nothing reaches the cells.",
        next_step="Wait; block the inlet once and hear the pump's alarm.",
        source="29 CFR 1910.146 App. B(3), (4); delay of a hose: common practice",
        status="read",
        says=(
            Sentence(
                key="meter_not_ready",
                text="the note says that the meter was not ready, or drew no air",
                next_step="Let it warm up, block the inlet once and hear the pump's alarm; "
                "then read again.",
            ),
        ),
    ),
    Method(
        id="C41", hazards=(*_GASES, Hazard.GAMMA_RADIATION), kind="any",
        subject="Any hazard",
        method="an instrument without a bump test of the day, or out of calibration",
        tells_when="what it finds counts as ever",
        cannot_when="what it does not find proves nothing",
        next_step="Bump-test it, or take another, and read again.",
        source=_BUMP, status="read",
        says=(
            Sentence(
                key="bump_failed_after", next_step=_BUMP_FIRST,
                text="{name} failed a bump test afterwards",
            ),
            Sentence(
                key="bump_failed", next_step="Take {name} out of use; read with another.",
                text="{name} failed its last bump test",
            ),
            Sentence(
                key="calibration_overdue",
                next_step="Read again with an instrument in date.",
                text="{name} is overdue for calibration",
            ),
            Sentence(
                key="bump_not_today", next_step=_BUMP_FIRST,
                text="{name} has no passed bump test of the day",
            ),
        ),
    ),
    Method(
        id="C42", hazards=_GASES, kind=_METER, subject="Any gas",
        method="a meter zeroed in dirty air",
        cannot_when="it reads low by what was in the air when it was zeroed",
        next_step="Zero it again upwind.",
        source="makers' notes", status="memory",
        says=(
            Sentence(
                key="meter_zeroed_dirty",
                text="the note says that the meter was not zeroed in fresh air",
                next_step="Zero it again upwind, in fresh air, and read again.",
            ),
        ),
    ),
    Method(
        id="C43", hazards=_GASES, kind="any", subject="Any hazard",
        method="an old reading, or one from another place",
        cannot_when="it is older than the profile allows, or from before a ventilation",
        next_step="Read again, here.",
        says=(
            Sentence(key="nobody", text="nobody has looked here"),
            Sentence(key="read_before", aside=True, text="{part} was read {when}"),
        ),
    ),
    Method(
        id="C44", hazards=_GASES, kind="any", subject="Any gas",
        method="cells and wet strips in cold, heat, very dry or wet air",
        cannot_when="below −10 °C, above 40 °C, under 10 % humidity or where water settles",
        next_step="Warm the meter; wet strips with water and glycerol in frost.",
        source="makers' notes; glycerol: common practice", status="memory",
        says=(
            Sentence(
                key="cells_cold", next_step=_BUMP_HERE,
                text="at {temperature} the sensors may be slow or frozen",
            ),
            Sentence(
                key="cells_hot", next_step=_BUMP_HERE,
                text="at {temperature} the sensors may read wrong",
            ),
            Sentence(
                key="cells_dry_air", next_step=_BUMP_HERE,
                text="at {humidity} % humidity the gas cells may have dried out",
            ),
            Sentence(
                key="strip_frozen",
                text="at {temperature} the water on the strip may freeze",
                next_step="Wet a fresh strip of the same kind with water and glycerol, say "
                "so in the note, and read it at once.",
            ),
            Sentence(
                key="strip_glycerol", aside=True,
                text="wetted with glycerol against the frost, so noted",
            ),
        ),
    ),
    Method(
        id="C45", hazards=_GASES, kind=_METER, subject="Any gas",
        method="a meter at one height, at one spot",
        cannot_when="the gas lies in layers or pockets: heavy or cold gas low, warm light "
        "gas high",
        next_step="Floor, waist and head; every 4 ft (1.2 m) on the way and to each side.",
        source="29 CFR 1910.146 App. B(4)", status="read",
        says=(
            Sentence(
                key="height_not_noted", aside=True, text="at what height is not noted"
            ),
            Sentence(
                key="floor_not_read", next_step=_FLOOR,
                text="read only {height}, and {names} would lie at the floor",
            ),
            Sentence(
                key="floor_not_noted", next_step=_FLOOR,
                text="at what height is not noted, and {names} would lie at the floor",
            ),
            Sentence(
                key="head_not_read", next_step=_HEAD,
                text="read only {height}, and {names} would gather under the ceiling",
            ),
            Sentence(
                key="not_read_again", next_step="Read the gas meter again {height}.",
                text="found {height} and not read there again",
            ),
        ),
    ),
    Method(
        id="C46", hazards=(), kind="note", subject="Any hazard",
        method="a figure by radio",
        cannot_when="it was not read back: 5 is heard as 9, ppm as %, \"negative\" as no "
        "entry",
        next_step="Read it back; until then it is not confirmed.",
    ),
    Method(
        id="C59", hazards=(), kind="any", subject="Water-reactive solids",
        method="papers and LEL sensor, before any water",
        never_when="A solid that reacts with water gives nothing off while it is dry.",
        next_step="Keep it dry; ask for the label; one drop on a stick, from afar.",
        source="water-reactive solids, general chemistry", status="memory",
    ),
    Method(
        id="C60", hazards=(), kind="any",
        subject="Shock-sensitive or spontaneously burning material",
        method="all papers and meters",
        never_when="No paper and no meter shows that a thing explodes when it is moved.",
        next_step="Leave it shut; age, crystals, label; a specialist.",
        source="teaching on picrates and ether peroxides", status="memory",
    ),
    Method(
        id="C61", hazards=(), kind="any", subject="Biological agents, unknown powders",
        method="all papers and meters",
        never_when="No paper and no meter here sees germs or toxins.",
        next_step="Treat as unknown; a laboratory decides.",
        source="ASTM E2770", status="memory",
    ),
    Method(
        id="C62", hazards=(Hazard.TOXIC_GAS,), kind=_METER,
        subject="Nerve and blister agents, pesticides",
        method="four-gas meter, photoionisation detector",
        cannot_when="they give little vapour",
        never_when="A four-gas meter has no cell for them.",
        next_step="Symptoms first; military detector papers, ion mobility; solvents "
        "deceive both.",
        source="military chemical detection, general", status="memory",
    ),
    Method(
        id="C63", hazards=(Hazard.ACID_VAPOUR, Hazard.FLUORIDE_VAPOUR), kind=_METER,
        subject="Gases of a refrigerant in fire", method="four-gas meter",
        never_when="Phosgene, hydrogen fluoride and hydrogen chloride pass a four-gas "
        "meter unseen.",
        next_step="Wet pH and fluoride strips, a tube; SCBA outside as well.",
        source="New Jersey FACE 96-NJ-060-01", status="read",
    ),
    Method(
        id="C65", hazards=(), kind="sign", subject="Any gas", method="the nose",
        never_when="Carbon monoxide, nitrogen and argon have no smell, and hydrogen "
        "sulfide numbs the nose: no odour is no finding.",
        next_step="Log an odour as a sign, its absence as nothing.",
        source="ATSDR, hydrogen sulfide; general", status="memory",
    ),
    Method(
        id="C66", hazards=(), kind="note", subject="Any hazard",
        method="\"clear\" without a figure",
        never_when="A word without a figure, a place and a method is no reading.",
        next_step="Ask for the figure, the place and the height.",
    ),
    Method(
        id="C67", hazards=_GASES, kind="note", subject="Any gas",
        method="\"no alarm sounded\"",
        cannot_when="the alarm is set high, muted, or goes by the average over a shift",
        next_step="Log the figures, not the alarm.",
    ),
    Method(
        id="C68", hazards=_GASES, kind="any", subject="Any hazard",
        method="the same paper or meter twice",
        cannot_when="both share one fault and one blind spot: they count as one",
        next_step="A second instrument, or another method that sees the suspect.",
    ),
)  # fmt: skip
