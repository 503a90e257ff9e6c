"""What a note says of a sensor: a table of phrases, the safer reading where in doubt.

The words are ours. That silicone reaches the bead of an LEL sensor alone: common practice,
no source.
"""

import pytest

from screening.methods.notes import noted_against, spoiled_by_note

# Plain denials, and what is no sensor's: nothing is said against the meter.
NOTHING = [
    "not poisoned",
    "Not poisoned.",
    "sensor not poisoned",
    "LEL sensor is not poisoned",
    "the bead has not been poisoned",
    "the meter isn't fouled",
    "no silicone",
    "no silicone near it",
    "no silicone or siloxane here",
    "no sign of poisoning",
    "sensor not poisoned, no silicone used",
    "bead not poisoned; read at the drain",
    "read at the drain, sensor not fouled",
    "poisoned rats in the corner",
    "one person poisoned by CO",
    "spoiled food on the floor",
    "inhibited styrene, so the label",
    "carbon monoxide poisoning reported",
]
# The LEL bead alone: the oxygen and toxic cells go on as before.
BEAD = [
    "LEL sensor poisoned",
    "LEL bead poisoned",
    "bead poisoned by silicone spray",
    "silicone spray used next to it",
    "catalyst inhibited, sensor fouled",
    "not poisoned but exposed to silicone",
    "not poisoned, but exposed to silicone",
    "no silicone now, siloxane before",
    "LEL bead not poisoned but fouled",
    "LEL bead poisoned, oxygen fine",
    "LEL bead poisoned but the oxygen and CO read normal",
    "LEL bead poisoned and oxygen is ok",
    "CO cell passed, LEL bead poisoned",
    "not sure whether the LEL bead is poisoned",
    "no silicone?",
    "no silicone, I think",
    "maybe no silicone",
    "silicone next to the CO cell",
    "neither silicone nor siloxane is ruled out",
]
# Some other sensor, or it is not said which: no quiet figure of the meter counts.
ALL = [
    "poisoned",
    "fouled",
    "sensor poisoned",
    "cell fouled",
    "oxygen cell poisoned",
    "CO cell poisoned, LEL reads 0",
    "CO cell poisoned and LEL reads 0",
    "H2S and LEL sensors poisoned",
    "oxygen, LEL bead poisoned",
    "CO, H2S and LEL sensors poisoned",
    "LEL bead and oxygen cell poisoned",
    "oxygen cell poisoned by silicone",
    "sensor not poisoned but fouled",
    "sensor not poisoned, fouled",
    "sensor not poisoned and fell into the water",
    "not sure whether poisoned",
    "not sure whether it is poisoned",
    "may be poisoned",
    "poisoned?",
    "not poisoned?",
    "not poisoned I hope",
    "not poisoned, as far as one can see",
    "sensor probably not poisoned",
    "sensor not yet poisoned when it went in",
    "sensor hardly not poisoned",
    "cannot say that it is not poisoned",
    "not only poisoned",
    "sensor not read, poisoned",
    "all sensors poisoned, LEL too",
    "one of the sensors is poisoned, perhaps the LEL",
]  # fmt: skip


@pytest.mark.parametrize(
    ("note", "which"),
    [
        *((note, "") for note in NOTHING),
        *((note, "lel") for note in BEAD),
        *((note, "all") for note in ALL),
    ],
)
def test_which_sensors_a_note_speaks_against(note, which):
    assert spoiled_by_note(note) == which


@pytest.mark.parametrize(
    ("kind", "note", "counts"),
    [
        ("meter", "pump not stalled", False),
        ("meter", "pump not stalled but hose blocked", True),
        ("meter", "pump not stalled or blocked", False),
        ("meter", "not sure the pump is not stalled", True),
        ("meter", "pump may have stalled", True),
        ("meter", "filter not clogged any more", True),
        ("strip", "lot not expired", False),
        ("strip", "lot not expired, kept damp", True),
        ("strip", "papers not expired but browned before use", True),
        ("strip", "the lot has possibly not expired", True),
        ("imager", "shell not wet", False),
        ("imager", "shell not wet, read through glass", True),
        ("imager", "shell not wet but under water at the foot", True),
        ("imager", "shell perhaps not wet", True),
    ],
)
def test_what_else_a_note_says_against_a_reading(kind, note, counts):
    assert bool(noted_against(kind, note)) is counts
