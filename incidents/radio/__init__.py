"""One typed line of what came over the radio, understood as an entry of the log.

Plain words in a fixed order: team, place, what was read. Nothing here knows Django or the
database: a line and what the incident knows go in; the entry as it was understood, what
is wrong at which word, and the words that may follow come out.

    entry 1 tank room lel 4 o2 20.8
"""

from incidents.radio.checking import check
from incidents.radio.line import complete, understand
from incidents.radio.understood import Known, Problem, Understood

__all__ = ["Known", "Problem", "Understood", "check", "complete", "understand"]
