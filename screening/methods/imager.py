"""The thermal imager, and what is heard of a relief valve."""

from typing import Final

from screening.methods.row import Method, Sentence
from screening.verdicts import Hazard

_IMAGER: Final = "thermal_imager"
_HEATING: Final = (Hazard.CONTAINER_HEATING,)
_RELIEF: Final = (Hazard.HOT_RELIEF_DISCHARGE,)

ROWS: Final[tuple[Method, ...]] = (
    Method(
        id="C54", hazards=(*_HEATING, *_RELIEF), kind=_IMAGER,
        subject="Surface temperature", method="thermal imager",
        tells_when="painted, taped, rusted or otherwise dull, with its surroundings read",
        cannot_when="bare bright metal: it shows the sky or the person it reflects",
        never_when="Glass, a film of water and steam hide what is behind them.",
        next_step="A dull or painted spot, a piece of tape, the shaded side; else a "
        "contact probe.",
        source="tables of emissivity; NIST TN 1499 (imagers differ)", status="memory",
        says=(
            Sentence(
                key="imager_dull", tells=True, text="thermal imager on a dull surface"
            ),
            Sentence(
                key="imager_shiny",
                text="the surface was shiny and shows what it reflects",
                next_step="Read it on paint, tape or rust, from a distance, with its "
                "surroundings.",
            ),
            Sentence(
                key="imager_hidden",
                text="the note speaks of glass, water or steam in between",
                next_step="Read it again with nothing in between, on a dull dry spot.",
            ),
            Sentence(
                key="imager_alone", text="the surroundings were not read",
                next_step="Read the container again from a distance, with its "
                "surroundings.",
            ),
        ),
    ),
    Method(
        id="C55", hazards=(), kind=_IMAGER, subject="Level of a liquid",
        method="thermal imager",
        tells_when="sun or cold is changing it and it is partly full",
        cannot_when="insulated, jacketed, or as warm as its surroundings",
        never_when="Through the double wall of a cryogenic tank no level shows.",
        next_step="The gauge, the frost line.",
        source="teaching on thermal imaging", status="memory",
    ),
    Method(
        id="C56", hazards=_HEATING, kind=_IMAGER, subject="Reaction in a closed container",
        method="one thermal picture",
        cannot_when="the middle is hotter than the skin, or the wall is insulated",
        never_when="One picture says nothing of a rate.",
        next_step="The same spot again every few minutes: the rise counts; sound and "
        "bulging count at once.",
        says=(
            Sentence(
                key="imager_skin", aside=True, text="shows the skin, not the middle"
            ),
        ),
    ),
    Method(
        id="C57", hazards=(*_HEATING, *_RELIEF), kind="sign",
        subject="Pressure behind a quiet relief valve", method="ear, thermal imager",
        cannot_when="a blocked or small valve is quiet too",
        next_step="Pressure, heat and flame on the shell decide; silence does not.",
        source="Emergency Response Guidebook; NIOSH FACE F2013-11", status="memory",
    ),
    Method(
        id="C58", hazards=_RELIEF, kind=_IMAGER, subject="Hot relief valve",
        method="thermal imager",
        tells_when="it has opened, or leaks",
        cannot_when="the sun has warmed a dark cap",
        next_step="Compare a like valve beside it; wet it and look again.",
    ),
    Method(
        id="W9", hazards=_HEATING, kind="any", subject="Heat of a closed container",
        method="a team without a thermal imager",
        never_when="No paper, gas meter or dosimeter shows that a container warms up.",
        next_step="A thermal imager from a distance; frost lines, sound, bulging.",
        source="this worksheet's specification, section 6",
    ),
)  # fmt: skip
