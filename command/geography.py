"""Zones with corners as GeoJSON (RFC 7946): WGS 84, longitude first, rings closed."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from command.form_blocks import zone_words
from command.plan import Plan
from command.questions import Point
from command.site_parts import ZONES


def features(plan: Plan) -> dict[str, Any]:
    """A FeatureCollection: a polygon for each zone with corners, a point for the
    command post where it has coordinates. Zones in words alone are left out."""
    found = [
        _feature(
            {"zone": ZONES[zone], "words": zone_words(says)},
            {"type": "Polygon", "coordinates": [_ring(says.corners)]},
        )
        for zone, says in plan.zones.items()
        if says.corners
    ]
    site = plan.site
    for point in site.command_post_at if site else ():
        found.append(
            _feature(
                {"place": "Command post", "words": site.command_post if site else ""},
                {"type": "Point", "coordinates": _position(point)},
            )
        )
    return {"type": "FeatureCollection", "features": found}


def _feature(properties: Mapping[str, str], geometry: Mapping[str, Any]) -> Any:
    return {
        "type": "Feature",
        "properties": dict(properties),
        "geometry": dict(geometry),
    }


def _position(point: Point) -> list[Decimal]:
    return [point.longitude, point.latitude]


def _ring(corners: tuple[Point, ...]) -> list[list[Decimal]]:
    """Closed, and counter-clockwise as RFC 7946, 3.1.6 asks of an outer ring."""
    ring = list(corners) if corners[0] != corners[-1] else list(corners[:-1])
    if _twice_area(ring) < 0:
        ring.reverse()
    return [_position(point) for point in (*ring, ring[0])]


def _twice_area(ring: list[Point]) -> Decimal:
    pairs = zip(ring, (*ring[1:], ring[0]), strict=True)
    return sum(
        (a.longitude * b.latitude - b.longitude * a.latitude for a, b in pairs),
        Decimal(0),
    )
