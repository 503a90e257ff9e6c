"""The dosimeter: gamma, and what it does not see."""

from typing import Final

from screening.methods.row import Method, Sentence
from screening.verdicts import Hazard

_DOSIMETER: Final = "dosimeter"
_GAMMA: Final = (Hazard.GAMMA_RADIATION,)
_DHS: Final = "DHS, response to a radiological dispersal device, tactic 8"
READ_RATE: Final = "Hold the dosimeter ahead for half a minute and read the dose rate."

ROWS: Final[tuple[Method, ...]] = (
    Method(
        id="C47", hazards=_GAMMA, kind=_DOSIMETER, subject="Gamma radiation",
        method="electronic dosimeter",
        tells_when="above about 50 keV and within its range",
        cannot_when="the rate is over its range, or the wearer's body is in between",
        next_step="A survey meter; time and distance.",
        source="makers' data of electronic dosimeters", status="memory",
        says=(
            Sentence(key="rate_read", tells=True, text="dose rate"),
            Sentence(key="alarm_read", tells=True, text="dosimeter alarm"),
        ),
    ),
    Method(
        id="C48", hazards=(), kind=_DOSIMETER, subject="Alpha radiation",
        method="dosimeter, gamma survey meter",
        never_when="A few centimetres of air, paper or the window stop alpha before it "
        "reaches a dosimeter.",
        next_step="An alpha probe at 1/4 in (6 mm); treat dust as contaminated.",
        source=_DHS, status="read",
        says=(
            Sentence(
                key="gamma_only", aside=True,
                text="says nothing of alpha, beta or neutrons",
            ),
        ),
    ),
    Method(
        id="C49", hazards=(), kind=_DOSIMETER, subject="Beta radiation",
        method="dosimeter for gamma",
        tells_when="strong beta, with an end-window counter at 1/2 in (13 mm)",
        cannot_when="weak beta (carbon-14, sulfur-35) and a thick window",
        never_when="A dosimeter for gamma does not see beta, and no probe sees tritium.",
        next_step="A probe with its window open, then shut; a wipe to a laboratory.",
        source=_DHS, status="read",
    ),
    Method(
        id="C50", hazards=(), kind=_DOSIMETER, subject="Neutrons",
        method="dosimeter for gamma",
        never_when="Without a detector made for them neutrons pass unseen.",
        next_step="Shipping papers; a neutron instrument.",
        source="health physics, general", status="memory",
    ),
    Method(
        id="C51", hazards=_GAMMA, kind=_DOSIMETER,
        subject="Gamma and X-rays of low energy (americium-241, iodine-125)",
        method="personal dosimeter",
        tells_when="it is corrected for energy",
        cannot_when="it reads too little of them",
        never_when="Some personal dosimeters do not see iodine-125 at all.",
        next_step="A thin sodium iodide probe.",
        source="makers' data of electronic dosimeters", status="memory",
    ),
    Method(
        id="C52", hazards=_GAMMA, kind=_DOSIMETER, subject="A rate no higher than background",
        method="any rate meter",
        tells_when="the background is known, on the side of the source, within 1 ft "
        "(30 cm), for half a minute",
        cannot_when="from 10 ft (3 m) off, through a truck's side, on the shielded side",
        next_step="Go round it; read close.",
        source="EPA Region 5 response team (three times background); distances: health "
        "physics, general", status="memory",
        says=(
            Sentence(
                key="rate_far", aside=True,
                text="read {distance} m off, where a weak source does not show",
            ),
        ),
    ),
    Method(
        id="C53", hazards=(), kind=_DOSIMETER,
        subject="Radioactive contamination of surfaces", method="rate meter",
        never_when="Surfaces can be dirty where the rate is normal.",
        next_step="A pancake probe, close and slow; a wipe test.",
        source="health physics, general", status="memory",
    ),
    Method(
        id="W7", hazards=_GAMMA, kind=_DOSIMETER, subject="The dose rate here",
        method="accumulated dose, or an alarm after a rate",
        never_when="A sum says nothing of the place, and a silent alarm nothing of a rate "
        "below its setting.",
        next_step=READ_RATE,
        source="this worksheet's specification, section 6",
        says=(
            Sentence(
                key="dose_alone", next_step=READ_RATE,
                text="a dose alone says nothing of the rate here",
            ),
            Sentence(
                key="alarm_after_rate", next_step=READ_RATE,
                text="a rate was found here, and the alarm alone does not show that it "
                "fell",
            ),
        ),
    ),
    Method(
        id="W8", hazards=_GAMMA, kind="any", subject="Gamma radiation",
        method="a team without a dosimeter",
        never_when="No paper, gas meter or imager sees radiation of any kind.",
        next_step="A dosimeter that shows the dose rate.",
        source="29 CFR 1910.120(h)(2) (ionizing radiation on first entry)", status="read",
    ),
)  # fmt: skip
