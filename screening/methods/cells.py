"""The gas meter's oxygen and gas cells."""

from typing import Final

from screening.methods.row import Method, Sentence
from screening.verdicts import Hazard

_METER: Final = "gas_meter"
_LOW: Final = (Hazard.OXYGEN_DEFICIENT,)
_HIGH: Final = (Hazard.OXYGEN_ENRICHED,)
_TOXIC: Final = (Hazard.TOXIC_GAS,)
_CELLS: Final = "instrument manual, appendix of sensor data (1992)"

ROWS: Final[tuple[Method, ...]] = (
    Method(
        id="C30", hazards=(*_LOW, *_HIGH), kind=_METER, subject="Oxygen",
        method="oxygen cell",
        tells_when="set to 20.9 % in clean air, and settled to the cold and the height",
        cannot_when="at altitude, in the cold, in a few per cent of carbon dioxide, at the "
        "end of its life",
        never_when="With a blocked inlet the cell reads the air in the hose.",
        next_step="Compare in fresh air; take a second meter.",
        source="trade press (two meters 0.9 % apart); makers' notes", status="memory",
        says=(
            Sentence(key="oxygen_read", tells=True, text="oxygen {oxygen} %"),
            Sentence(
                key="oxygen_over_range", text="oxygen over range", other_means=True,
                next_step="Everyone out; check the meter in fresh air.",
            ),
        ),
    ),
    Method(
        id="C31", hazards=_LOW, kind=_METER, subject="Something that displaces the air",
        method="oxygen cell",
        cannot_when="a fall of 0.1 % is already about 5,000 ppm of something else",
        never_when="A poison at ppm moves no oxygen: 20.9 % says nothing of it.",
        next_step="A cell, tube or paper for the gas itself.",
        source="arithmetic: 0.1 / 20.9 of the air is 4,785 ppm",
    ),
    Method(
        id="C32", hazards=_HIGH, kind=_METER, subject="Oxygen enrichment",
        method="oxygen cell",
        tells_when="the figure is over 23.5 %",
        cannot_when="clothing has soaked it up: the air is normal again, the cloth is not",
        next_step="Out; air the clothing, away from flame, for 15 minutes or more.",
        source="29 CFR 1910.146(b) for 23.5 %; airing: common practice", status="read",
    ),
    Method(
        id="C33", hazards=_HIGH, kind=_METER, subject="Cold oxygen from the liquid",
        method="oxygen cell at head height",
        cannot_when="the cold gas lies in layers, in pits and drains",
        next_step="Read at the floor first.",
    ),
    Method(
        id="C34", hazards=_LOW, kind=_METER,
        subject="Cold nitrogen, argon or carbon dioxide",
        method="oxygen cell at head height",
        cannot_when="the cloud is lower than the probe: above it the air reads normal",
        next_step="Lower the probe ahead of you; read at three heights.",
        source="CSB, Foundation Food Group, news of 11 December 2023 (a cloud 4 to 5 ft "
        "high)", status="read",
    ),
    Method(
        id="C35", hazards=(*_LOW, *_TOXIC), kind=_METER, subject="Carbon dioxide",
        method="oxygen cell of a four-gas meter",
        cannot_when="5 % of it, over the IDLH of 4 %, moves the oxygen by 1 % only",
        never_when="A four-gas meter has no cell for carbon dioxide, and no lamp sees it.",
        next_step="A carbon dioxide cell (infrared).",
        source="NIOSH Pocket Guide (IDLH 40,000 ppm)", status="memory",
    ),
    Method(
        id="C36", hazards=_TOXIC, kind=_METER, subject="Carbon monoxide", method="CO cell",
        tells_when="it passed its bump test",
        cannot_when="hydrogen, acetylene, nitric oxide or hydrogen sulfide answer too",
        never_when="A filter that is used up lets other gases through.",
        next_step="A blank in fresh air; a detector tube.",
        source="OSHA Technical Manual; instrument manual of 1992", status="memory",
        says=(
            Sentence(
                key="gases_measured", tells=True,
                text="{names} measured; says nothing of other gases",
            ),
        ),
    ),
    Method(
        id="C37", hazards=_TOXIC, kind=_METER, subject="Hydrogen sulfide",
        method="H2S cell",
        tells_when="it passed its bump test",
        cannot_when="mercaptans or sulfur dioxide answer too, or too much has numbed it",
        never_when="The nose goes dead at about 100 ppm: smell proves nothing.",
        next_step="A detector tube, a second cell.",
        source="ATSDR, hydrogen sulfide", status="memory",
    ),
    Method(
        id="C38", hazards=_TOXIC, kind=_METER, subject="Hydrogen cyanide",
        method="CO and H2S cells, photoionisation detector",
        never_when="Neither the CO nor the H2S cell shows hydrogen cyanide reliably, and "
        "no lamp sees it.",
        next_step="A cell or detector tube for it; its IDLH is 50 ppm.",
        source=_CELLS, status="read",
    ),
    Method(
        id="C39", hazards=_TOXIC, kind=_METER,
        subject="Chlorine, nitrogen dioxide, chlorine dioxide", method="gas cells",
        cannot_when="cells answer to each other's gases, and some of it downwards, so that "
        "two gases cancel out",
        next_step="Wet KI-starch and pH strips, a detector tube.",
        source=_CELLS, status="read",
        says=(
            Sentence(
                key="cell_hidden", text="{hiders} can hide {gas} from its cell",
                next_step="Measure {hiders} in the same set, or {gas} with a detector tube.",
            ),
        ),
    ),
    Method(
        id="W5", hazards=_TOXIC, kind=_METER, subject="Any gas",
        method="electrochemical cell",
        never_when="A cell needs about 5 % oxygen to work at all.",
        next_step="Read it in air with oxygen, or take a detector tube.",
        source="training manual on three-electrode cells, p. 13", status="read",
        says=(
            Sentence(
                key="cells_little_oxygen", other_means=True,
                text="oxygen was {oxygen} %, too little for the gas cells",
                next_step="A detector tube, or a sample thinned with fresh air.",
            ),
        ),
    ),
    Method(
        id="W6", hazards=_TOXIC, kind=_METER, subject="A gas found before",
        method="another set of cells",
        never_when="A cell for one gas says nothing of another.",
        next_step="Read the gas that was found with the cell that found it.",
        source="this worksheet's specification, section 6",
        says=(
            Sentence(
                key="not_measured_again",
                text="{names} was found here and not read again",
                next_step="Read {names} again with what found it.",
            ),
            Sentence(
                key="suspect_not_measured", other_means=True,
                text="{names}, suspected here, was not measured",
                next_step="Measure {names} with a cell or a detector tube; log the figure, "
                "and the height.",
            ),
            Sentence(
                key="suspect_unknown", other_means=True,
                text="{names}, suspected here, is not in the table of substances",
                next_step="Ask its safety data sheet or a chemist which sensor shows "
                "{names}; measure with that.",
            ),
        ),
    ),
)  # fmt: skip
