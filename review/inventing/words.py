"""Invented names of places and people, and what crews write beside a reading."""

from typing import Final

STREETS: Final = (
    "Larkmere Row", "Quarry Lane", "Tannery Street", "Old Ferry Road", "Millrace Close",
    "Gorse Hill", "Copperfield Yard", "Rue des Érables", "Lindenstraße", "Beacon Terrace",
    "Harrow Bank", "Saltmarsh Way", "Brickkiln Road", "Drover's Gate", "Kestrel Avenue",
    "Plaza Señorial", "Wharf Side", "Northfield Park", "Osier Lane", "Sandpit Corner",
)  # fmt: skip
MEMBERS: Final = (
    "M. Alder", "J. Birch", "T. Cedar", "R. Dogwood", "L. Elm", "N. Fir", "P. Gorse",
    "K. Hazel", "O. Ivy", "S. Juniper", "B. Larch", "Y. Maple", "D. Nettle", "É. Osier",
    "V. Poplar", "C. Quince", "A. Rowan", "H. Söring", "W. Thorn", "F. Ulmus",
)  # fmt: skip
EDGES: Final = ("dock", "yard gate", "front door", "loading bay", "corridor")
TEAM_NAMES: Final = ("Entry team 1", "Entry team 2", "Backup")
NOTES: Final = (
    "Handheld radio of the second member cuts out near the steel door.",
    "Owner's foreman says the delivery came this morning.",
    "Wind has dropped; the windsock hangs.",
    "Crew says visibility is poor, lights are off in there.",
    "Drain in the yard covered with a mat.",
    "Neighbours of the café next door were asked to stay inside.",
    "Second engine stands by at the corner.",
    "Label seen: the lower half is torn off.",
    "Floor is wet from the sprinkler, so nobody kneels.",
    "Door was found wedged open with a fire extinguisher.",
)  # fmt: skip
READING_NOTES: Final = (
    "Taken from the doorway", "On a hook, arm's length", "At the sill", "Second strip",
    "Behind the pallet", "Light from a hand lamp", "Close to the drain",
)  # fmt: skip
STRUCK_BECAUSE: Final = (
    "Misheard on the radio", "Wrong team named", "Figure typed twice", "Wrong place",
)  # fmt: skip
VENTILATED: Final = (
    "Two fans at the roller door, blowing through",
    "Roof vent opened from outside",
    "Doors at both ends opened, natural draught",
)
CLEARED_BECAUSE: Final = (
    "Two readings since show nothing",
    "Source closed and the room aired",
    "Read again at the floor and at head height",
)
CLOSED_BECAUSE: Final = (
    "Handed over to the owner's contractor",
    "Handed over to the site manager",
    "Nothing more found; premises given back",
    "Handed over to the county's environment office",
)
