"""The photos of a log as the report prints them: one in memory at a time until it is small."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, Final

from incidents import pictures
from incidents.documents import loads
from incidents.models import Incident, LogEntry
from incidents.models.log import NOTE, PHOTO_ARRIVED, UNDONE
from incidents.photo_claims import Claim
from reports.data import PhotoLine

# Bytes of all photos of one report together, as far as smaller copies reach that.
BUDGET: Final = 24_000_000
LEAST_SHARE: Final = 150_000
ROOMY: Final = 500_000
SMALL_SIDE: Final = 1000


def photo_lines(
    incident: Incident, rows: Iterable[LogEntry], names: Mapping[str, str]
) -> tuple[PhotoLine, ...]:
    """One for each note that names a photo, in the order of the log."""
    kinds = (NOTE, UNDONE, PHOTO_ARRIVED)
    bodies = [(row, loads(row.body)) for row in rows if row.kind in kinds]
    came = {body["sha256"] for row, body in bodies if row.kind == PHOTO_ARRIVED}
    undone = {
        body["entry"]: f"{body['reason']}, record {row.seq}"
        for row, body in bodies
        if row.kind == UNDONE
    }
    named = [(row, body, Claim.of(body)) for row, body in bodies if row.kind == NOTE]
    count = sum(claim is not None for _, _, claim in named)
    share = max(LEAST_SHARE, BUDGET // max(count, 1))
    return tuple(
        replace(
            _line(row, body, claim, names, undone.get(row.key, "")),
            **_picture(incident, claim, share, came=claim.sha256 in came),
        )
        for row, body, claim in named
        if claim is not None
    )


def _line(
    row: LogEntry,
    body: Mapping[str, Any],
    claim: Claim,
    names: Mapping[str, str],
    taken_back: str,
) -> PhotoLine:
    team = str(body.get("team", ""))
    return PhotoLine(
        seq=row.seq,
        at=row.observed_at,
        author=row.author_name,
        device=row.device,
        words=str(body["text"]),
        team=names.get(team, team),
        place=str(body.get("place", "")),
        sha256=claim.sha256,
        size=claim.size,
        taken_back=taken_back,
    )


def _picture(
    incident: Incident, claim: Claim, share: int, *, came: bool
) -> dict[str, Any]:
    """What is printed of it: the bytes as they are kept, or a smaller copy.

    `came` says whether the log has it that they arrived.
    """
    photo = incident.photos.filter(sha256=claim.sha256).first()
    if photo is None:
        return {"gone": came}
    content = bytes(photo.content)
    try:
        seen = pictures.look_at(content)
        as_kept = (
            not claim.original  # it may lie on its side, and hold what nobody prints
            and seen.media_type == "image/jpeg"
            and seen.colours in ("RGB", "L")
            and len(content) <= share
        )
        if not as_kept:
            side = pictures.LONGEST_SIDE if share >= ROOMY else SMALL_SIDE
            content = pictures.scaled(content, longest=side)
            seen = pictures.look_at(content)
    except pictures.PictureError:
        return {"broken": True}
    return {
        "picture": content,
        "pixels_wide": seen.width,
        "pixels_high": seen.height,
        "grey": seen.colours == "L",
        "as_kept": as_kept,
    }
