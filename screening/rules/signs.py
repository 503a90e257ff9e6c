"""The rule on what is seen, heard or felt without an instrument (rule 36)."""

from collections.abc import Iterator

from screening.readings import Sign
from screening.rules.found import ALL_CAUTION, ALL_STOP, Found, ReadingFacts
from screening.rules.thermal import FAILING_CONTAINER
from screening.verdicts import Hazard


def unexplained_sign(reading: Sign, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 36. Symptoms stop everyone; any other sign asks to be explained."""
    if reading.what in FAILING_CONTAINER:
        return
    symptoms = reading.what == "symptoms"
    what = reading.what.replace("_", " ")
    yield Found(
        hazard=Hazard.UNEXPLAINED_SIGN,
        severity=ALL_STOP if symptoms else ALL_CAUTION,
        subject=reading.what,
        by_sign=True,
        because="Symptoms in somebody present"
        if symptoms
        else f"{what.capitalize()} reported, not explained yet",
        advice=(
            ("Hold and back out of the place; medical check of everyone exposed.",)
            if symptoms
            else ("Find the cause; a sign that ends proves nothing.",)
        ),
    )
