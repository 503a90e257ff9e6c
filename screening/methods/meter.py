"""The gas meter's LEL sensor and photoionisation detector."""

from typing import Final

from screening.methods.row import Method, Sentence
from screening.verdicts import Hazard

_METER: Final = "gas_meter"
_FLAMMABLE: Final = (Hazard.FLAMMABLE_ATMOSPHERE,)
_TOXIC: Final = (Hazard.TOXIC_GAS,)
_MAKER: Final = "notes of sensor makers; trade press"
_BUMP_SPOILED: Final = (
    "Bump-test the meter and log that, or take another; read again under its name."
)
READ_METER: Final = (
    "Read the gas meter low, at the waist and at head height: oxygen and LEL together, with "
    "every toxic sensor it has."
)
_NO_OXYGEN_NEEDED: Final = (
    "Take flammable gas as there until a sensor that needs no oxygen (infrared, or a "
    "sample thinned with air) has read."
)

ROWS: Final[tuple[Method, ...]] = (
    Method(
        id="C16", hazards=(Hazard.FLUORIDE_VAPOUR, Hazard.TOXIC_GAS), kind=_METER,
        subject="Hydrogen fluoride vapour", method="photoionisation detector",
        never_when="Hydrogen fluoride needs 15.98 eV, more than any lamp gives.",
        next_step="Wet pH and fluoride strips, a detector tube, a cell made for it.",
        source="NIOSH Pocket Guide (ionisation energy)", status="memory",
    ),
    Method(
        id="C18", hazards=_FLAMMABLE, kind=_METER, subject="Flammable gas",
        method="catalytic LEL sensor",
        tells_when="oxygen near that of fresh air is read with it, the meter passed its "
        "bump test, and the gas is like the one it was calibrated with",
        cannot_when="oxygen is low or high, the factor for the gas is not known, or a "
        "heavy vapour stays in filter and hose",
        never_when="Without oxygen the sensor burns nothing and reads nothing.",
        next_step=f"Oxygen first, LEL with it. {_NO_OXYGEN_NEEDED}",
        source="29 CFR 1910.146 App. B(5); OSHA hazard information bulletin of 18 "
        "January 1990 (explosion after a quiet reading in nitrogen)", status="read",
        says=(
            Sentence(
                key="lel_tells", tells=True,
                text="LEL {lel} % with oxygen {oxygen} %",
            ),
            Sentence(
                key="lel_without_oxygen", next_step=READ_METER,
                text="oxygen was not measured with the LEL",
            ),
            Sentence(
                key="lel_little_oxygen", next_step=_NO_OXYGEN_NEEDED, other_means=True,
                text="oxygen was {oxygen} %, too little for the LEL sensor",
            ),
            Sentence(
                key="lel_much_oxygen", next_step=_NO_OXYGEN_NEEDED, other_means=True,
                text="oxygen was {oxygen} %, too much for the LEL sensor",
            ),
            Sentence(
                key="lel_oxygen_over_range", next_step=_NO_OXYGEN_NEEDED,
                other_means=True,
                text="oxygen was over its range, too much for the LEL sensor",
            ),
        ),
    ),
    Method(
        id="C19", hazards=_FLAMMABLE, kind=_METER,
        subject="Flammable gas over the upper limit", method="catalytic LEL sensor",
        tells_when="the meter keeps showing over range",
        never_when="In too rich a mixture the figure jumps up and falls back to nothing.",
        next_step="Any jump and fall is over range: out, and check the meter outside.",
        source="OSHA Technical Manual, section II, chapter 3", status="memory",
        says=(
            Sentence(
                key="lel_over_range", other_means=True,
                text="the LEL sensor was over range",
                next_step="Everyone out; bump-test the meter in fresh air before it reads "
                "again.",
            ),
            Sentence(
                key="lel_latched", other_means=True,
                text="the LEL sensor went over range and the team has not been out since",
                next_step="Bring the team out; bump-test the meter in fresh air, or go "
                "back with another.",
            ),
        ),
    ),
    Method(
        id="C20", hazards=_FLAMMABLE, kind=_METER,
        subject="Flammable gas, the sensor spoiled", method="catalytic LEL sensor",
        cannot_when="it has met silicone, lead, sulfur or halogen compounds",
        never_when="A poisoned catalyst reads nothing and looks the same.",
        next_step="Bump-test after use: a failed one re-opens what was quiet before it.",
        source=_MAKER,
        says=(
            Sentence(
                key="spoiled_noted", next_step=_BUMP_SPOILED,
                text="the note speaks of a spoiled sensor",
            ),
            Sentence(
                key="spoiled_before", next_step=_BUMP_SPOILED,
                text="an earlier note speaks of a spoiled sensor, and no bump test was "
                "passed since",
            ),
            Sentence(
                key="lel_maybe_spoiled", next_step=_BUMP_SPOILED,
                text="{names} can spoil the LEL sensor, and no bump test of the day is known",
            ),
            Sentence(
                key="lel_spoiled_by_suspect", aside=True,
                text="{names} can spoil the sensor: bump-test it after use",
            ),
        ),
    ),
    Method(
        id="C21", hazards=_FLAMMABLE, kind=_METER, subject="Hydrogen",
        method="infrared LEL sensor",
        never_when="Hydrogen does not absorb infrared light.",
        next_step="A catalytic LEL sensor, or one made for hydrogen.",
        source=_MAKER,
        says=(
            Sentence(
                key="lel_infrared_hydrogen", other_means=True,
                text="whether the LEL sensor sees hydrogen is not known: an infrared one "
                "does not",
                next_step="Read with a catalytic LEL sensor or a hydrogen cell; list the "
                "meter with its factor for hydrogen.",
            ),
        ),
    ),
    Method(
        id="C22", hazards=_FLAMMABLE, kind=_METER, subject="Acetylene",
        method="infrared LEL sensor",
        cannot_when="it answers weakly",
        never_when="Some infrared sensors do not see acetylene at all.",
        next_step="A catalytic LEL sensor; know which kind is carried.",
        source=_MAKER,
        says=(
            Sentence(
                key="lel_infrared_acetylene", other_means=True,
                text="whether the LEL sensor sees acetylene is not known: an infrared one "
                "may not",
                next_step="Read with a catalytic LEL sensor; list the meter with its "
                "factor for acetylene.",
            ),
        ),
    ),
    Method(
        id="C23", hazards=_FLAMMABLE, kind=_METER,
        subject="Vapour of heavy oils (diesel, kerosene)", method="LEL sensor",
        tells_when="the liquid is hot",
        cannot_when="there is little vapour and the hose soaks it up",
        never_when="Over a cold oil of high flash point there is too little to read.",
        next_step="A photoionisation detector; the oil's temperature against its flash "
        "point.",
        source=_MAKER,
        says=(
            Sentence(
                key="lel_heavy_oil", other_means=True,
                text="the LEL sensor answers poorly to {names}",
                next_step="Read a photoionisation detector (10.6 eV or more) as well; "
                "compare the oil's temperature with its flash point.",
            ),
        ),
    ),
    Method(
        id="C24", hazards=_FLAMMABLE, kind=_METER, subject="Mist and combustible dust",
        method="LEL sensor, photoionisation detector",
        never_when="A cloud of droplets or dust is no vapour: no gas sensor sees it.",
        next_step="Look: dust that hides things 5 ft (1.5 m) away can burn.",
        source="29 CFR 1910.146(b), hazardous atmosphere", status="read",
    ),
    Method(
        id="C25", hazards=_TOXIC, kind=_METER, subject="Poisonous vapour at ppm",
        method="LEL sensor",
        never_when="One per cent of a lower limit is hundreds of ppm: a quiet LEL sensor "
        "may stand in air far over the IDLH.",
        next_step="A photoionisation detector, a detector tube or a cell for the gas.",
        source="arithmetic: 1 % of 5 % by volume is 500 ppm (methane)",
    ),
    Method(
        id="C26", hazards=_TOXIC, kind=_METER,
        subject="Vapour that needs more energy than the lamp gives",
        method="photoionisation detector",
        never_when="A lamp cannot ionise what needs more energy than it gives: a 10.6 eV "
        "lamp is blind to methane, carbon monoxide, chlorine, hydrogen chloride, hydrogen "
        "cyanide, phosgene and sulfur dioxide.",
        next_step="A stronger lamp (11.7 eV), a flame ionisation detector, a detector "
        "tube, a wet paper or a cell for the gas.",
        source="NIOSH Pocket Guide (ionisation energies); table of substances",
        status="memory",
        says=(
            Sentence(
                key="lamp_cannot_see", aside=True,
                text="the {lamp} eV lamp cannot see {names}",
            ),
            Sentence(
                key="lamp_unknown", aside=True,
                text="the lamp's energy is not recorded, so it may not see {names}",
            ),
        ),
    ),
    Method(
        id="C27", hazards=_TOXIC, kind=_METER, subject="Organic vapour",
        method="photoionisation detector",
        tells_when="the lamp is clean, the air dry, the zero taken in clean air",
        cannot_when="humidity is over 80 to 90 %, the lamp is dirty, or methane or dust "
        "takes up the light",
        next_step="Bump-test it with isobutylene; breathe on the lamp: it should not move.",
        source="trade press on moisture and lamps; maker's teaching", status="memory",
        says=(
            Sentence(
                key="lamp_moist_air", aside=True,
                text="at {humidity} % humidity a photoionisation detector may read low",
            ),
        ),
    ),
    Method(
        id="C28", hazards=_TOXIC, kind=_METER, subject="Vapour that nobody has named",
        method="photoionisation detector",
        tells_when="it is isobutylene, which the figure is in terms of",
        cannot_when="the factor is unknown: it runs from about 0.3 to 10",
        next_step="Give the figure in the detector's units and find out what it is.",
        source="makers' tables of factors", status="memory",
        says=(
            Sentence(
                key="voc_alone",
                text="an organic vapour figure alone says nothing of other gases",
                next_step="Read every cell that the meter has; find out which gas it may "
                "be, and bring a cell or tube for that gas.",
            ),
        ),
    ),
    Method(
        id="C29", hazards=(*_FLAMMABLE, *_TOXIC), kind=_METER, subject="Methane, ethane",
        method="photoionisation detector",
        never_when="No lamp ionises methane or ethane.",
        next_step="An LEL sensor, with oxygen.",
        source="table of substances (methane 12.51 eV)", status="read",
    ),
)  # fmt: skip
