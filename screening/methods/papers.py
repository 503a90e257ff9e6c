"""pH, KI-starch and fluoride paper: what a strip can say, and when it is no test."""

from typing import Final

from screening.methods.row import Method, Sentence
from screening.verdicts import Hazard

_PH: Final = "ph_paper"
_KI: Final = "ki_starch_paper"
_F: Final = "fluoride_paper"
_ACID: Final = (Hazard.ACID_VAPOUR,)
_BASE: Final = (Hazard.BASE_VAPOUR,)
_OXIDISER: Final = (Hazard.OXIDISER_VAPOUR,)
_FLUORIDE: Final = (Hazard.FLUORIDE_VAPOUR,)
_CORROSIVE: Final = (Hazard.CORROSIVE_LIQUID,)
_KI_LIQUID: Final = (Hazard.OXIDISER_LIQUID,)

WET_PH: Final = "Wet a fresh pH strip with neutral water and hold it ahead on the hook."
WET_KI: Final = (
    "Wet a fresh KI-starch strip with neutral water and cast it ahead on the hook."
)
TOUCH_PH: Final = "Touch the liquid, or the wetted solid, with a pH strip on a stick."
TOUCH_KI: Final = "Touch a drop with a KI-starch strip on a stick, acid added, and look at the wet edge."
WET_FLUORIDE: Final = (
    "Wet a fresh fluoride strip as its leaflet says and hold it ahead on the hook, towards "
    "the leak."
)

_FRESH_LOT: Final = (
    "Take strips of a fresh lot, try one on a known sample, and look again."
)

