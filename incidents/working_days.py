"""Working days, as the rule on access to records counts them. Pure.

29 CFR 1910.1020 does not say what a working day is. Monday to Friday are counted and no
holiday is left out: that gives the earliest day, so nobody answers too late by it.
"""

from datetime import date, timedelta
from typing import Final

# 29 CFR 1910.1020(e)(1)(i). OSHA's letter of 2002-03-27 (read): the period begins when
# the employer receives the request.
ANSWER_DAYS: Final = 15
_SATURDAY: Final = 5


def due_on(received: date, days: int = ANSWER_DAYS) -> date:
    """The last of so many working days after the day on which a request came."""
    day = received
    while days:
        day += timedelta(days=1)
        days -= day.weekday() < _SATURDAY
    return day
