"""Limits as people write them."""

from django import template

from screening.profile import Limit, Profile, with_unit

register = template.Library()


@register.simple_tag
def limit_value(profile: Profile, limit: Limit) -> str:
    return profile.shown(limit.key)


@register.simple_tag
def limit_default(limit: Limit) -> str:
    return "not set" if limit.default is None else with_unit(limit.default, limit.unit)