ROWS: Final[tuple[Method, ...]] = (
    Method(
        id="C1", hazards=_ACID, kind=_PH, subject="Acid vapour",
        method="pH paper held in the air",
        tells_when="wetted with neutral water, held in the flow, compared with a wet "
        "strip from clean air",
        cannot_when="hardly damp, in wind, held for a few seconds, or the vapour is faint",
        never_when="A dry strip in dry air has no water for the acid to dissolve in.",
        next_step=WET_PH,
        source="trade press on wetting pH paper; times and distances: common practice",
        says=(
            Sentence(key="ph_wet", tells=True, text="wet pH paper held in the air"),
            Sentence(
                key="ph_dry_damp_air", tells=True,
                text="dry pH paper at {humidity} % humidity; a wetted strip tells more",
            ),
            Sentence(
                key="ph_dry_air", next_step=WET_PH,
                text="pH paper was dry, at {humidity} % humidity",
            ),
            Sentence(
                key="ph_dry_unknown", next_step=WET_PH,
                text="pH paper was dry and the humidity is not known",
            ),
        ),
    ),
    Method(
        id="C2", hazards=_ACID, kind=_PH, subject="Acid that gives no vapour (sulfuric, "
        "phosphoric)",
        method="pH paper held in the air",
        cannot_when="only its mist or the fume of the hot acid reaches the strip",
        never_when="Cold sulfuric or phosphoric acid gives the air nothing to test.",
        next_step="Touch the liquid with a pH strip on a stick.",
        source="NIOSH Pocket Guide, vapour pressure of sulfuric acid (0.001 mmHg)",
        status="memory",
        says=(
            Sentence(
                key="ph_no_vapour", next_step=TOUCH_PH,
                text="{names} would give next to no vapour to see, and the liquid was not "
                "tested",
            ),
        ),
    ),
    Method(
        id="C3", hazards=_CORROSIVE, kind=_PH,
        subject="Acid in oil or solvent, or on a dry solid",
        method="pH paper on the liquid or solid",
        tells_when="there is some water in it",
        cannot_when="the layer touched is oil or solvent, or the acid is free of water",
        never_when="Without any water a strip has no pH to show.",
        next_step="Wet the strip, wipe, read; shake a sample with water and test the water.",
    ),
    Method(
        id="C4", hazards=_ACID, kind=_PH,
        subject="Vapour that turns acid only with water (acid chlorides, fluorides)",
        method="wet pH paper held in the air",
        tells_when="the air is moist enough to turn it acid",
        cannot_when="the air is very dry (under about 20 % humidity)",
        next_step="Wet the strip well and wait longer; ask for a detector tube.",
    ),
    Method(
        id="C5", hazards=(*_ACID, *_BASE, *_OXIDISER), kind=_PH,
        subject="Bleaching vapour or liquid (chlorine, bromine, peroxide)",
        method="pH paper",
        cannot_when="the dye is destroyed: white looks like no colour at all",
        next_step="White is an answer: take it for an oxidiser and use KI-starch paper.",
        source="hobby chemistry with photographs (chlorine on pH paper)",
        says=(
            Sentence(
                key="ph_white", next_step=WET_KI,
                text="the paper went white, which says nothing of acid or base",
            ),
        ),
    ),
    Method(
        id="C6", hazards=_BASE, kind=_PH, subject="Base vapour (ammonia, amines)",
        method="wet pH paper held in the air",
        tells_when="wetted with neutral water",
        cannot_when="acid vapour is in the same air: the two cancel out, as a white fume",
        never_when="A dry strip in dry air does not turn.",
        next_step="Wet a strip and read upwind of the fume; a 10.6 eV lamp sees ammonia.",
        source="NIOSH Pocket Guide (ammonia, 10.18 eV)", status="memory",
        says=(
            Sentence(
                key="ph_cancelled", other_means=True,
                text="{names} in one air can cancel out on the strip",
                next_step="Measure one of them with its cell, a tube or the lamp: what is "
                "not there cancels nothing.",
            ),
        ),
    ),
    Method(
        id="C7", hazards=_CORROSIVE, kind=_PH, subject="Caustic liquid or solid",
        method="pH paper held in the air",
        cannot_when="only mist reaches the strip",
        never_when="Caustic soda and potash give no vapour.",
        next_step="Touch it with a strip on a stick; wet a solid first.",
    ),
    Method(
        id="C8", hazards=_CORROSIVE, kind=_PH, subject="Acid or base beyond the paper",
        method="pH paper on the liquid",
        tells_when="the paper runs from 0 to 14",
        cannot_when="strong acid chars the paper or strong base washes the dye out",
        next_step="Note the charring; thin a drop ten times with water and test again.",
    ),
    Method(
        id="C9", hazards=_OXIDISER, kind=_KI,
        subject="Oxidising vapour (halogens, nitrogen dioxide, ozone)",
        method="KI-starch paper held in the air",
        tells_when="wetted with neutral water",
        cannot_when="sulfur dioxide, hydrogen sulfide or another reducer is there, much "
        "oxidiser bleaches the blue, or the strip is hot",
        never_when="A dry strip does not react: dry is no test.",
        next_step=WET_KI,
        source="supplier text (the strip must be moist); reagent chemistry",
        says=(
            Sentence(
                key="ki_wet", tells=True, text="wet KI-starch paper held in the air"
            ),
            Sentence(key="ki_dry", next_step=WET_KI, text="KI-starch paper was dry"),
            Sentence(
                key="ki_reduced", other_means=True,
                text="{names} in the air can keep the strip from turning blue",
                next_step="Measure {names} with its cell or a tube: with none of it there "
                "the strip counts.",
            ),
        ),
    ),
    Method(
        id="C10", hazards=(*_OXIDISER, *_KI_LIQUID), kind=_KI,
        subject="Oxidising liquid (peroxide, hypochlorite, chromate)",
        method="KI-starch paper held in the air",
        cannot_when="the liquid gives too little vapour, as peroxide mostly does",
        never_when="Over a cold liquid of low vapour pressure the air has nothing in it.",
        next_step="Touch a drop with the strip, acid added, and look at the wet edge.",
        says=(
            Sentence(
                key="ki_little_vapour", next_step=TOUCH_KI,
                text="{names} may give too little vapour to turn it, and the liquid was "
                "not tested",
            ),
        ),
    ),
    Method(
        id="C11", hazards=_KI_LIQUID, kind=_KI,
        subject="Slow oxidisers (chlorate, nitrate, persulfate, bromate, perchlorate)",
        method="KI-starch paper on the liquid or solid",
        cannot_when="there is no strong acid, no heat, or no time",
        never_when="Nitrate and perchlorate as such do not turn a KI-starch strip.",
        next_step="Acid on the strip, wait a minute; go by label and shipping papers.",
        source="teaching books of inorganic qualitative analysis", status="memory",
    ),
    Method(
        id="C12", hazards=_KI_LIQUID, kind=_KI, subject="Organic peroxides",
        method="KI-starch paper on the liquid or solid",
        tells_when="a hydroperoxide, with acid",
        cannot_when="a dialkyl peroxide, or one that does not mix with water",
        never_when="Hindered organic peroxides hardly react with the strip at all.",
        next_step="A peroxide strip, the trend of the container's temperature, the label.",
        source="organic peroxide chemistry", status="memory",
    ),
    Method(
        id="C13", hazards=_OXIDISER, kind=_KI, subject="Any oxidiser",
        method="KI-starch paper from stock",
        tells_when="the lot is fresh and the strip is white before use",
        cannot_when="browned, kept damp or in the light",
        next_step="Try one strip on a known oxidiser; throw a bad lot away.",
        source="Sanford, Nitro-Explosives, footnote on test paper", status="read",
        says=(
            Sentence(
                key="strip_aged", text="the note says that the strip was old or spoilt",
                next_step="Take a strip of a fresh lot; see that a known sample turns it.",
            ),
        ),
    ),
    Method(
        id="C14", hazards=_OXIDISER, kind=_KI, subject="Blue without an oxidiser",
        method="KI-starch paper with acid",
        cannot_when="acid, air and light turn it in minutes; copper and iron turn it too",
        next_step="Hold a blank strip with the same acid beside it; look into it all "
        "the same.",
        source="inorganic reagent chemistry", status="memory",
    ),
    Method(
        id="C15", hazards=_FLUORIDE, kind=_F, subject="Hydrogen fluoride, fluoride in acid",
        method="fluoride paper",
        tells_when="wetted as its leaflet says, in contact or in strong vapour, beside an "
        "unused strip",
        cannot_when="sulfate, phosphate, oxalate, chlorate or heavy dye bleaches or masks it",
        never_when="A dry strip in the air does not react.",
        next_step=f"{WET_FLUORIDE} With acid found and no change, fluoride stays open "
        "until a contact test.",
        source="Lamar and Seegmiller 1941, US Geological Survey (zirconium and "
        "alizarin); use of the strip: common practice", status="read",
        says=(
            Sentence(
                key="fluoride_wet", tells=True, text="wet fluoride paper held in the air"
            ),
            Sentence(
                key="fluoride_dry", next_step=WET_FLUORIDE, text="fluoride paper was dry"
            ),
            Sentence(
                key="fluoride_liquid", tells=True, text="fluoride paper on the liquid"
            ),
        ),
    ),
    Method(
        id="C17", hazards=_FLUORIDE, kind=_F,
        subject="Bound fluoride (fluoroborates, fluorosilicates, hexafluorides)",
        method="fluoride paper",
        tells_when="water has set the fluoride free",
        cannot_when="the fluoride is bound and comes free slowly",
        never_when="A dry gas with bound fluoride leaves the strip as it is.",
        next_step="Wet it, wait, repeat; treat the acid as hydrogen fluoride.",
    ),
    Method(
        id="W10", hazards=(*_ACID, *_BASE, *_OXIDISER, *_FLUORIDE), kind="any",
        subject="Any hazard that papers look for", method="a lot of papers from stock",
        tells_when="the lot is in date and has passed every check with a known sample",
        cannot_when="expired, or failed with a known acid, base, oxidiser or fluoride: what "
        "it does not show proves nothing; what it shows counts as ever",
        next_step=_FRESH_LOT,
        source="Sanford, Nitro-Explosives, footnote on test paper, for aged KI-starch; the "
        "other papers: common practice",
        status="read",
        says=(
            Sentence(
                key="lot_expired", next_step=_FRESH_LOT,
                text="the lot of {name} has expired",
            ),
            Sentence(
                key="lot_check_failed_after", next_step=_FRESH_LOT,
                text="{name} failed a check with a known sample afterwards",
            ),
            Sentence(
                key="lot_check_failed", next_step=_FRESH_LOT,
                text="{name} failed its check with a known sample",
            ),
            Sentence(
                key="lot_not_checked", next_step=_FRESH_LOT,
                text="{name} has no passed check with a known sample of the day",
            ),
        ),
    ),
    Method(
        id="W1", hazards=(*_ACID, *_BASE, *_OXIDISER, *_FLUORIDE), kind="any",
        subject="Vapour", method="any paper on a liquid",
        never_when="A paper on a liquid says nothing of what is in the air over it.",
        next_step="Hold a wetted strip of the same paper in the air.",
        source="this worksheet's specification, section 6",
        says=(
            Sentence(
                key="liquid_not_air",
                text="only a liquid was tested, which tells nothing of the vapour",
            ),
            Sentence(
                key="ki_edge_hint", aside=True,
                text="on the liquid, look at the edge between wet and dry",
            ),
        ),
    ),
    Method(
        id="W2", hazards=(*_ACID, *_BASE, *_CORROSIVE), kind=_PH,
        subject="Acid or base", method="pH paper read late",
        cannot_when="the colour has gone back since: humid air returns it, dry air may not",
        next_step=f"{WET_PH} Read it at once.",
        source="this worksheet's specification, rule 5",
        says=(
            Sentence(
                key="ph_faded", next_step=f"{WET_PH} Read it at once.",
                text="the paper has faded, and a faded paper clears nothing",
            ),
        ),
    ),
    Method(
        id="W3", hazards=_CORROSIVE, kind=_PH, subject="Corrosive liquid",
        method="pH paper on the liquid",
        tells_when="the colour is read at once and is in the paper's range",
        cannot_when="the paper went white or the colour has gone back",
        next_step="A fresh strip on a stick, read at once.",
        says=(
            Sentence(key="ph_liquid", tells=True, text="pH paper on the liquid"),
            Sentence(
                key="ph_liquid_blind", text="the paper went white or faded",
                next_step="A fresh strip on a stick, read at once.",
            ),
        ),
    ),
    Method(
        id="W4", hazards=_KI_LIQUID, kind=_KI, subject="Oxidising liquid",
        method="KI-starch paper on the liquid",
        tells_when="the edge between wet and dry was looked at",
        cannot_when="the liquid bleaches the blue, so that only a line at the edge is left",
        next_step="Look at the edge between wet and dry on the KI-starch strip.",
        says=(
            Sentence(key="ki_liquid", tells=True, text="KI-starch paper on the liquid"),
            Sentence(
                key="ki_edge_open",
                text="the edge between wet and dry was not looked at",
                next_step="Look at the edge between wet and dry on the KI-starch strip.",
            ),
        ),
    ),
)  # fmt: skip
