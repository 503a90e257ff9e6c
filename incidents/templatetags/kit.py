"""Durations and doses as people write them."""

from datetime import timedelta
from decimal import Decimal

from django import template

from command.dose import plain

register = template.Library()


@register.filter
def lasted(spell: timedelta) -> str:
    """Such as "1 h 05 min"; a begun minute counts."""
    minutes = -(-int(spell.total_seconds()) // 60)
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02} min" if hours else f"{rest} min"


@register.filter
def dose(rem: Decimal) -> str:
    return f"{plain(rem)} rem"
