from zoneinfo import available_timezones

from django.core.exceptions import ValidationError


def known_time_zone(name: str) -> None:
    """Raise `ValidationError` where no page could show its times in this zone."""
    if name not in available_timezones():
        raise ValidationError(
            f"{name} is no known time zone. One is named like America/Chicago.",
            code="time_zone",
        )
